package httpapi

import (
	"bytes"
	"encoding/json"
	"fmt"
	"net/http"
	"strconv"
	"strings"

	"midstroke/internal/wire"
)

// kind is a sort of problem that a caller's software can tell apart.
type kind uint8

// The kinds of problem.
const (
	notJSON kind = iota
	badUpload
	keyNeeded
	keyRefused
	forbidden
	notFound
	methodNotAllowed
	notAcceptable
	tooLarge
	unsupportedMediaType
	invalidRequest
	wrongState
	preconditionFailed
	preconditionMissing
	internalError
	notReady
	outOfOrder
)

// problemKind is what there is to know of a kind before it happens.
type problemKind struct {
	Name    string // the end of its type
	Status  int
	Title   string
	Meaning string // for the page that its type points to
}

// kinds gives each kind its status and title (RFC 9457 section 3.1).
var kinds = [...]problemKind{
	notJSON: {"not-json", http.StatusBadRequest, "The body is not JSON",
		"The body isn't a JSON text (RFC 8259) in UTF-8, or was cut short on its way. Nothing in it was judged."},
	badUpload: {"bad-upload", http.StatusBadRequest, "The file can't be read",
		"The file was cut short on its way. Nothing in it was judged."},
	keyNeeded: {"key-needed", http.StatusUnauthorized, "A key is needed",
		"Without a key only the one catalogue that is open to all is answered from, and no revisions are told of."},
	keyRefused: {"key-refused", http.StatusUnauthorized, "The key is not taken",
		"The key that came with the request isn't known, was revoked, or has expired, or there is more than one. Without any, the request may do."},
	forbidden: {"forbidden", http.StatusForbidden, "Not with this key",
		"The key is good, but not for this: its use doesn't go so far, or the request comes from a page of an origin that isn't listed with it."},
	notFound: {"not-found", http.StatusNotFound, "Not found",
		"There is no such path, no such damper, or no such revision of the catalogue held here."},
	methodNotAllowed: {"method-not-allowed", http.StatusMethodNotAllowed, "Method not allowed",
		"The path is there, but doesn't take this method. The header Allow lists those that it takes."},
	notAcceptable: {"not-acceptable", http.StatusNotAcceptable, "Not to be had in that form",
		"The answer is to be had in none of the media types that the header Accept names."},
	tooLarge: {"too-large", http.StatusRequestEntityTooLarge, "The body is too large",
		"The body, or the uploaded file, is longer than the limit. It was not read to its end."},
	unsupportedMediaType: {"unsupported-media-type", http.StatusUnsupportedMediaType, "The body's media type is not read here",
		"A body is read as application/json alone, in UTF-8, and an uploaded file as one of the types that Accept lists; either without a content coding."},
	invalidRequest: {"invalid-request", http.StatusUnprocessableEntity, "The request can't be answered as it stands",
		"A field is missing, unknown, of the wrong type, or holds what can't be. All such faults are listed at once."},
	wrongState: {"wrong-state", http.StatusConflict, "The revision's state doesn't allow that",
		"A draft can be published and a published revision rolled back to; what is published is never published again."},
	preconditionFailed: {"changed-meanwhile", http.StatusPreconditionFailed, "It has changed meanwhile",
		"The revision, or what is answered from, is no longer as it was when its ETag was read. revision shows it as it is now; where changes is given it leads to what changed."},
	preconditionMissing: {"if-match-needed", http.StatusPreconditionRequired, "If-Match is needed",
		"What changes the answers of a catalogue needs the ETag of the revision, so that two people don't undo each other's work."},
	internalError: {"internal-error", http.StatusInternalServerError, "Something went wrong here",
		"The fault is the service's own. The log has more under the request id."},
	notReady: {"not-ready", http.StatusServiceUnavailable, "Not ready yet",
		"No catalogue has been loaded yet, or the service is about to stop. Retry-After says when to ask again."},
	outOfOrder: {"out-of-order", http.StatusServiceUnavailable, "The database is out of reach",
		"What was asked for is held by the database alone, which doesn't answer just now. What needs the newest revision alone is answered on."},
}

// problem is an error that knows how it is told to a caller.
type problem struct {
	kind   kind
	detail string
	errors []problemError
	// unlisted is how many faults there are beside errors.
	unlisted int
	// revision is a revision as it is now, and changes where to read what
	// changed.
	revision json.RawMessage
	changes  string
	// header is sent beside it: Allow, Retry-After and the like.
	header map[string]string
	// cause is for the log alone.
	cause error
}

// problemError is one fault within a problem: in the body at Pointer, or in
// the query at Parameter, or in an uploaded file.
type problemError struct {
	Pointer   *string `json:"pointer,omitempty"`
	Parameter *string `json:"parameter,omitempty"`
	File      string  `json:"file,omitempty"`
	Sheet     string  `json:"sheet,omitempty"`
	Line      int     `json:"line,omitempty"`
	Cell      string  `json:"cell,omitempty"`
	Column    string  `json:"column,omitempty"`
	Value     string  `json:"value,omitempty"`
	Code      string  `json:"code"`
	Detail    string  `json:"detail"`
	Cure      string  `json:"cure,omitempty"`

	// Item says that Parameter has several values, so that Value alone tells
	// which of them is meant.
	Item bool `json:"-"`
}

