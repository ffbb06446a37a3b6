package wire

import (
	"bytes"
	"slices"
	"strings"

	"midstroke/internal/fit"
	"midstroke/internal/mount"
	"midstroke/internal/unit"
)

// csvRow is what a line of the CSV form is made from.
type csvRow struct {
	fitsAnswer
	fit *fit.Fit // nil where none fits
}

// csvMembers are what the columns of the CSV form hold.
var csvMembers = members[csvRow]{
	allOf(membersNamed(fitsMembers, "reference", "outcome", "reasons", "more"), (*csvRow).answer),
	allOf(fitMembers, func(r *csvRow) *fit.Fit { return r.fit }),
	allOf(csvFitMembers, func(r *csvRow) *fit.Fit { return r.fit }),
	allOf(membersNamed(fitsMembers, "ask_next", "cautions", "units", "working_length", "required", "catalog"), (*csvRow).answer),
}

func (r *csvRow) answer() *fitsAnswer { return &r.fitsAnswer }

// csvFitMembers are what JSON tells of a fit in other places.
var csvFitMembers = members[fit.Fit]{
	aFlag("complete", func(f *fit.Fit) bool { return f.Upper.Complete && f.Lower.Complete }),
	anObject("upper", partMembers, func(f *fit.Fit) *mount.Result { return f.Upper.Result }),
	anObject("lower", partMembers, func(f *fit.Fit) *mount.Result { return f.Lower.Result }),
}

// partMembers tell an end's hardware by the codes of its parts.
var partMembers = members[mount.Result]{
	aTextOrNull("adapter", func(h *mount.Result) string {
		if h.Adapter == nil {
			return ""
		}
		return h.Adapter.Code
	}),
	aListOf("sleeves", textKind, func(h *mount.Result) []mount.Used { return h.Sleeves }, func(w *writer, u mount.Used) { w.appendText(u.Sleeve.Code) }),
	aListOf("spacers_each_side", textKind, func(h *mount.Result) []string {
		var codes []string
		if h.Spacers != nil {
			for i := range h.Spacers.EachSide {
				for range h.Spacers.EachSide[i].Quantity {
					codes = append(codes, h.Spacers.EachSide[i].Spacer.Code)
				}
			}
		}
		return codes
	}, (*writer).appendText),
	orNull("spacers_left_over", lengthKind, func(h *mount.Result) *unit.Length {
		if h.Spacers == nil {
			return nil
		}
		return &h.Spacers.LeftOver
	}, (*writer).appendLengthAt),
	orNull("bolt", textKind, func(h *mount.Result) *mount.BoltDetail { return h.Bolt }, (*writer).boltText),
}

// pickLine writes a line of a pick list in a few words.
func (w *writer) pickLine(p *fit.Pick) {
	w.appendWhole(p.Quantity)
	w.appendText(" x ")
	if p.Listed() {
		w.appendText(string(p.Kind) + " " + p.Code)
	} else {
		w.noteText(&p.Order)
	}
}

// csvColumn is a column of a CSV form. Only a text is looked at for what a
// spreadsheet would take for a formula.
type csvColumn[T any] struct {
	name  string
	text  bool
	write bareValue[T]
}

// dampedColumns are those of the CSV form of an answer to a request with a corner,
// and fitsColumns of one without.
var (
	dampedColumns = columnsOf(csvMembers)
	fitsColumns   = slices.DeleteFunc(slices.Clone(dampedColumns), func(c csvColumn[csvRow]) bool { return strings.HasPrefix(c.name, "damping_") })
)

// columnsOf has a column for each value, named by its path joined by "_". A list
// is one column where its items can be said in a few words.
func columnsOf[T any](of members[T]) []csvColumn[T] {
	var all []csvColumn[T]
	var add func(under []string, in []namedShape)
	add = func(under []string, in []namedShape) {
		for _, m := range in {
			path := append(slices.Clone(under), m.name)
			name := strings.Join(path, "_")
			switch {
			case m.jsonOnly || m.kind == mapKind || m.kind == listKind && m.items.kind >= objectKind && !m.cells:
			case m.kind == objectKind:
				add(path, m.members)
			case slices.ContainsFunc(all, func(c csvColumn[T]) bool { return c.name == name }):
				// The style of an adapter's end stands beside the end as well.
			default:
				write, _ := valueAt(of, path) // which there is
				all = append(all, csvColumn[T]{name, m.kind == textKind || m.kind == listKind, write})
			}
		}
	}
	add(nil, shapesOf(of))
	return all
}

// AppendFitsCSV appends an answer by RFC 4180: a header line, and one line a fit.
// An answer without fits has one line, with what stands without one.
func AppendFitsCSV(dst []byte, a *fit.Answer, r *FitsRequest, from Edition, lang string) []byte {
	row := csvRow{fitsAnswer: fitsAnswer{a, r, &from}}
	w := row.writer(dst, lang)
	w.bare = true
	columns := fitsColumns
	if w.damped {
		columns = dampedColumns
	}
	w.b = appendHeader(w.b, columns)
	if len(a.Fits) == 0 {
		appendLine(&w, columns, &row)
	}
	for i := range a.Fits {
		row.fit = &a.Fits[i]
		appendLine(&w, columns, &row)
	}
	return w.b
}

func appendHeader[T any](b []byte, columns []csvColumn[T]) []byte {
	for i := range columns {
		b = append(append(b, columns[i].name...), ',')
	}
	return endLine(b)
}

func appendLine[T any](w *writer, columns []csvColumn[T], row *T) {
	for i := range columns {
		from := len(w.b)
		columns[i].write(w, row)
		if columns[i].text {
			w.b = quoteCell(w.b, from)
		}
		w.b = append(w.b, ',')
	}
	w.b = endLine(w.b)
}

// endLine ends a line in place of its last comma.
func endLine(b []byte) []byte { return append(b[:len(b)-1], '\r', '\n') }

// quoteCell makes the text at the end of b, from there on, a cell. One that a
// spreadsheet would take for a formula gets an apostrophe in front, which makes
// it a text there.
func quoteCell(b []byte, from int) []byte {
	s := b[from:]
	formula := len(s) > 0 && strings.IndexByte("=+-@\t\r", s[0]) >= 0
	quoted := bytes.ContainsAny(s, ",\"\r\n")
	if !formula && !quoted {
		return b
	}
	text := string(s)
	b = b[:from]
	if quoted {
		b = append(b, '"')
		text = strings.ReplaceAll(text, `"`, `""`)
	}
	if formula {
		b = append(b, '\'')
	}
	b = append(b, text...)
	if quoted {
		b = append(b, '"')
	}
	return b
}
