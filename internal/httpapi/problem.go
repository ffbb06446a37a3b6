package httpapi

import (
	"bytes"
	"cmp"
	"encoding/json"
	"net/http"
	"slices"
	"strings"

	"midstroke/internal/fault"
	"midstroke/internal/form"
	"midstroke/internal/note"
	"midstroke/internal/unit"
	"midstroke/internal/wire"
)

// kind is a kind of problem that a caller's software can tell apart. Its title and
// its meaning stand in the message files under its name.
type kind struct {
	name   kindName
	status int
}

// kindName is the end of a problem's type (RFC 9457 section 3.1).
type kindName string

// kinds are all kinds of problem, in the order of the page that explains them.
var kinds []*kind

func newKind(name kindName, status int) *kind {
	k := &kind{name, status}
	kinds = append(kinds, k)
	return k
}

// The kinds of problem.
var (
	notJSON              = newKind("not-json", http.StatusBadRequest)
	badUpload            = newKind("bad-upload", http.StatusBadRequest)
	keyNeeded            = newKind("key-needed", http.StatusUnauthorized)
	keyRefused           = newKind("key-refused", http.StatusUnauthorized)
	forbidden            = newKind("forbidden", http.StatusForbidden)
	notFound             = newKind("not-found", http.StatusNotFound)
	gone                 = newKind("erased", http.StatusGone)
	methodNotAllowed     = newKind("method-not-allowed", http.StatusMethodNotAllowed)
	notAcceptable        = newKind("not-acceptable", http.StatusNotAcceptable)
	tooLarge             = newKind("too-large", http.StatusRequestEntityTooLarge)
	unsupportedMediaType = newKind("unsupported-media-type", http.StatusUnsupportedMediaType)
	invalidRequest       = newKind("invalid-request", http.StatusUnprocessableEntity)
	notInStock           = newKind("not-in-stock", http.StatusConflict)
	wrongState           = newKind("wrong-state", http.StatusConflict)
	tooSlow              = newKind("too-slow", http.StatusRequestTimeout)
	badIdempotencyKey    = newKind("bad-idempotency-key", http.StatusBadRequest)
	idempotencyKeyReused = newKind("idempotency-key-reused", http.StatusUnprocessableEntity)
	inFlight             = newKind("in-flight", http.StatusConflict)
	preconditionFailed   = newKind("changed-meanwhile", http.StatusPreconditionFailed)
	preconditionMissing  = newKind("if-match-needed", http.StatusPreconditionRequired)
	tooManyRequests      = newKind("too-many-requests", http.StatusTooManyRequests)
	internalError        = newKind("internal-error", http.StatusInternalServerError)
	notReady             = newKind("not-ready", http.StatusServiceUnavailable)
	outOfOrder           = newKind("out-of-order", http.StatusServiceUnavailable)
	noRoom               = newKind("no-room", http.StatusInsufficientStorage)
	quotaReached         = newKind("quota-reached", http.StatusInsufficientStorage)
)

// problem is an error with all that its caller gets to see of it.
type problem struct {
	kind *kind
	// detail and its values say what is wrong. A problem without a detail says
	// what its only fault says.
	detail detail
	values []note.Value
	// why is why the body isn't JSON. Its words are the value "why": in the
	// caller's language in the text, in English among the values, which are the
	// same in every language.
	why    *form.SyntaxError
	faults fault.List
	// unlisted is how many more faults there are.
	unlisted int
	// units are those of the lengths in texts and values; millimetres where the
	// request doesn't name any.
	units unit.System
	// revision is a revision as it is now, and changes leads to what changed.
	revision json.RawMessage
	changes  string
	// header fields are sent with the problem: Allow, Retry-After and the like.
	header map[string]string
	// cause is for the log alone.
	cause error
}

// newProblem makes a problem without faults.
func newProblem(k *kind, d detail, values ...note.Value) *problem {
	return &problem{kind: k, detail: d, values: values}
}

// problemAt makes a problem of a single fault, which stands in the body or in
// the query.
func problemAt(k *kind, where place, field string, code fault.Code, values ...note.Value) *problem {
	f := fault.Fault{Code: code, Values: values}
	if where == inQuery {
		f.Parameter = field
	} else {
		f.Pointer = "/" + field
	}
	return &problem{kind: k, faults: fault.List{f}}
}

// Error gives the detail in English, for logs.
func (p *problem) Error() string { return p.text("en") }

// Unwrap gives the cause.
func (p *problem) Unwrap() error { return p.cause }

// with adds a header field.
func (p *problem) with(name, value string) *problem {
	if p.header == nil {
		p.header = map[string]string{}
	}
	p.header[name] = value
	return p
}

// text gives the detail in words.
func (p *problem) text(lang string) string {
	if p.detail == "" {
		return p.faults[0].Text(lang, p.units)
	}
	return note.ProblemText(lang, p.units, string(p.detail), p.valuesIn(lang))
}

// valuesIn gives the values of the detail, those that are words in lang.
func (p *problem) valuesIn(lang string) []note.Value {
	if p.why == nil {
		return p.values
	}
	return append(slices.Clone(p.values), note.Word("why", p.why.Text(lang)))
}

// place says how the place of a fault is named: by a pointer into the body or
// by a parameter of the query.
type place uint8

