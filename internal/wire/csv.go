package wire

import (
	"bytes"
	"slices"
	"strconv"
	"strings"

	"midstroke/internal/fit"
	"midstroke/internal/mount"
	"midstroke/internal/unit"
)

// csvRow is what a line of the CSV form is made from.
type csvRow struct {
	fitsAnswer
	fit *fit.Fit
}

// csvMembers are what the columns of the CSV form hold: the members of a fit,
// then what is told of it in words, then what all fits share.
var csvMembers = slices.Concat(
	members[csvRow]{among(fitMembers, func(r *csvRow) *fit.Fit { return r.fit })},
	hardwareColumns("upper_", func(r *csvRow) *mount.Result { return r.fit.Upper }),
	hardwareColumns("lower_", func(r *csvRow) *mount.Result { return r.fit.Lower }),
	members[csvRow]{
		aText("pick_list", func(r *csvRow) string {
			lines := make([]string, len(r.fit.PickList))
			for i, p := range r.fit.PickList {
				lines[i] = strconv.Itoa(p.Quantity) + " x " + p.Kind + " " + p.Code
			}
			return strings.Join(lines, "|")
		}),
		unitsMember[csvRow](),
		aLengthOrNull("working_length", func(r *csvRow) unit.Length {
			if r.Working == nil {
				return 0
			}
			return r.Working.Value
		}),
		anObject("catalog", editionMembers, func(r *csvRow) *Edition { return r.from }),
	},
)

// hardwareColumns tell an end's hardware by the codes of its parts.
func hardwareColumns(end string, of func(*csvRow) *mount.Result) members[csvRow] {
	return members[csvRow]{
		aText(end+"adapter", func(r *csvRow) string {
			if a := of(r).Adapter; a != nil {
				return a.Code
			}
			return ""
		}),
		aListOf(end+"sleeves", textKind, func(r *csvRow) []string {
			var codes []string
			for i := range of(r).Sleeves {
				codes = append(codes, of(r).Sleeves[i].Sleeve.Code)
			}
			return codes
		}, (*writer).appendText),
		aListOf(end+"spacers_each_side", textKind, func(r *csvRow) []string {
			var codes []string
			if s := of(r).Spacers; s != nil {
				for i := range s.EachSide {
					for range s.EachSide[i].Quantity {
						codes = append(codes, s.EachSide[i].Spacer.Code)
					}
				}
			}
			return codes
		}, (*writer).appendText),
		orNull(end+"spacers_left_over", lengthKind, func(r *csvRow) *unit.Length {
			if s := of(r).Spacers; s != nil {
				return &s.LeftOver
			}
			return nil
		}, (*writer).appendLengthAt),
	}
}

// csvColumn is a column of the CSV form. Only a text is looked at for what a
// spreadsheet would take for a formula.
type csvColumn struct {
	name  string
	text  bool
	write bareValue[csvRow]
}

// csvColumns has a column for each value, named by its path joined by "_". A
// list of plain values is one column; what else a list holds has none.
var csvColumns = columns(nil, csvMembers.shapes())

func columns(under []string, in []namedShape) []csvColumn {
	var all []csvColumn
	for _, m := range in {
		path := append(slices.Clone(under), m.name)
		switch {
		case m.jsonOnly || m.kind == mapKind || m.kind == listKind && m.items.kind >= objectKind:
		case m.kind == objectKind:
			all = append(all, columns(path, m.members)...)
		default:
			write, _ := csvMembers.find(path) // which there is
			all = append(all, csvColumn{strings.Join(path, "_"), m.kind == textKind || m.kind == listKind, write})
		}
	}
	return all
}

// AppendFitsCSV appends the fits of an answer by RFC 4180: a header line, and
// one line a fit. Of an answer without fits the header line is all.
func AppendFitsCSV(dst []byte, a *fit.Answer, r *FitsRequest, from Edition) []byte {
	row := csvRow{fitsAnswer: fitsAnswer{a, r, &from}}
	w := row.writer(dst, "en")
	w.bare = true
	for i := range csvColumns {
		w.b = append(append(w.b, csvColumns[i].name...), ',')
	}
	w.endLine()
	for i := range a.Fits {
		row.fit = &a.Fits[i]
		for j := range csvColumns {
			from := len(w.b)
			csvColumns[j].write(&w, &row)
			if csvColumns[j].text {
				w.b = quoteCell(w.b, from)
			}
			w.b = append(w.b, ',')
		}
		w.endLine()
	}
	return w.b
}

// endLine ends a line in place of its last comma.
func (w *writer) endLine() { w.b = append(w.b[:len(w.b)-1], '\r', '\n') }

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
