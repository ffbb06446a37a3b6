package mount_test

import (
	"fmt"
	"testing"

	"pgregory.net/rapid"

	"midstroke/internal/mount"
	"midstroke/internal/mount/mounttest"
	"midstroke/internal/unit"
)

// tube is a sleeve on the small shelves of these tests.
func tube(code string, outer, bore, length unit.Length, price mount.Price) mount.Sleeve {
	return mount.Sleeve{Code: code, Outer: outer, Bore: bore, Length: length, Price: price}
}

// ring is a spacer on them; every one goes on an M12 and on a 1/2 in bolt.
func ring(code string, thickness unit.Length, price mount.Price) mount.Spacer {
	return mount.Spacer{Code: code, Bore: 13 * mm, Thickness: thickness, Price: price}
}

// The hardware of one eye in the contract's order: fewest sleeves, least total gap,
// fewest spacers within the limit (0.5 mm), least left over, cheapest in all, codes.
// Each expected value is worked out by hand in the comment of its case.
func TestHardwareIsChosenInOrder(t *testing.T) {
	eye16 := mount.End{Style: mount.Eye, Bore: 16 * mm, Width: 32 * mm}
	eye34 := mount.End{Style: mount.Eye, Bore: 19050 * um, Width: 31750 * um}
	metric := []mount.Spacer{ring("half", 500*um, 185), ring("one", 1*mm, 165), ring("two", 2*mm, 130), ring("three", 3*mm, 60)}
	short, long := tube("s32", 15900*um, 12200*um, 32*mm, 420), tube("s40", 15900*um, 12200*um, 40*mm, 450)
	for _, c := range []struct {
		what    string
		end     mount.End
		bolt    string
		opening unit.Length
		sleeves []mount.Sleeve
		spacers []mount.Spacer
		want    string
		parts   int
		cost    mount.Price
	}{
		// Both sleeves have gaps of 0.1 and 0.2 mm. s32 leaves 8 mm, which is 3 + 1 on
		// each side: 5 parts for 4.20 + 2 × (0.60 + 1.65) = 8.70. s40 fills it alone.
		{"a longer sleeve in place of four spacers", eye16, "M12", 40 * mm,
			[]mount.Sleeve{short, long}, metric, "sleeves s40 spacers  left 0", 1, 450},
		// The gap of 33/64 in (13.096875 mm) on 1/2 in is the same. s31 leaves 6.35 mm,
		// 1/8 in on each side: 3 parts for 2.20 + 2 × 0.65 = 3.50. s38 is dearer, but
		// fewer spacers come before the price.
		{"fewer spacers rather than cheaper ones", eye34, "1/2 in", 38100 * um,
			[]mount.Sleeve{tube("s31", 19050*um, 13096875, 31750*um, 220), tube("s38", 19050*um, 13096875, 38100*um, 630)},
			[]mount.Spacer{ring("eighth", 3175*um, 65)}, "sleeves s38 spacers  left 0", 1, 630},
		// 44 less 38.1 is 5.9 mm, 2.95 on each side. One spacer reaches 2 and leaves
		// 1.9, too much. Two reach 2 + 0.79375 and leave 5.9 - 5.5875 = 0.3125. Three
		// would reach 0.5 + 0.79375 + 1.5875 = 2.88125 and leave 0.1375.
		// 5.50 + 2 × (1.30 + 0.40) = 8.90.
		{"two spacers that leave more rather than three", mount.End{Style: mount.Eye, Bore: 19050 * um, Width: 38100 * um}, "M12", 44 * mm,
			[]mount.Sleeve{tube("s", 19*mm, 12200*um, 38100*um, 550)},
			append([]mount.Spacer{ring("thirty-second", 793750, 40), ring("sixteenth", 1587500, 175), ring("eighth", 3175*um, 65)}, metric...),
			"sleeves s spacers thirty-second two left 312500", 5, 890},
		// s32 leaves 0.5 mm of 32.5, which is the limit: no spacers. One of 0.25 mm on
		// each side would leave nothing.
		{"nothing where the limit is met", eye16, "M12", 32500 * um,
			[]mount.Sleeve{short}, []mount.Spacer{ring("thin", 250*um, 10)}, "sleeves s32 spacers  left 500000", 1, 420},
		// A nanometre more is too much.
		{"a pair where it isn't", eye16, "M12", 32500*um + 1,
			[]mount.Sleeve{short}, []mount.Spacer{ring("thin", 250*um, 10)}, "sleeves s32 spacers thin left 1", 3, 440},
		// 3 mm on each side of 38 mm, or 2.8 that leave 0.4: one spacer each, so the
		// least left over decides and not the price.
		{"least left over of as many spacers", eye16, "M12", 38 * mm,
			[]mount.Sleeve{short}, []mount.Spacer{ring("a", 2800*um, 10), ring("b", 3*mm, 900)}, "sleeves s32 spacers b left 0", 3, 2220},
		// s37 leaves 0.4 mm of 38, which is little enough. 3 mm on each side of s32 would
		// leave nothing, but are two spacers more.
		{"a sleeve that leaves some rather than spacers", eye16, "M12", 38 * mm,
			[]mount.Sleeve{short, tube("s37", 15900*um, 12200*um, 37600*um, 900)}, metric, "sleeves s37 spacers  left 400000", 1, 900},
		// Both leave nothing with one spacer a side: s32 takes 3 mm, s36 takes 1 mm.
		// 1.00 + 2 × 5.00 = 11.00 against 2.00 + 2 × 0.50 = 3.00.
		{"cheapest of sleeves and spacers together", eye16, "M12", 38 * mm,
			[]mount.Sleeve{tube("s32", 15900*um, 12200*um, 32*mm, 100), tube("s36", 15900*um, 12200*um, 36*mm, 200)},
			[]mount.Spacer{ring("one", 1*mm, 50), ring("three", 3*mm, 500)}, "sleeves s36 spacers one left 0", 3, 300},
		// The same with a price unknown: s32 has one part without a price, s36 with its
		// two spacers has two.
		{"fewest without a price", eye16, "M12", 38 * mm,
			[]mount.Sleeve{tube("s32", 15900*um, 12200*um, 32*mm, mount.NoPrice), tube("s36", 15900*um, 12200*um, 36*mm, 200)},
			[]mount.Spacer{ring("one", 1*mm, mount.NoPrice), ring("three", 3*mm, 500)}, "sleeves s32 spacers three left 0", 3, mount.NoPrice},
		// 1.00 + 2 × 1.50 and 2.00 + 2 × 1.00 are both 4.00: the first sleeve by code.
		{"the first by code of equals", eye16, "M12", 38 * mm,
			[]mount.Sleeve{tube("b", 15900*um, 12200*um, 32*mm, 100), tube("a", 15900*um, 12200*um, 36*mm, 200)},
			[]mount.Spacer{ring("one", 1*mm, 100), ring("three", 3*mm, 150)}, "sleeves a spacers one left 0", 3, 400},
		// Gaps of 0.1 + 0.2 and of 0.2 + 0.1 mm: equals too, whichever is thicker.
		{"the first by code, thicker", eye16, "M12", 32 * mm,
			[]mount.Sleeve{tube("b", 15800*um, 12100*um, 32*mm, 100), tube("a", 15900*um, 12200*um, 32*mm, 100)}, nil, "sleeves a spacers  left 0", 1, 100},
		{"the first by code, thinner", eye16, "M12", 32 * mm,
			[]mount.Sleeve{tube("a", 15800*um, 12100*um, 32*mm, 100), tube("b", 15900*um, 12200*um, 32*mm, 100)}, nil, "sleeves a spacers  left 0", 1, 100},
		// 0.05 + 0.2 mm of gaps come before the spacers: 8 mm are 3 + 1 on each side.
		// 4.20 + 2 × (0.60 + 1.65) = 8.70.
		{"a snugger sleeve rather than fewer spacers", eye16, "M12", 40 * mm,
			[]mount.Sleeve{tube("snug", 15950*um, 12200*um, 32*mm, 420), long}, metric, "sleeves snug spacers one three left 0", 5, 870},
		// So does the number of sleeves, though the two nested ones fill the opening.
		{"one sleeve rather than fewer spacers", eye16, "M12", 40 * mm,
			[]mount.Sleeve{short, tube("outer", 16*mm, 14*mm, 40*mm, 1), tube("inner", 14*mm, 12050*um, 40*mm, 1)},
			metric, "sleeves s32 spacers one three left 0", 5, 870},
		// Two nested: the outer ones have equal gaps (16 - 15.9, 14 - 14), so the longer
		// is taken in place of 3 + 1 mm on each side. 1.00 + 9.00.
		{"a longer sleeve around another", eye16, "M12", 40 * mm,
			[]mount.Sleeve{tube("outer", 15900*um, 14*mm, 32*mm, 100), tube("longer", 15900*um, 14*mm, 40*mm, 900), tube("inner", 14*mm, 12200*um, 32*mm, 100)},
			metric, "sleeves longer inner spacers  left 0", 2, 1000},
		// Without an opening there are no spacers, and the cheaper sleeve is taken.
		{"without an opening", eye16, "M12", 0, []mount.Sleeve{long, short}, metric, "sleeves s32 spacers open", 1, 420},
	} {
		r := mount.NewShelf(c.sleeves, c.spacers, nil, mount.UsualLimits()).
			BoltUp(c.end, mount.Bracket{Bolt: bolt(t, c.bolt), Opening: c.opening}, mount.Options{})
		same(t, c.what, shown(r), c.want)
		same(t, c.what+", parts", r.Parts, c.parts)
		same(t, c.what+", cost", r.Cost, c.cost)
	}
}

