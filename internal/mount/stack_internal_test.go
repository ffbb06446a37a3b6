package mount

import (
	"fmt"
	"testing"

	"midstroke/internal/unit"
)

// What fills a gap is worked out once, however many adapters lead to it: the work
// of a long list of parts is that of its sleeves' lengths and not of these times
// the adapters. The sizes are a reviewer's worst case.
func TestAGapIsFilledOnceForAllAdapters(t *testing.T) {
	const um, mm = unit.Micrometre, unit.Millimetre
	var sleeves []Sleeve
	for i := range 60 {
		sleeves = append(sleeves, Sleeve{Code: fmt.Sprintf("s%03d", i), Outer: 20 * mm, Bore: 12200 * um, Length: 30*mm + unit.Length(i)*um})
	}
	var spacers []Spacer
	for i := range 40 {
		spacers = append(spacers, Spacer{Code: fmt.Sprintf("w%03d", i), Bore: 12 * mm, Thickness: 5*mm + unit.Length(i)*um})
	}
	var adapters []Adapter
	for i := range 30 {
		adapters = append(adapters, Adapter{Code: fmt.Sprintf("a%03d", i), From: End{Style: Stud},
			To: End{Style: Eye, Bore: 20*mm + unit.Length(i)*um, Width: 30 * mm}})
	}
	shelf := NewShelf(sleeves, spacers, adapters, UsualLimits())
	bracket := Bracket{Bolt: Bolt{Diameter: 12 * mm}, Opening: 58 * mm}
	for range 2 {
		shelf.BoltUpAs(End{Style: Stud}, Eye, bracket, Options{})
	}
	if n := shelf.piles.searches; n > len(sleeves)+1 {
		t.Errorf("%d stacks were worked out for %d lengths", n, len(sleeves))
	}
}
