package mount_test

import (
	"fmt"
	"testing"

	"midstroke/internal/mount"
	"midstroke/internal/unit"
)

// reasonsOf are the codes of a refusal's reasons, in order.
func reasonsOf(r mount.Result) string {
	all := ""
	for i, n := range r.Reasons {
		if i > 0 {
			all += " "
		}
		all += string(n.Code)
	}
	return all
}

func cureOf(r mount.Result, kind mount.CureKind) *mount.Cure {
	for i := range r.Cures {
		if r.Cures[i].Kind == kind {
			return &r.Cures[i]
		}
	}
	return nil
}

// Diametral limits by common practice, no source (0.05 to 0.6 mm on the bolt, 0
// to 0.3 mm on a sleeve): met exactly is met, one nanometre beyond is not.
func TestLimitsToTheNanometre(t *testing.T) {
	m10 := mount.Bracket{Bolt: bolt(t, "M10")}
	for _, c := range []struct {
		what            string
		bore            unit.Length
		outer, sleeve   unit.Length // no sleeve where 0
		possible, naked bool
	}{
		{"bushing on bolt, least", 10050 * um, 0, 0, true, true},
		{"under it", 10050*um - 1, 0, 0, false, false},
		{"bushing on bolt, most", 10600 * um, 0, 0, true, true},
		{"over it", 10600*um + 1, 0, 0, false, false},
		{"sleeve pressed in", 16 * mm, 16 * mm, 10300 * um, true, false},
		{"too tight", 16 * mm, 16*mm + 1, 10300 * um, false, false},
		{"sleeve loose", 16 * mm, 15700 * um, 10300 * um, true, false},
		{"too loose", 16 * mm, 15700*um - 1, 10300 * um, false, false},
		{"sleeve on bolt, least", 16 * mm, 15900 * um, 10050 * um, true, false},
		{"under it", 16 * mm, 15900 * um, 10050*um - 1, false, false},
		{"sleeve on bolt, most", 16 * mm, 15900 * um, 10600 * um, true, false},
		{"over it", 16 * mm, 15900 * um, 10600*um + 1, false, false},
	} {
		var sleeves []mount.Sleeve
		if c.outer != 0 {
			sleeves = []mount.Sleeve{{Code: "a", Outer: c.outer, Bore: c.sleeve, Length: 31 * mm}}
		}
		end := mount.End{Style: mount.Eye, Bore: c.bore, Width: 31 * mm}
		r := mount.NewShelf(sleeves, nil, nil, mount.UsualLimits()).BoltUp(end, m10, mount.Options{})
		same(t, c.what, r.Possible, c.possible)
		if r.Possible {
			same(t, c.what+", sleeves", len(r.Sleeves) == 0, c.naked)
			if r.Spacers != nil {
				t.Errorf("%s: spacers without an opening", c.what)
			}
		}
	}
}

// A bore marked nominal takes the very size that it is named for, with a
// caution, and no other.
func TestNominalBores(t *testing.T) {
	half := bolt(t, "1/2 in")
	shelf := mount.NewShelf([]mount.Sleeve{
		{Code: "named", Outer: 19 * mm, Bore: 12700 * um, BoreIs: mount.Nominal, Length: 31 * mm},
	}, nil, nil, mount.UsualLimits())
	eye := mount.End{Style: mount.Eye, Bore: 19 * mm, Width: 31 * mm}
	r := shelf.BoltUp(eye, mount.Bracket{Bolt: half}, mount.Options{Detail: true})
	same(t, "nominal sleeve", r.Possible, true)
	same(t, "gap inside is", r.Sleeves[0].InsideIs, mount.Nominal)
	same(t, "gap outside is", r.Sleeves[0].OutsideIs, mount.Actual)
	same(t, "caution", codes(r)["nominal_bore"], true)
	same(t, "its gap in the working", codes(r)["sleeve_on_bolt"], false)
	// M12 in a hole of 12.7 mm would rattle; marked nominal it isn't even asked.
	same(t, "M12", shelf.BoltUp(eye, mount.Bracket{Bolt: bolt(t, "M12")}, mount.Options{}).Possible, false)

	direct := mount.End{Style: mount.Eye, Bore: 12700 * um, BoreIs: mount.Nominal, Width: 31 * mm}
	r = shelf.BoltUp(direct, mount.Bracket{Bolt: half}, mount.Options{Detail: true})
	same(t, "nominal bushing", r.Possible, true)
	same(t, "caution", codes(r)["nominal_bore"], true)
	same(t, "sleeves", len(r.Sleeves), 0)
	// The same figure marked actual leaves no clearance on the bolt.
	direct.BoreIs = mount.Actual
	same(t, "actual bushing", shelf.BoltUp(direct, mount.Bracket{Bolt: half}, mount.Options{}).Possible, false)

	// Of two that fit, the one whose gap is known is taken.
	shelf = mount.NewShelf([]mount.Sleeve{
		{Code: "a-named", Outer: 19 * mm, Bore: 12700 * um, BoreIs: mount.Nominal, Length: 31 * mm},
		{Code: "b-true", Outer: 19 * mm, Bore: 13200 * um, Length: 31 * mm},
	}, nil, nil, mount.UsualLimits())
	same(t, "choice", shelf.BoltUp(eye, mount.Bracket{Bolt: half}, mount.Options{}).Sleeves[0].Sleeve.Code, "b-true")
}