const (
	inBody place = iota
	inQuery
)

// refusal makes a problem of all the faults of a request, with lengths in units.
func refusal(all fault.List, units unit.System) *problem {
	unlisted := 0
	found := make(fault.List, 0, len(all))
	for i := range all {
		if all[i].Code == form.TooManyFaults {
			unlisted += int(all[i].Values[0].Number)
		} else {
			found = append(found, all[i])
		}
	}
	p := listed(found, unlisted)
	p.units = units
	return p
}

// listed makes a problem of the faults of a request that are listed, and of how
// many more there are.
func listed(found fault.List, unlisted int) *problem {
	p := &problem{kind: invalidRequest, faults: found, unlisted: unlisted}
	switch n := len(found) + unlisted; {
	case unlisted > 0:
		p.detail, p.values = someFaults, []note.Value{count("count", n), count("listed", len(found))}
	case n > 1:
		p.detail, p.values = allFaults, []note.Value{count("count", n)}
	}
	return p
}

// count is a number of things.
func count(name string, n int) note.Value { return note.Num(name, float64(n), "") }

// problemError is one fault as a problem's document lists it.
type problemError struct {
	Pointer   *string         `json:"pointer,omitempty"`
	Parameter *string         `json:"parameter,omitempty"`
	File      string          `json:"file,omitempty"`
	Sheet     string          `json:"sheet,omitempty"`
	Line      int             `json:"line,omitempty"`
	Cell      string          `json:"cell,omitempty"`
	Column    string          `json:"column,omitempty"`
	Value     string          `json:"value,omitempty"`
	Code      string          `json:"code"`
	Detail    string          `json:"detail"`
	Values    json.RawMessage `json:"values"`
	Cure      string          `json:"cure,omitempty"`
}

// documentOf lists a fault, with its words in lang and lengths in units.
func documentOf(f *fault.Fault, lang string, units unit.System) problemError {
	e := problemError{
		File: f.File, Sheet: f.Sheet, Line: f.Line, Cell: f.Cell, Column: f.Column, Value: f.Value,
		Code: f.Code.Public(), Detail: f.Text(lang, units), Cure: f.Cure(lang, units),
		Values: wire.AppendValues(nil, f.Values, units),
	}
	switch {
	case f.File != "":
	case f.Parameter != "" || f.Code == noName:
		e.Parameter = &f.Parameter
	default:
		e.Pointer = &f.Pointer
	}
	return e
}

// document writes the problem as RFC 9457 has it, with its words in lang;
// instance names the occurrence.
func (p *problem) document(lang, instance string) []byte {
	k := p.kind
	doc := struct {
		Type     string          `json:"type"`
		Title    string          `json:"title"`
		Status   int             `json:"status"`
		Detail   string          `json:"detail"`
		Code     string          `json:"code"`
		Values   json.RawMessage `json:"values"`
		Units    string          `json:"units,omitempty"`
		Instance string          `json:"instance"`
		Errors   []problemError  `json:"errors,omitempty"`
		Unlisted int             `json:"unlisted,omitempty"`
		Revision json.RawMessage `json:"revision,omitempty"`
		Changes  string          `json:"changes,omitempty"`
	}{
		Type: "/docs/problems#" + string(k.name), Title: note.ProblemTitle(lang, string(k.name)), Status: k.status, Detail: p.text(lang),
		Code: string(p.detail), Values: wire.AppendValues(nil, p.valuesIn("en"), p.units), Instance: instance,
		Unlisted: p.unlisted, Revision: p.revision, Changes: p.changes,
	}
	lengths := hasLength(p.values)
	for i := range p.faults {
		f := &p.faults[i]
		doc.Errors = append(doc.Errors, documentOf(f, lang, p.units))
		lengths = lengths || hasLength(f.Values)
	}
	if lengths {
		doc.Units = cmp.Or(p.units, unit.Millimetres).String()
	}
	if p.detail == "" {
		doc.Code, doc.Values = doc.Errors[0].Code, doc.Errors[0].Values
	}
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	// Strings, numbers and JSON of our own can always be encoded.
	_ = enc.Encode(doc)
	return b.Bytes()
}

func hasLength(values []note.Value) bool {
	return slices.ContainsFunc(values, func(v note.Value) bool { return v.Kind == note.AsLength })
}

// longestMessage keeps a message readable in one cell of a sheet.
const longestMessage = 250

// message gives the problem as one short line, for a spreadsheet, which shows a
// cell nothing else. It begins alike in every language, for formulas to find.
func (p *problem) message(lang string) string {
	var b strings.Builder
	b.WriteString("error: ")
	if len(p.faults) == 0 {
		b.WriteString(p.text(lang))
	}
	for i := range p.faults {
		if i > 0 {
			b.WriteString("; ")
		}
		f := &p.faults[i]
		if at := f.Place.Text(lang); at != "" {
			b.WriteString(at + ": ")
		}
		b.WriteString(f.Text(lang, p.units))
	}
	text := b.String()
	if len(text) <= longestMessage {
		return text
	}
	cut := longestMessage - len("…")
	for cut > 0 && text[cut]&0xC0 == 0x80 {
		cut-- // never within a character
	}
	return text[:cut] + "…"
}
