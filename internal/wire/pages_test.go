package wire_test

import (
	"bytes"
	"encoding/json"
	"os"
	"testing"

	"midstroke/internal/form"
	"midstroke/internal/wire"
)

// pageFile is the list of request fields that the web pages import, as seen
// from this package.
const pageFile = "../widget/src/requestfields.json"

// pageField is what the pages know of one flat name.
type pageField struct {
	Name string    `json:"name"`
	Path string    `json:"path"`
	Kind form.Kind `json:"kind"`
	// Sign is of a length: "positive", "zero_or_more" or "any".
	Sign    string   `json:"sign,omitempty"`
	Options []string `json:"options,omitempty"`
	// List says that the field has several values, each of this kind. Option is
	// the side of a reading.
	List   bool   `json:"list,omitempty"`
	Option string `json:"option,omitempty"`
	// Units are those in which a measure may be typed, the one of a bare number first.
	Units []string `json:"units,omitempty"`
	// Least and Most bound a number, the characters of a text or the values of
	// a list; Above and Below say that a number may not equal them.
	Least *float64 `json:"least,omitempty"`
	Most  *float64 `json:"most,omitempty"`
	Above bool     `json:"above,omitempty"`
	Below bool     `json:"below,omitempty"`
	// Needed says that the field must be there where it applies, and When which
	// values of other fields it applies with.
	Needed bool       `json:"needed,omitempty"`
	When   []pageWhen `json:"when,omitempty"`
}

type pageWhen struct {
	Name   string   `json:"name"`
	Values []string `json:"values"`
}

var signs = [...]string{form.Positive: "positive", form.ZeroOrMore: "zero_or_more", form.AnySign: "any"}

func pageFieldOf(n form.Name) pageField {
	about := n.Field
	p := pageField{Name: n.Name, Path: n.Pointer, List: n.List, Option: n.Option, Needed: about.Needed}
	bounds := func(least, most float64) { p.Least, p.Most = &least, &most }
	if n.List {
		bounds(float64(about.Least), float64(about.Most))
		about = *about.Item
	}
	p.Kind, p.Options = about.Kind, about.Options
	switch {
	case about.Kind == form.KindLength:
		p.Sign = signs[about.Sign]
	case n.List:
	case about.Kind == form.KindText:
		bounds(float64(about.Least), float64(about.Most))
	case about.Kind == form.KindMeasure:
		for _, u := range about.Units {
			p.Units = append(p.Units, u.Name)
		}
		bounds(about.Span.Least, about.Span.Most)
		p.Above, p.Below = about.Span.Above, about.Span.Below
	case about.Kind == form.KindNumber || about.Kind == form.KindWhole:
		bounds(about.Span.Least, about.Span.Most)
		p.Above, p.Below = about.Span.Above, about.Span.Below
	}
	for _, w := range n.When {
		values := w.Values
		if w.OrNone {
			values = append([]string{""}, values...)
		}
		p.When = append(p.When, pageWhen{w.Name, values})
	}
	return p
}

// TestPagesHaveTheFieldsOfTheTable makes the pages' list of request fields from
// the table and holds the file against it; go generate ./internal/wire writes it.
func TestPagesHaveTheFieldsOfTheTable(t *testing.T) {
	var b bytes.Buffer
	b.WriteString("[\n")
	for i, n := range wire.FlatNames() {
		if i > 0 {
			b.WriteString(",\n")
		}
		line, err := json.Marshal(pageFieldOf(n))
		if err != nil {
			t.Fatal(err)
		}
		b.Write(line)
	}
	b.WriteString("\n]\n")
	if *update {
		if err := os.WriteFile(pageFile, b.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	if got := read(t, pageFile); !bytes.Equal(got, b.Bytes()) {
		t.Errorf("%s isn't what the table of request fields gives; run go generate ./internal/wire", pageFile)
	}
}