// An inch bolt in a metric sleeve in an inch bushing.
func TestMixedSystems(t *testing.T) {
	shelf := mount.NewShelf([]mount.Sleeve{
		{Code: "metric", Outer: 19 * mm, Bore: 13 * mm, Length: 38 * mm},
	}, nil, nil, mount.UsualLimits())
	eye := mount.End{Style: mount.Eye, Bore: length(t, "3/4 in"), Width: length(t, "1 1/2 in")}
	r := shelf.BoltUp(eye, mount.Bracket{Bolt: bolt(t, "1/2 in"), Opening: length(t, "1 1/2 in")}, mount.Options{})
	same(t, "possible", r.Possible, true)
	same(t, "gap outside", r.Sleeves[0].GapOutside, 50*um)
	same(t, "gap inside", r.Sleeves[0].GapInside, 300*um)
	// The sleeve is 0.1 mm short of the bushing and of the opening.
	same(t, "left over", r.Spacers.LeftOver, 100*um)
}

func TestSleevesAreChosenInOrder(t *testing.T) {
	eye := mount.End{Style: mount.Eye, Bore: 20 * mm, Width: 31 * mm}
	m10 := mount.Bracket{Bolt: bolt(t, "M10")}
	one := func(code string, outer, bore unit.Length, price mount.Price) mount.Sleeve {
		return mount.Sleeve{Code: code, Outer: outer, Bore: bore, Length: 31 * mm, Price: price}
	}
	nested := []mount.Sleeve{one("n1", 20*mm, 15*mm, 1), one("n2", 15*mm, 10050*um, 1)}
	for _, c := range []struct {
		what, want string
		sleeves    []mount.Sleeve
	}{
		{"two nested where there is no other way", "n1 n2", nested},
		{"one loose one rather than two snug ones", "loose", append([]mount.Sleeve{one("loose", 19700*um, 10600*um, 900)}, nested...)},
		{"the snugger", "b", []mount.Sleeve{one("a", 19900*um, 10300*um, 1), one("b", 19900*um, 10200*um, 900)}},
		{"the cheaper of equals", "b", []mount.Sleeve{one("a", 19900*um, 10300*um, 200), one("b", 20*mm, 10400*um, 100)}},
		{"no price is dearest", "b", []mount.Sleeve{one("a", 19900*um, 10300*um, mount.NoPrice), one("b", 19900*um, 10300*um, 900)}},
		{"the first by code", "a", []mount.Sleeve{one("b", 19900*um, 10300*um, 1), one("a", 19900*um, 10300*um, 1)}},
	} {
		r := mount.NewShelf(c.sleeves, nil, nil, mount.UsualLimits()).BoltUp(eye, m10, mount.Options{})
		got := ""
		for i, u := range r.Sleeves {
			if i > 0 {
				got += " "
			}
			got += u.Sleeve.Code
		}
		same(t, c.what, got, c.want)
	}
	// Among equals the one that leaves less of the opening over.
	long := one("z", 19900*um, 10300*um, 1)
	long.Length = 32 * mm
	m10.Opening = 32 * mm
	r := mount.NewShelf([]mount.Sleeve{one("a", 19900*um, 10300*um, 1), long},
		[]mount.Spacer{{Code: "s", Bore: 10 * mm, Thickness: 400 * um}}, nil, mount.UsualLimits()).BoltUp(eye, m10, mount.Options{})
	same(t, "fills the opening", r.Sleeves[0].Sleeve.Code, "z")
}