// Where no spacers leave little enough, what leaves the least is told, with the
// fewest spacers. 7 mm beside the bushing are 3.5 on each side. Spacers of 1 and
// 2 mm reach 3 there as 2 + 1 or as 1 + 1 + 1, and leave 1 mm of 0.5 allowed.
func TestWhatLeavesTheLeastIsTold(t *testing.T) {
	eye := mount.End{Style: mount.Eye, Bore: 12200 * um, Width: 31 * mm}
	shelf := mount.NewShelf(nil, []mount.Spacer{ring("one", 1*mm, 1), ring("two", 2*mm, 900)}, nil, mount.UsualLimits())
	r := shelf.BoltUp(eye, mount.Bracket{Bolt: bolt(t, "M12"), Opening: 38 * mm}, mount.Options{Detail: true})
	same(t, "possible", r.Possible, false)
	same(t, "reason", reasonsOf(r), "too_much_left_over")
	same(t, "kinds", len(r.Spacers.EachSide), 2)
	same(t, "parts", r.Parts, 4)
	same(t, "left over", r.Spacers.LeftOver, 1*mm)
	same(t, "close by", cureOf(r, mount.CloseBracket).By, (500 * um).Up(unit.MaxLength))
}

// A cure may use all of the gap allowed, though the fewest spacers leave part of it.
func TestCuresUseTheGapThatSpacersCanFill(t *testing.T) {
	thin := []mount.Spacer{ring("thin", 200*um, 1)}
	// Beside a sleeve of 31 mm, 0.4 of 31.4 mm would be left over, within the limit. With
	// a spacer of 0.2 mm on each side the sleeve may be 0.5 mm short of the bushing.
	eye := mount.End{Style: mount.Eye, Bore: 16 * mm, Width: 31 * mm}
	bracket := mount.Bracket{Bolt: bolt(t, "M12"), Opening: 31400 * um}
	r := mount.NewShelf(nil, thin, nil, mount.UsualLimits()).BoltUp(eye, bracket, mount.Options{Detail: true})
	same(t, "sleeve from", cureOf(r, mount.AddSleeve).Sleeve.LengthLeast, (30500 * um).Up(unit.MaxLength))

	// A sleeve of 30.6 mm leaves 0.4 of 31 mm. So the bracket of 30.9 mm may open by 0.1
	// to 0.6 mm, where the spacers fill 0.4 mm, and not by 0.1 to 0.2 alone.
	sleeve := []mount.Sleeve{tube("s", 15900*um, 12200*um, 30600*um, 1)}
	bracket.Opening = 30900 * um
	r = mount.NewShelf(sleeve, thin, nil, mount.UsualLimits()).BoltUp(eye, bracket, mount.Options{Detail: true})
	c := cureOf(r, mount.OpenBracket)
	by := valueOf(&c.Note, "by")
	same(t, "open from", by.Least, 100*um)
	same(t, "open to", by.Most, 600*um)
}