// Error gives the detail, for logs.
func (p *problem) Error() string { return p.detail }

// Unwrap gives the cause.
func (p *problem) Unwrap() error { return p.cause }

func newProblem(k kind, format string, args ...any) *problem {
	return &problem{kind: k, detail: fmt.Sprintf(format, args...)}
}

// with adds a header field.
func (p *problem) with(name, value string) *problem {
	if p.header == nil {
		p.header = map[string]string{}
	}
	p.header[name] = value
	return p
}

// status is the HTTP status that the problem is told with.
func (p *problem) status() int { return kinds[p.kind].Status }

// place says how the place of a fault is named: by a pointer into the body or
// by a parameter of the query.
type place uint8

const (
	inBody place = iota
	inQuery
)

// faults makes a problem of the faults of a request, all of them.
func faults(list wire.Faults) *problem {
	found := make([]problemError, 0, len(list))
	unlisted := 0
	for i := range list {
		f := &list[i]
		if f.More > 0 {
			unlisted += f.More
			continue
		}
		e := problemError{Value: f.Value, Code: f.Code, Detail: f.Detail, Item: f.Item}
		if f.Parameter != "" {
			e.Parameter = &f.Parameter
		} else {
			e.Pointer = &f.Pointer
		}
		found = append(found, e)
	}
	return listed(found, unlisted)
}

// listed makes a problem of faults that are listed and of how many there are
// beside them.
func listed(found []problemError, unlisted int) *problem {
	p := &problem{kind: invalidRequest, errors: found, unlisted: unlisted}
	switch n := len(found) + unlisted; {
	case unlisted > 0:
		p.detail = fmt.Sprintf("%d things are wrong with the request; errors names the first %d", n, len(found))
	case n == 1:
		p.detail = found[0].Detail
	default:
		p.detail = fmt.Sprintf("%d things are wrong with the request; errors names each", n)
	}
	return p
}

// at says which field of the request the problem is with.
func (p *problem) at(where place, field, code string) {
	e := problemError{Code: code, Detail: p.detail}
	if where == inQuery {
		e.Parameter = &field
	} else {
		pointer := "/" + field
		e.Pointer = &pointer
	}
	p.errors = append(p.errors, e)
}

// document writes the problem as RFC 9457 has it; instance names the
// occurrence.
func (p *problem) document(instance string) []byte {
	k := kinds[p.kind]
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	// Strings and numbers alone can't fail to be encoded.
	_ = enc.Encode(struct {
		Type     string          `json:"type"`
		Title    string          `json:"title"`
		Status   int             `json:"status"`
		Detail   string          `json:"detail"`
		Instance string          `json:"instance"`
		Errors   []problemError  `json:"errors,omitempty"`
		Unlisted int             `json:"unlisted,omitempty"`
		Revision json.RawMessage `json:"revision,omitempty"`
		Changes  string          `json:"changes,omitempty"`
	}{problemType(k.Name), k.Title, k.Status, p.detail, instance, p.errors, p.unlisted, p.revision, p.changes})
	return b.Bytes()
}

// problemType gives a kind's type, a reference that resolves to the page that
// explains it.
func problemType(name string) string { return "/docs/problems#" + name }

// longestMessage keeps a message readable in one cell of a sheet.
const longestMessage = 250

// message gives the problem as one short line, for a spreadsheet that shows
// a cell nothing else.
func (p *problem) message() string {
	var b strings.Builder
	b.WriteString("error: ")
	if len(p.errors) == 0 {
		b.WriteString(p.detail)
	}
	for i := range p.errors {
		if i > 0 {
			b.WriteString("; ")
		}
		if at := p.errors[i].place(); at != "" {
			b.WriteString(at + ": ")
		}
		b.WriteString(p.errors[i].Detail)
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

// place says in words where a fault stands, "" for the whole.
func (e *problemError) place() string {
	switch {
	case e.File != "":
		at := e.File
		switch {
		case e.Sheet != "" && e.Cell != "":
			at += ", sheet " + e.Sheet + ", " + e.Cell
		case e.Sheet != "" && e.Line > 0:
			at += ", sheet " + e.Sheet + ", row " + strconv.Itoa(e.Line)
		case e.Sheet != "":
			at += ", sheet " + e.Sheet
		case e.Line > 0:
			at += ":" + strconv.Itoa(e.Line)
		}
		if e.Column != "" {
			at += ": " + e.Column
		}
		return at
	case e.Parameter != nil && e.Item:
		return *e.Parameter + " " + strconv.Quote(e.Value)
	case e.Parameter != nil:
		return *e.Parameter
	case e.Pointer != nil:
		return *e.Pointer
	}
	return ""
}