// Three nested at most: a chain of four is none.
func TestThreeNestedAtMost(t *testing.T) {
	var sleeves []mount.Sleeve
	for i, outer := range []unit.Length{22 * mm, 19 * mm, 16 * mm, 13 * mm} {
		sleeves = append(sleeves, mount.Sleeve{Code: string(rune('a' + i)), Outer: outer, Bore: outer - 3*mm, Length: 31 * mm})
	}
	eye := mount.End{Style: mount.Eye, Bore: 22 * mm, Width: 31 * mm}
	shelf := mount.NewShelf(sleeves, nil, nil, mount.UsualLimits())
	r := shelf.BoltUp(eye, mount.Bracket{Bolt: mount.Bolt{Diameter: 12800 * um}}, mount.Options{})
	same(t, "three", len(r.Sleeves), 3)
	same(t, "parts", r.Parts, 3)
	r = shelf.BoltUp(eye, mount.Bracket{Bolt: mount.Bolt{Diameter: 9800 * um}}, mount.Options{Detail: true})
	same(t, "four", r.Possible, false)
	same(t, "reason", reasonsOf(r), "no_sleeve_fits")
}

// The bracket must clamp the sleeve and not the rubber: a sleeve may be short
// of the bushing by the left-over limit (0.5 mm, common practice, no source).
func TestSleeveAgainstWidth(t *testing.T) {
	eye := mount.End{Style: mount.Eye, Bore: 16 * mm, Width: 31 * mm}
	for _, c := range []struct {
		what            string
		length, opening unit.Length
		want            string // reasons; "" possible
		by              unit.Length
	}{
		{"as wide", 31 * mm, 31 * mm, "", 0},
		{"short by the limit", 30500 * um, 31 * mm, "", 0},
		{"short by more", 30500*um - 1, 31 * mm, "sleeve_too_short", 500*um + 1},
		{"longer", 33 * mm, 33 * mm, "", 0},
		{"longer than the opening", 33 * mm, 33*mm - 1, "sleeve_too_long", 1},
		{"the bushing doesn't go in", 31 * mm, 31*mm - 1, "opening_narrower_than_bushing", 1},
		{"short without an opening", 30 * mm, 0, "sleeve_too_short", 1 * mm},
		{"long without an opening", 40 * mm, 0, "", 0},
		{"left over at the limit", 31 * mm, 31500 * um, "", 0},
		{"left over past it", 31 * mm, 31500*um + 1, "too_much_left_over", 1},
	} {
		shelf := mount.NewShelf([]mount.Sleeve{{Code: "a", Outer: 15900 * um, Bore: 10300 * um, Length: c.length}}, nil, nil, mount.UsualLimits())
		r := shelf.BoltUp(eye, mount.Bracket{Bolt: bolt(t, "M10"), Opening: c.opening}, mount.Options{Detail: true})
		same(t, c.what, reasonsOf(r), c.want)
		same(t, c.what, r.Possible, c.want == "")
		if c.want != "" {
			for _, v := range r.Reasons[0].Values {
				if v.Name == "by" {
					same(t, c.what+", by", v.Length, c.by)
				}
			}
		}
	}
}

func TestSpacersMustGoOnTheBolt(t *testing.T) {
	eye := mount.End{Style: mount.Eye, Bore: 10200 * um, Width: 31 * mm}
	bracket := mount.Bracket{Bolt: bolt(t, "M10"), Opening: 33 * mm}
	for bore, want := range map[unit.Length]bool{
		10*mm - 1: false, 10 * mm: true, 12 * mm: true, 12*mm + 1: false,
	} {
		shelf := mount.NewShelf(nil, []mount.Spacer{{Code: "s", Bore: bore, Thickness: 1 * mm}}, nil, mount.UsualLimits())
		same(t, bore.Text(unit.Millimetres), shelf.BoltUp(eye, bracket, mount.Options{}).Possible, want)
	}
}

