package wire_test

import (
	"bytes"
	"testing"

	"midstroke/internal/catalog"
	"midstroke/internal/fit"
	"midstroke/internal/unit"
	"midstroke/internal/wire"
	"midstroke/testdata/demo"
)

// TestKeptTextsChangeNothing: an answer in which parts of others are used again
// has the same bytes as one of which all is written anew, in every language and
// both units, of two catalogues in turns.
func TestKeptTextsChangeNothing(t *testing.T) {
	contents := demo.Contents()
	for i := range contents.Dampers {
		contents.Dampers[i].Description = "other " + contents.Dampers[i].Description
		contents.Dampers[i].Price += 100
	}
	contents.Currency = "EUR"
	both := []*catalog.Snapshot{snapshot(), catalog.NewSnapshot("other", 3, contents)}
	var asked []func() []byte
	for _, file := range examplesOfRequests(t) {
		r, err := wire.ReadFits(file.body)
		if err != nil {
			continue // an example of another request
		}
		for _, units := range []unit.System{unit.Inches, unit.Millimetres} {
			for _, dampers := range []int{1, r.Fit.Dampers} {
				for _, s := range both {
					for _, lang := range []string{"en", "es"} {
						r := r
						r.Units, r.Fit.Dampers = units, dampers
						asked = append(asked, func() []byte {
							a, faults := fit.Find(&r.Fit, s)
							if len(faults) > 0 {
								t.Fatal(faults)
							}
							return wire.AppendFits(nil, a, &r, editionOf(s), lang)
						})
					}
				}
			}
		}
	}
	if len(asked) < 50 {
		t.Fatalf("only %d requests", len(asked))
	}
	want := make([][]byte, len(asked))
	for i, ask := range asked {
		wire.ForgetTexts()
		want[i] = ask()
	}
	for range 2 {
		for i, ask := range asked {
			if got := ask(); !bytes.Equal(got, want[i]) {
				t.Fatalf("got\n%s\nwant\n%s", got, want[i])
			}
		}
	}
}
