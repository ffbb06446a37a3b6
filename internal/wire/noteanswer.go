package wire

import (
	"slices"
	"strings"

	"midstroke/internal/note"
	"midstroke/internal/unit"
)

// noteMembers are those of a note: its code, its words and its values by name.
var noteMembers = members[note.Note]{aNote(func(n *note.Note) *note.Note { return n })}

// aNote puts the members of a note among those of a T.
func aNote[T any](get func(*T) *note.Note) member[T] {
	m := allOf(freshNote, get)
	m.json = func(w *writer, v *T) { w.note(get(v)) }
	return m
}

var freshNote = members[note.Note]{
	aText("code", func(n *note.Note) string { return string(n.Code) }),
	plainValue("text", shape{kind: textKind}, (*writer).noteText),
	valuesMember,
}

// noteText writes what a note says.
func (w *writer) noteText(n *note.Note) {
	w.words = n.AppendText(w.words[:0], w.lang, w.units)
	w.appendWords(w.words)
}

// reasons say in full sentences, one in a cell, why something is so.
func reasons[T any](get func(*T) []note.Note) member[T] {
	return inCells("reasons", noteMembers, get, (*writer).noteText)
}

// notes stand in a cell by their codes.
func notes[T any](name string, get func(*T) []note.Note) member[T] {
	return inCells(name, noteMembers, get, func(w *writer, n *note.Note) { w.appendText(string(n.Code)) })
}

// writtenNote is a note as it was written. Its words cost more than anything else in
// an answer, and much the same is said of one part after another.
type writtenNote struct {
	code   note.Code
	values []note.Value
	part
}

// usualNotes is room for the different notes of an ordinary answer.
const usualNotes = 16

// fixedNotes are notes that always say the same, as they are written, by language
// and code.
var fixedNotes = func() map[string]map[note.Code]string {
	all := map[string]map[note.Code]string{}
	for _, lang := range note.Languages() {
		w := writer{lang: lang}
		all[lang] = map[note.Code]string{}
		for _, e := range note.Entries() {
			if e.Section == note.SectionFaults || e.Section == note.SectionProblems || strings.ContainsAny(e.Words(lang), "{[") {
				continue
			}
			w.b = w.b[:0]
			appendMembers(&w, freshNote, &note.Note{Code: note.Code(e.Code)})
			all[lang][note.Code(e.Code)] = string(w.b)
		}
	}
	return all
}()

// note writes the members of a note, and copies what was written of the same
// note before.
func (w *writer) note(n *note.Note) {
	if len(n.Values) == 0 && !w.bare {
		if text, ok := fixedNotes[w.lang][n.Code]; ok {
			w.b = append(w.b, text...)
			return
		}
	}
	var before *writtenNote // of the same code
	for i := range w.said {
		if before = &w.said[i]; before.code == n.Code {
			if slices.Equal(before.values, n.Values) {
				// The first byte may have become the opening brace since.
				w.b = append(append(w.b, ','), w.b[before.from+1:before.to]...)
				return
			}
			break
		}
		before = nil
	}
	from := len(w.b)
	appendMembers(w, freshNote, n)
	now := writtenNote{n.Code, n.Values, part{from, len(w.b)}}
	switch {
	case before != nil:
		*before = now
	case w.said == nil:
		w.said = append(make([]writtenNote, 0, usualNotes), now)
	default:
		w.said = append(w.said, now)
	}
}

// valuesMember holds a note's values by their names. A length and a bare number
// are numbers, a word is a text, and a figure in a unit of its own is an object
// of value and unit.
var valuesMember = member[note.Note]{
	head: headOf("values", shape{kind: mapKind}),
	json: func(w *writer, n *note.Note) {
		w.b = append(w.b, '{')
		for i := range n.Values {
			v := n.Values[i].For(w.units)
			if v.Kind == note.Nothing {
				continue
			}
			if w.b[len(w.b)-1] != '{' {
				w.b = append(w.b, ',')
			}
			w.b = append(append(append(w.b, '"'), v.Name...), '"', ':')
			if v.Unit != "" {
				writeObject(w, figureMembers, &v)
			} else {
				w.value(&v)
			}
		}
		w.b = append(w.b, '}')
	},
	at: func(path []string) (bareValue[note.Note], error) {
		if len(path) == 0 {
			return func(*writer, *note.Note) bool { return false }, nil
		}
		inFigure := func(_ *writer, v *note.Value) bool { return v.Unit == "" }
		if len(path) > 1 {
			var err error
			if inFigure, err = valueAt(figureMembers, path[1:]); err != nil {
				return nil, err
			}
		}
		return func(w *writer, n *note.Note) bool {
			for i := range n.Values {
				v := n.Values[i].For(w.units)
				switch {
				case v.Name != path[0]:
				case v.Unit != "":
					return inFigure(w, &v)
				case len(path) == 1:
					w.value(&v)
				}
			}
			return true
		}, nil
	},
}

// AppendValues writes the values of a text by name, with lengths in units.
func AppendValues(dst []byte, values []note.Value, units unit.System) []byte {
	w := writer{b: dst, units: units}
	valuesMember.json(&w, &note.Note{Values: values})
	return w.b
}

// figureMembers are those of a figure in a unit of its own.
var figureMembers = members[note.Value]{
	aNumber("value", decimals, func(v *note.Value) float64 { return v.Number }),
	aText("unit", func(v *note.Value) string { return v.Unit }),
}

// value writes what a value comes to, without its unit.
func (w *writer) value(v *note.Value) {
	switch v.Kind {
	case note.AsLength:
		w.appendLength(v.Length)
	case note.AsNumber, note.AsFigure:
		w.appendFigure(v.For(w.units).Number, decimals)
	case note.AsText:
		w.appendText(v.Text)
	case note.Nothing:
	}
}

// stepMembers are those of a line of arithmetic: a note with what the line
// comes to and where its rule came from.
var stepMembers = members[note.Step]{
	aText("code", func(s *note.Step) string { return string(s.Code) }),
	plainValue("text", shape{kind: textKind}, func(w *writer, s *note.Step) {
		w.words = s.AppendText(w.words[:0], w.lang, w.units)
		w.appendWords(w.words)
	}),
	allOf(members[note.Note]{valuesMember}, func(s *note.Step) *note.Note { return &s.Note }),
	when(plainValue("value", shape{kind: anyKind}, func(w *writer, s *note.Step) { w.value(&s.Result) }), func(s *note.Step) bool { return s.Result.Kind != note.Nothing }),
	when(plainValue("unit", shape{kind: textKind}, func(w *writer, s *note.Step) {
		if s.Result.Kind == note.AsLength {
			w.appendText(w.units.String())
		} else {
			w.appendText(s.Result.For(w.units).Unit)
		}
	}), func(s *note.Step) bool { return s.Result.Kind == note.AsLength || s.Result.Unit != "" }),
	when(plainValue("value_text", shape{kind: textKind}, func(w *writer, s *note.Step) {
		w.words = s.AppendResult(w.words[:0], w.lang, w.units)
		w.appendWords(w.words)
	}), func(s *note.Step) bool { return s.Result.Kind != note.Nothing }),
	when(plainValue("source", shape{kind: textKind}, func(w *writer, s *note.Step) { w.appendText(s.SourceText(w.lang)) }), func(s *note.Step) bool { return s.Source != "" }),
}

// joined gives what several notes say, with something between them.
func (w *writer) joined(notes []note.Note, between string) string {
	said := make([]string, len(notes))
	for i := range notes {
		said[i] = notes[i].Text(w.lang, w.units)
	}
	return strings.Join(said, between)
}