// A spacer bears on the end of the sleeve that the bracket clamps, or it slips over it
// and nothing is clamped: its bore is at most half way through the sleeve's wall (our
// choice). The wall from 10.2 to 11.5 mm has its middle at 10.85 mm, by hand.
func TestSpacersBearOnTheSleeve(t *testing.T) {
	end := mount.End{Style: mount.Eye, Bore: 11600 * um, Width: 30 * mm}
	bracket := mount.Bracket{Bolt: bolt(t, "M10"), Opening: 34 * mm}
	thin := mount.Sleeve{Code: "thin", Outer: 11500 * um, Bore: 10200 * um, Length: 30 * mm}
	for _, c := range []struct {
		bore     unit.Length
		possible bool
	}{
		{10500 * um, true},
		{10850 * um, true},
		{10850*um + 1, false},
		{11500 * um, false},
		{12 * mm, false}, // goes on the bolt, and the sleeve goes into it
	} {
		shelf := mount.NewShelf([]mount.Sleeve{thin}, []mount.Spacer{{Code: "ring", Bore: c.bore, Thickness: 2 * mm}}, nil, mount.UsualLimits())
		r := shelf.BoltUp(end, bracket, mount.Options{Detail: true})
		same(t, fmt.Sprint("spacer of ", c.bore), r.Possible, c.possible)
		if c.possible {
			continue
		}
		cure := cureOf(r, mount.AddSpacer)
		if cure == nil {
			t.Fatalf("a bore of %v: no spacer is offered", c.bore)
		}
		if most := cure.Spacer.BoreMost; most > 10850*um {
			t.Errorf("a bore of %v: a spacer of up to %v is offered", c.bore, most)
		}
	}
	// Of two sleeves that are as long, either will do. The middles of their walls are at 10.6
	// and 11.9 mm, by hand.
	end.Bore = 12800 * um
	pair := []mount.Sleeve{
		{Code: "inner", Outer: 11 * mm, Bore: 10200 * um, Length: 30 * mm},
		{Code: "outer", Outer: 12700 * um, Bore: 11100 * um, Length: 30 * mm},
	}
	for bore, possible := range map[unit.Length]bool{10600 * um: true, 11900 * um: true, 11900*um + 1: false} {
		shelf := mount.NewShelf(pair, []mount.Spacer{{Code: "ring", Bore: bore, Thickness: 2 * mm}}, nil, mount.UsualLimits())
		r := shelf.BoltUp(end, bracket, mount.Options{})
		same(t, fmt.Sprint("spacer of ", bore, " on a pair"), r.Possible, possible)
	}
	// Without a sleeve the bushing's own tube carries it, which no list gives.
	end.Bore = 10300 * um
	r := mount.NewShelf(nil, []mount.Spacer{{Code: "ring", Bore: 12 * mm, Thickness: 2 * mm}}, nil, mount.UsualLimits()).BoltUp(end, bracket, mount.Options{})
	same(t, "on a bushing", r.Possible, true)
}

// Of two pairs of sleeves of one length, the pair with the lesser total gap is too thin
// for the one spacer there is, so the other pair is taken. Gaps by hand: 0.1 + 0.1 + 0.1
// against 0.1 + 0.1 + 0.2 mm. What each pair has longest is its inner sleeve, with the
// middle of its wall at 10.6 and at 10.85 mm.
func TestAThickerPairOfSleevesIsFound(t *testing.T) {
	shelf := mount.NewShelf([]mount.Sleeve{
		{Code: "around", Outer: 15900 * um, Bore: 11600 * um, Length: 30 * mm},
		{Code: "thick", Outer: 11500 * um, Bore: 10200 * um, Length: 31 * mm},
		{Code: "about", Outer: 15900 * um, Bore: 11200 * um, Length: 30 * mm},
		{Code: "thin", Outer: 11100 * um, Bore: 10100 * um, Length: 31 * mm},
	}, []mount.Spacer{{Code: "ring", Bore: 10800 * um, Thickness: 2 * mm}}, nil, mount.UsualLimits())
	end := mount.End{Style: mount.Eye, Bore: 16 * mm, Width: 30 * mm}
	bracket := mount.Bracket{Bolt: bolt(t, "M10"), Opening: 35 * mm}
	r := shelf.BoltUp(end, bracket, mount.Options{})
	same(t, "hardware", shown(r), "sleeves around thick spacers ring left 0")
	// With a ring that bears on both, the lesser gap counts.
	shelf = mount.NewShelf([]mount.Sleeve{
		{Code: "around", Outer: 15900 * um, Bore: 11600 * um, Length: 30 * mm},
		{Code: "thick", Outer: 11500 * um, Bore: 10200 * um, Length: 31 * mm},
		{Code: "about", Outer: 15900 * um, Bore: 11200 * um, Length: 30 * mm},
		{Code: "thin", Outer: 11100 * um, Bore: 10100 * um, Length: 31 * mm},
	}, []mount.Spacer{{Code: "ring", Bore: 10500 * um, Thickness: 2 * mm}}, nil, mount.UsualLimits())
	same(t, "hardware", shown(shelf.BoltUp(end, bracket, mount.Options{})), "sleeves about thin spacers ring left 0")
}

