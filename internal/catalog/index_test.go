package catalog_test

import (
	"fmt"
	"testing"

	"midstroke/internal/catalog"
	"midstroke/internal/mount"
	"midstroke/internal/unit"
	"midstroke/testdata/demo"
)

// Every damper stands in one leaf below its tree's root, and every box on the
// way bounds it.
func TestEveryBoxBoundsWhatLiesBelow(t *testing.T) {
	for _, n := range []int{0, 1, 400, 5000} {
		t.Run(fmt.Sprint(n), func(t *testing.T) {
			s := catalog.NewSnapshot("grown", 1, demo.Generate(3, n))
			seen := make([]bool, n)
			trees := s.Index().Trees()
			for i := range trees {
				walk(t, s, &trees[i], catalog.Root, nil, seen)
			}
			for i, is := range seen {
				if !is {
					t.Errorf("%s stands in no leaf", s.Dampers()[i].Code)
				}
			}
		})
	}
}

func walk(t *testing.T, s *catalog.Snapshot, tree *catalog.Tree, number int32, above []*catalog.Box, seen []bool) {
	t.Helper()
	above = append(above, tree.Box(number))
	lower, upper, leaf := tree.Below(number)
	if leaf == nil {
		walk(t, s, tree, lower, above, seen)
		walk(t, s, tree, upper, above, seen)
		return
	}
	for i := range leaf {
		p := &leaf[i]
		d := &s.Dampers()[p.Damper]
		if seen[p.Damper] {
			t.Errorf("%s stands in two leaves", d.Code)
		}
		seen[p.Damper] = true
		if found, point := s.Index().Find(p.Damper); found != tree || point != p {
			t.Errorf("%s isn't found where it stands", d.Code)
		}
		if *s.Index().End(p.Upper) != d.Upper || *s.Index().End(p.Lower) != d.Lower || tree.UpperStyle != d.Upper.Style || tree.LowerStyle != d.Lower.Style {
			t.Errorf("%s stands in a tree of other ends", d.Code)
		}
		for _, b := range above {
			has := b.UpperEnds&s.Index().Set(p.Upper) != 0 && b.LowerEnds&s.Index().Set(p.Lower) != 0
			if !has || !bounds(b, p, d) {
				t.Errorf("a box %+v above %s doesn't bound it", *b, d.Code)
			}
		}
	}
}

func bounds(b *catalog.Box, p *catalog.Point, d *catalog.Damper) bool {
	return b.CompressedLeast <= d.Compressed && d.Compressed <= b.CompressedMost &&
		b.ExtendedLeast <= d.Extended && d.Extended <= b.ExtendedMost &&
		b.StrokeLeast <= d.Stroke() && b.ToleranceLeast <= d.LengthTolerance && b.BodyLeast <= d.BodyDiameter &&
		b.PriceLeast <= d.Price.OrDearest() && b.DamperLeast <= p.Damper && b.Traits.Has(d.Traits())
}

func TestTraitsGiveBackWhatWentIn(t *testing.T) {
	for _, d := range demo.Contents().Dampers {
		traits := d.Traits()
		if traits.Construction() != d.Construction || traits.Gas() != d.Gas || traits.Adjusters() != d.Adjusters ||
			traits.InStock() != d.InStock || traits.Invertible() != d.Invertible {
			t.Fatalf("%s: traits %b", d.Code, traits)
		}
	}
}

func TestDampersAreFoundByCode(t *testing.T) {
	s := catalog.NewSnapshot("demo", 1, demo.Contents())
	for _, d := range demo.Contents().Dampers {
		if got, ok := s.Damper(d.Code); !ok || got.Code != d.Code {
			t.Fatalf("%s isn't found", d.Code)
		}
	}
	for _, code := range []string{"", "no such", "zzzz"} {
		if _, ok := s.Damper(code); ok {
			t.Errorf("%q is found", code)
		}
	}
}

// What is remembered of hardware is what is worked out, however full the
// memory is.
func TestHardwareIsRememberedAsItWasWorkedOut(t *testing.T) {
	s := catalog.NewSnapshot("demo", 1, demo.Contents())
	bolts := mount.CoarseBolts()
	for round := range 2 {
		for i := range 9000 { // more than the memory holds
			end := int32(i % s.Index().Ends())
			bracket := mount.Bracket{Bolt: bolts[i%len(bolts)], Opening: 30*unit.Millimetre + unit.Length(i)*unit.Micrometre}
			got := s.Fastenings(bracket, false).End(end, false)
			want := s.Shelf().BoltUp(*s.Index().End(end), bracket, mount.Options{})
			if got.Possible != want.Possible || got.Parts != want.Parts {
				t.Fatalf("round %d, end %d: remembered %v with %d parts, worked out %v with %d", round, end, got.Possible, got.Parts, want.Possible, want.Parts)
			}
		}
	}
}

func TestAPartWithoutAPriceIsTheDearest(t *testing.T) {
	if mount.NoPrice.OrDearest() <= mount.Price(1<<40) || mount.Price(5).OrDearest() != 5 {
		t.Error("a part without a price doesn't come last")
	}
}
