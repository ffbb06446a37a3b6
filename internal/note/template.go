package note

import (
	"bytes"
	"slices"
	"strings"

	"midstroke/internal/unit"
)

// template is a text of the message files, taken apart: words with {name},
// {name:term} or {name:fault} where values go. A part in [[ ]] is left out where
// a value that it names is lacking, and one in [[in: ]] or [[mm: ]] where the reader
// has other units: it makes figures of both agree.
type template []part

// part is a part of a template.
type part struct {
	optional bool
	units    unit.System // of the readers whom it is for; Unset is all
	pieces   []piece
}

// piece is some words and the place behind them.
type piece struct {
	words string
	// place is how the place is written, such as "name:term"; without one there is
	// no place.
	place    string
	name, as string
	has      bool
}

// parseTemplate takes a text apart.
func parseTemplate(text string) template {
	var t template
	for {
		before, rest, found := strings.Cut(text, "[[")
		t = append(t, part{pieces: parsePieces(before)})
		if !found {
			return t
		}
		inside, after, _ := strings.Cut(rest, "]]")
		t = append(t, parseOptional(inside))
		text = after
	}
}

func parseOptional(text string) part {
	p := part{optional: true}
	for _, s := range []unit.System{unit.Inches, unit.Millimetres} {
		if rest, found := strings.CutPrefix(text, s.String()+":"); found {
			p.units, text = s, rest
		}
	}
	p.pieces = parsePieces(text)
	return p
}

func parsePieces(text string) (all []piece) {
	for {
		words, rest, found := strings.Cut(text, "{")
		if !found {
			return append(all, piece{words: words})
		}
		place, after, _ := strings.Cut(rest, "}")
		name, as, _ := strings.Cut(place, ":")
		all = append(all, piece{words: words, place: place, name: name, as: as, has: true})
		text = after
	}
}

// fill appends the words with n's values in their places.
func (t template) fill(b []byte, n *Note, r reader) []byte {
	for i := range t {
		if p := &t[i]; !p.optional || p.isFor(r.units) && p.given(n) {
			for j := range p.pieces {
				b = p.pieces[j].fill(b, n, r)
			}
		}
	}
	return b
}

// isFor says whether a part is for readers of the units.
func (p *part) isFor(s unit.System) bool { return p.units == unit.Unset || p.units == s }

// given says whether n has every value that a part names.
func (p *part) given(n *Note) bool {
	for i := range p.pieces {
		if e := &p.pieces[i]; e.has && !slices.ContainsFunc(n.Values, func(v Value) bool { return v.Name == e.name }) {
			return false
		}
	}
	return true
}

// fill appends the words, and what goes in the place: the value, the reader's word
// for it, or the words of the fault of that code.
func (p *piece) fill(b []byte, n *Note, r reader) []byte {
	b = append(b, p.words...)
	if !p.has {
		return b
	}
	for i := range n.Values {
		v := &n.Values[i]
		if v.Name != p.name {
			continue
		}
		if v.Kind == AsText {
			switch p.as {
			case "term":
				return append(b, Term(r.lang, v.Text)...)
			case "fault":
				return append(b, FaultText(r.lang, r.units, v.Text, n.Values)...)
			}
			return append(b, v.Text...)
		}
		return v.appendFor(b, r)
	}
	return append(append(append(b, '{'), p.place...), '}')
}

// appendFor appends a figure as the reader writes it.
func (v *Value) appendFor(b []byte, r reader) []byte {
	from := len(b)
	b = v.appendWords(b, r.units, r.lengths)
	if v.Kind != AsText && decimalComma[r.lang] {
		if point := bytes.IndexByte(b[from:], '.'); point >= 0 {
			b[from+point] = ','
		}
	}
	return b
}