// A greedy pile would lay 5 and be stuck with 3 mm to go; the exact one lays
// twice 4.
func TestTheStackIsNotGreedy(t *testing.T) {
	eye := mount.End{Style: mount.Eye, Bore: 10200 * um, Width: 31 * mm}
	shelf := mount.NewShelf(nil, []mount.Spacer{
		{Code: "five", Bore: 10 * mm, Thickness: 5 * mm}, {Code: "four", Bore: 10 * mm, Thickness: 4 * mm},
	}, nil, mount.UsualLimits())
	r := shelf.BoltUp(eye, mount.Bracket{Bolt: bolt(t, "M10"), Opening: 47 * mm}, mount.Options{})
	same(t, "possible", r.Possible, true)
	same(t, "kinds", len(r.Spacers.EachSide), 1)
	same(t, "spacer", r.Spacers.EachSide[0].Spacer.Code, "four")
	same(t, "each side", r.Spacers.EachSide[0].Quantity, 2)
	same(t, "parts", r.Parts, 4)
}

func TestWhatIsLeftOpen(t *testing.T) {
	shelf := mount.NewShelf(nil, nil, nil, mount.UsualLimits())
	eye := mount.End{Style: mount.Eye, Bore: 16 * mm, Width: 31 * mm}
	r := shelf.BoltUp(eye, mount.Bracket{Opening: 40 * mm}, mount.Options{Detail: true})
	same(t, "no bolt", r.Possible && r.Open, true)
	same(t, "says so", reasonsOf(r), "no_bolt_given")
	if r.Bolt != nil || r.Spacers != nil || r.BracketHole != nil {
		t.Errorf("no bolt was given, and yet %+v", r)
	}
	r = shelf.BoltUp(mount.End{Style: mount.Eye, Width: 31 * mm}, mount.Bracket{Bolt: bolt(t, "M10")}, mount.Options{Detail: true})
	same(t, "no bore", r.Possible && r.Open, true)
	same(t, "says so", reasonsOf(r), "bore_not_listed")
	same(t, "its bolt", r.Bolt != nil, true)
	// What can't go into the opening can't, whatever the bolt.
	r = shelf.BoltUp(eye, mount.Bracket{Opening: 30 * mm}, mount.Options{Detail: true})
	same(t, "too narrow", r.Possible, false)
	same(t, "cure", cureOf(r, mount.OpenBracket).By, (1 * mm).Up(unit.MaxLength))
}

// The refusals of a bolt that doesn't go with the bore, and the next larger bolt
// that would; never a smaller one, for holes can't be made smaller.
func TestAnotherBoltWouldDo(t *testing.T) {
	shelf := mount.NewShelf([]mount.Sleeve{
		{Code: "a", Outer: 19 * mm, Bore: 16200 * um, Length: 31 * mm},
	}, nil, nil, mount.UsualLimits())
	eye := mount.End{Style: mount.Eye, Bore: 19050 * um, Width: 31 * mm}
	// 20 mm is larger than the bore of 19.05, and the sleeve takes M16 and 5/8 in.
	r := shelf.BoltUp(eye, mount.Bracket{Bolt: bolt(t, "M20")}, mount.Options{Detail: true})
	same(t, "reason", reasonsOf(r), "bolt_larger_than_bore")
	if c := cureOf(r, mount.OtherBolt); c != nil {
		t.Errorf("%s is offered in holes for M20", c.Bolt.Thread)
	}
	if cureOf(r, mount.AddSleeve) != nil {
		t.Error("a sleeve can't take a bolt larger than the bore")
	}
	// From 9/16 in (14.2875 mm) the nearest is 5/8 in.
	r = shelf.BoltUp(eye, mount.Bracket{Bolt: bolt(t, "9/16 in")}, mount.Options{Detail: true})
	same(t, "reason", reasonsOf(r), "no_sleeve_fits")
	c := cureOf(r, mount.OtherBolt)
	same(t, "bolt", c.Bolt.Thread.String(), "5/8-11 UNC")
	same(t, "by", c.By, unit.Inch/16)
	same(t, "alone", c.Alone, true)
	s := cureOf(r, mount.AddSleeve).Sleeve
	same(t, "outer", s.OuterMost, 19050*um)
	same(t, "bore", s.BoreLeast, (length(t, "9/16 in") + 50*um).Up(unit.MaxLength))
	same(t, "length", s.LengthLeast, (31 * mm).Up(unit.MaxLength))
	// A bore of 10.7 on M10 is too loose for the bolt and too tight for a sleeve.
	thin := mount.End{Style: mount.Eye, Bore: 10700 * um, Width: 31 * mm}
	r = shelf.BoltUp(thin, mount.Bracket{Bolt: bolt(t, "M10")}, mount.Options{Detail: true})
	same(t, "reason", reasonsOf(r), "no_sleeve_fits")
	if cureOf(r, mount.AddSleeve) != nil {
		t.Error("a sleeve without a wall is offered")
	}
}

