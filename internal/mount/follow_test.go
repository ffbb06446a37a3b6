package mount_test

import (
	"fmt"
	"slices"
	"testing"

	"midstroke/internal/mount"
	"midstroke/internal/mount/mounttest"
	"midstroke/internal/note"
	"midstroke/internal/unit"
)

// A cure is followed as a person or a program reads it: from the figures of an
// answer, which have six decimals in the request's units, or from its words.

// writing is one of the ways in which a cure's sizes reach who follows it.
type writing struct {
	name string
	// read gives a size as it is read back; text is the value that stands for it
	// in the words, nil where there is none.
	read func(l unit.Length, text *note.Value) unit.Length
}

func writings(t testing.TB) []writing {
	words := func(s unit.System) func(unit.Length, *note.Value) unit.Length {
		return func(l unit.Length, text *note.Value) unit.Length {
			if text == nil {
				return l
			}
			read, err := unit.Parse(text.Words(s), unit.Unset)
			if err != nil {
				t.Fatalf("%q: %v", text.Words(s), err)
			}
			return read
		}
	}
	return []writing{
		{"figures in mm", func(l unit.Length, _ *note.Value) unit.Length { return unit.FromMm(l.In(unit.Millimetres)) }},
		{"figures in inches", func(l unit.Length, _ *note.Value) unit.Length { return unit.Inch.Scale(l.In(unit.Inches)) }},
		{"words in mm", words(unit.Millimetres)},
		{"words in inches", words(unit.Inches)},
	}
}

// valueOf finds a value of a note, nil where it has none of that name.
func valueOf(n *note.Note, name string) *note.Value {
	for i := range n.Values {
		if n.Values[i].Name == name {
			return &n.Values[i]
		}
	}
	return nil
}

// follow does what a cure says, at one corner of the ranges that it leaves: bit 0
// of corner picks the outer diameter or the spacer's thickness, bit 1 the bore,
// bit 2 the length; a range without an upper end is taken a good way up.
func follow(t testing.TB, b bench, c *mount.Cure, corner int, w writing) bench {
	t.Helper()
	pick := func(bit int, name string, least, most unit.Length) unit.Length {
		if corner>>bit&1 == 0 {
			return w.read(least, valueOf(&c.Note, name+"_least"))
		}
		if most == 0 {
			return least + 20*mm
		}
		if text := valueOf(&c.Note, name+"_most"); text != nil {
			return w.read(most, text)
		}
		return w.read(most, valueOf(&c.Note, name+"_least"))
	}
	by := w.read(c.By, valueOf(&c.Note, "by"))
	switch c.Kind {
	case mount.AddSleeve:
		s := c.Sleeve
		b.sleeves = append(slices.Clone(b.sleeves), mount.Sleeve{Code: "new",
			Outer: pick(0, "outer", s.OuterLeast, s.OuterMost), Bore: pick(1, "bore", s.BoreLeast, s.BoreMost),
			Length: max(pick(2, "length", s.LengthLeast, s.LengthMost), 1*mm)})
	case mount.AddSpacer:
		s := c.Spacer
		b.spacers = append(slices.Clone(b.spacers), mount.Spacer{Code: "new",
			Thickness: pick(0, "thickness", s.ThicknessLeast, s.ThicknessMost), Bore: pick(1, "bore", s.BoreLeast, s.BoreMost)})
	case mount.OtherBolt:
		if c.Bolt.Diameter <= b.bracket.Bolt.Diameter {
			t.Fatalf("%s is to go where a bolt of %d was", c.Bolt.Thread, b.bracket.Bolt.Diameter)
		}
		b.bracket.Bolt = c.Bolt
	case mount.OpenBracket:
		b.bracket.Opening += by
	case mount.CloseBracket:
		b.bracket.Opening -= by
	default:
		t.Fatalf("an eye is to be cured by %s", c.Kind)
	}
	return b
}

// everyPlace calls f with an eye of every usual bore at a bracket with every
// bolt, in openings from too narrow to far too wide, on an empty shelf and on
// one with a sleeve and two spacers.
func everyPlace(f func(bench)) {
	bores := []unit.Length{
		10 * mm, 12 * mm, 12200 * um, 14 * mm, 16100 * um, 20 * mm, unit.Inch / 2, unit.Inch * 5 / 8, unit.Inch * 3 / 4, unit.Inch,
	}
	rooms := []unit.Length{-4 * mm, -1 * mm, 0, 300 * um, 1 * mm, 4 * mm, 9 * mm}
	bolts := append(mount.CoarseBolts(), mount.Bolt{Diameter: 12200 * um})
	for _, bore := range bores {
		for _, is := range []mount.BoreIs{mount.Actual, mount.Nominal} {
			for _, bolt := range bolts {
				for _, width := range []unit.Length{0, 31 * mm, unit.Inch * 3 / 2} {
					for i := range len(rooms) + 1 {
						b := bench{limits: mount.UsualLimits(), end: mount.End{Style: mount.Eye, Bore: bore, BoreIs: is, Width: width}}
						b.bracket.Bolt = bolt
						if i > 0 {
							b.bracket.Opening = max(width, 31*mm) + rooms[i-1]
						}
						f(b)
						b.sleeves = []mount.Sleeve{{Code: "a", Outer: bore, Bore: bolt.Diameter + 200*um, Length: max(width, 31*mm) - 200*um, InStock: true}}
						b.spacers = []mount.Spacer{{Code: "s", Bore: bolt.Diameter, Thickness: 1 * mm}, {Code: "t", Bore: bolt.Diameter, Thickness: 300 * um}}
						f(b)
					}
				}
			}
		}
	}
}