// drawEquals is a bench whose sleeves have few different gaps, so that spacers, prices
// and codes decide between them. All of them go from the bushing to the bolt, or all
// do so in pairs or in threes.
func drawEquals(t *rapid.T) bench {
	b := bench{limits: mount.UsualLimits(), end: mount.End{Style: mount.Eye, Bore: 20 * mm, Width: 32 * mm}}
	b.limits.LeftOverMost = drawLength(t, "left over most", 0, 1*mm, 250*um)
	b.bracket.Bolt.Diameter = 12 * mm
	b.bracket.Opening = 32*mm + drawLength(t, "room", 0, 10*mm, 250*um)
	holes := rapid.SampledFrom([][]unit.Length{{20 * mm}, {20 * mm, 16 * mm}, {20 * mm, 17 * mm, 14 * mm}}).Draw(t, "holes")
	for i := range rapid.IntRange(2, 10).Draw(t, "sleeves") {
		layer := rapid.IntRange(0, len(holes)-1).Draw(t, "layer")
		bore := 12 * mm
		if layer+1 < len(holes) {
			bore = holes[layer+1]
		}
		b.sleeves = append(b.sleeves, mount.Sleeve{
			Code:  fmt.Sprintf("s%02d", i),
			Outer: holes[layer] - drawLength(t, "gap", 0, 100*um, 100*um), Bore: bore + drawLength(t, "bore gap", 100*um, 200*um, 100*um),
			Length: drawLength(t, "length", 31500*um, 42*mm, 250*um), Price: drawPrice(t),
		})
	}
	for i := range rapid.IntRange(0, 8).Draw(t, "spacers") {
		b.spacers = append(b.spacers, mount.Spacer{
			Code: fmt.Sprintf("w%02d", i), Bore: 12 * mm, Thickness: drawLength(t, "thickness", 250*um, 4*mm, 250*um), Price: drawPrice(t),
		})
	}
	return b
}

// The solver against the brute force where much is equal.
func TestTheBestOfEqualsIsFound(t *testing.T) {
	of := rapid.Custom(drawEquals)
	seen := map[int]int{}
	for i := range 3000 {
		b := of.Example(i)
		want := mounttest.Best(b.end, b.bracket, b.parts())
		got := b.shelf().BoltUp(b.end, b.bracket, mount.Options{})
		if shown(got) != shownWay(want) {
			t.Fatalf("bench %d: got %s, want %s; %+v", i, shown(got), shownWay(want), b)
		}
		if want != nil {
			seen[len(want.Sleeves)]++
			same(t, "parts", got.Parts, want.Parts())
			same(t, "cost", got.Cost, want.Cost().Price())
		}
	}
	t.Log("plans by number of sleeves:", seen)
	for n := 1; n <= 3; n++ {
		if seen[n] < 100 {
			t.Errorf("only %d benches had a plan of %d sleeves", seen[n], n)
		}
	}
}