// Only the gap left over is against it: the nearest setup is shown.
func TestTheNearestSetupIsShown(t *testing.T) {
	shelf := mount.NewShelf([]mount.Sleeve{{Code: "a", Outer: 15900 * um, Bore: 10300 * um, Length: 31 * mm}},
		[]mount.Spacer{{Code: "s", Bore: 10500 * um, Thickness: 1 * mm}}, nil, mount.UsualLimits())
	r := shelf.BoltUp(mount.End{Style: mount.Eye, Bore: 16 * mm, Width: 31 * mm},
		mount.Bracket{Bolt: bolt(t, "M10"), Opening: 34 * mm}, mount.Options{Detail: true})
	same(t, "possible", r.Possible, false)
	same(t, "sleeve", r.Sleeves[0].Sleeve.Code, "a")
	same(t, "left over", r.Spacers.LeftOver, 1*mm)
	same(t, "spacer from", cureOf(r, mount.AddSpacer).Spacer.ThicknessLeast, (1250 * um).Up(unit.MaxLength))
	same(t, "spacer to", cureOf(r, mount.AddSpacer).Spacer.ThicknessMost, (1500 * um).Down(0))
	same(t, "close by", cureOf(r, mount.CloseBracket).By, (500 * um).Up(unit.MaxLength))
}

// An unrelated sleeve on the shelf takes no cure away: too much is left over of
// the opening with it, and a longer sleeve would do as it would on an empty shelf.
func TestALongerSleeveCuresWhatIsLeftOver(t *testing.T) {
	eye := mount.End{Style: mount.Eye, Bore: 16 * mm, Width: 30 * mm}
	bracket := mount.Bracket{Bolt: bolt(t, "M12"), Opening: 40 * mm}
	for what, sleeves := range map[string][]mount.Sleeve{
		"empty": nil, "one": {{Code: "a", Outer: 16 * mm, Bore: 12200 * um, Length: 30 * mm}},
	} {
		r := mount.NewShelf(sleeves, nil, nil, mount.UsualLimits()).BoltUp(eye, bracket, mount.Options{Detail: true})
		c := cureOf(r, mount.AddSleeve)
		if c == nil || !c.Alone {
			t.Errorf("%s: cured by %+v, want a sleeve", what, r.Cures)
			continue
		}
		same(t, what+", from", c.Sleeve.LengthLeast, (39500 * um).Up(unit.MaxLength))
		same(t, what+", to", c.Sleeve.LengthMost, (40 * mm).Down(0))
	}
}

// The ends of a range, read back as an answer writes them in inches, still do.
func TestRangesAreWrittenInward(t *testing.T) {
	eye := mount.End{Style: mount.Eye, Bore: 16 * mm, Width: 30 * mm}
	bracket := mount.Bracket{Bolt: bolt(t, "M12"), Opening: 40 * mm}
	w := cureOf(mount.NewShelf(nil, nil, nil, mount.UsualLimits()).BoltUp(eye, bracket, mount.Options{Detail: true}), mount.AddSleeve).Sleeve
	back := func(l unit.Length) unit.Length { return unit.Inch.Scale(l.In(unit.Inches)) }
	for corner := range 8 {
		pick := func(bit int, least, most unit.Length) unit.Length {
			if corner>>bit&1 == 1 {
				return back(most)
			}
			return back(least)
		}
		s := mount.Sleeve{Code: "new", Outer: pick(0, w.OuterLeast, w.OuterMost), Bore: pick(1, w.BoreLeast, w.BoreMost), Length: pick(2, w.LengthLeast, w.LengthMost)}
		if !mount.NewShelf([]mount.Sleeve{s}, nil, nil, mount.UsualLimits()).BoltUp(eye, bracket, mount.Options{}).Possible {
			t.Errorf("corner %d: %+v does not do", corner, s)
		}
	}
}