// Every cure that is enough by itself works when it is followed as written, at
// every corner of what it allows. Whether it works is judged by the brute force,
// which shares no code with the solver.
func TestEveryCureWorksAsWritten(t *testing.T) {
	all := writings(t)
	followed := map[mount.CureKind]int{}
	failures := 0
	try := func(b bench) {
		for _, c := range b.shelf().BoltUp(b.end, b.bracket, mount.Options{Detail: true}).Cures {
			if !c.Alone {
				continue
			}
			followed[c.Kind]++
			for _, w := range all {
				for corner := range 8 {
					cured := follow(t, b, &c, corner, w)
					if mounttest.Best(cured.end, cured.bracket, cured.parts()) != nil {
						continue
					}
					if failures++; failures > 5 {
						t.Fatal("and more")
					}
					t.Errorf("%s as %s fails at corner %d: %s; %s", c.Kind, w.name, corner, c.Note.Text("en", unit.Inches), shownBench(&b))
				}
			}
		}
	}
	everyPlace(try)
	examples(1500, func(_ int, b bench) { try(b) })
	t.Log("cures followed:", followed)
	for _, kind := range []mount.CureKind{mount.AddSleeve, mount.AddSpacer, mount.OtherBolt, mount.OpenBracket, mount.CloseBracket} {
		if followed[kind] == 0 {
			t.Errorf("no cure was %s, so nothing is proved of it", kind)
		}
	}
}

func shownBench(b *bench) string {
	in := func(l unit.Length) string { return l.Text(unit.Millimetres) }
	return fmt.Sprintf("bore %s %s, width %s, bolt %s, opening %s, %d sleeves", in(b.end.Bore), b.end.BoreIs, in(b.end.Width),
		b.bracket.Bolt.Text(unit.Millimetres), in(b.bracket.Opening), len(b.sleeves))
}

// A sleeve in inches for a nominal bore of 14 mm: 0.551181 in is 14 mm to six
// decimals and 0.551 in to a thousandth, and both are less than 14 mm (14 / 25.4
// by hand).
func TestASleeveForANominalMetricBoreInInches(t *testing.T) {
	eye := mount.End{Style: mount.Eye, Bore: 14 * mm, BoreIs: mount.Nominal, Width: 31 * mm}
	m10 := mount.Bracket{Bolt: bolt(t, "M10")}
	for outer, want := range map[string]bool{"14 mm": true, "0.551181 in": true, "0.551 in": true, "9/16 in": false, "13.98 mm": false} {
		shelf := mount.NewShelf([]mount.Sleeve{{Code: "a", Outer: length(t, outer), Bore: 10200 * um, Length: 31 * mm}}, nil, nil, mount.UsualLimits())
		same(t, outer, shelf.BoltUp(eye, m10, mount.Options{}).Possible, want)
	}
}

// Whatever is chosen from the sizes of a sleeve that is offered, its wall is 1 mm
// at least (common practice, no source).
func TestSleevesOfferedHaveAWall(t *testing.T) {
	offered := 0
	everyPlace(func(b bench) {
		for _, c := range b.shelf().BoltUp(b.end, b.bracket, mount.Options{Detail: true}).Cures {
			if s := c.Sleeve; s != nil {
				offered++
				if s.OuterLeast-s.BoreMost < 2*mm {
					t.Errorf("%s: a wall of %s", shownBench(&b), ((s.OuterLeast - s.BoreMost) / 2).Text(unit.Millimetres))
				}
			}
		}
	})
	if offered == 0 {
		t.Error("no sleeve was offered")
	}
}

// A bracket is bent by 3 mm at most (common practice, no source), and who is told
// to bend it is told who must do that.
func TestABracketIsBentAFewMillimetresAtMost(t *testing.T) {
	eye := mount.End{Style: mount.Eye, Bore: 12200 * um, Width: 31 * mm}
	shelf := mount.NewShelf(nil, nil, nil, mount.UsualLimits())
	for opening, want := range map[unit.Length]mount.CureKind{
		28 * mm: mount.OpenBracket, 27900 * um: "", // 3 and 3.1 mm too narrow
		34500 * um: mount.CloseBracket, 34600 * um: "", // 0.5 mm may be left over
	} {
		r := shelf.BoltUp(eye, mount.Bracket{Bolt: bolt(t, "M12"), Opening: opening}, mount.Options{Detail: true})
		got := mount.CureKind("")
		for _, c := range r.Cures {
			if c.Kind == mount.OpenBracket || c.Kind == mount.CloseBracket {
				got = c.Kind
				if c.By > 3*mm+um { // rounded up to what is written exactly in inches
					t.Errorf("a bracket of %s is to be bent by %s", opening.Text(unit.Millimetres), c.By.Text(unit.Millimetres))
				}
			}
		}
		same(t, opening.Text(unit.Millimetres), got, want)
		same(t, "caution", codes(r)["bracket_bending"], want != "")
	}
}

// Another bolt needs other holes: M14 in ISO 273's medium series is 15.5 mm, and
// the hole's centre stays 1.5 holes from the edge (common practice, no source).
func TestAnotherBoltNeedsOtherHoles(t *testing.T) {
	eye := mount.End{Style: mount.Eye, Bore: 14200 * um, Width: 31 * mm}
	r := mount.NewShelf(nil, nil, nil, mount.UsualLimits()).BoltUp(eye, mount.Bracket{Bolt: bolt(t, "M12")}, mount.Options{Detail: true})
	c := cureOf(r, mount.OtherBolt)
	same(t, "bolt", c.Bolt.Thread.String(), "M14x2")
	same(t, "hole", valueOf(&c.Note, "hole").Length, 15500*um)
	same(t, "edge", valueOf(&c.Note, "edge").Length, 23250*um)
}
