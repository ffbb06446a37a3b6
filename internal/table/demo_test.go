package table_test

import (
	"io"
	"slices"
	"testing"

	"midstroke/internal/catalog"
	"midstroke/internal/mount"
	"midstroke/internal/table"
	"midstroke/internal/unit"
	"midstroke/testdata/demo"
)

func equalContents(a, b catalog.Contents) bool {
	return a.Currency == b.Currency && a.Limits == b.Limits &&
		slices.Equal(a.Dampers, b.Dampers) && slices.Equal(a.Sleeves, b.Sleeves) &&
		slices.Equal(a.Spacers, b.Spacers) && slices.Equal(a.Adapters, b.Adapters)
}

func TestDemoFilesAreWhatTheGeneratorMakes(t *testing.T) {
	made, err := writeTexts(demo.Contents(), unit.Inches)
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range names() {
		kept, err := demo.Files.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		if string(kept) != made[name] {
			t.Errorf("%s is not what the generator makes; run go generate ./testdata/demo", name)
		}
	}
	read, err := readTexts(made)
	if err != nil {
		t.Fatal(err)
	}
	if !equalContents(read, demo.Contents()) {
		t.Error("the files read as other contents than the generator's")
	}
}

// The numbers asked of the demo catalogue are our choice.
func TestDemoHasEnoughOfEverything(t *testing.T) {
	c := demo.Contents()
	if len(c.Dampers) < 400 || len(c.Sleeves) < 60 || len(c.Spacers) < 24 || len(c.Adapters) < 16 {
		t.Errorf("%d dampers, %d sleeves, %d spacers, %d adapters", len(c.Dampers), len(c.Sleeves), len(c.Spacers), len(c.Adapters))
	}
	type build struct {
		upper, lower mount.Style
		construction catalog.Construction
	}
	builds := map[build]int{}
	strokes := map[unit.Length]bool{}
	var gas, plain, inverted, priced, outOfStock int
	adjusters := map[catalog.Adjusters]bool{}
	for i := range c.Dampers {
		d := &c.Dampers[i]
		builds[build{d.Upper.Style, d.Lower.Style, d.Construction}]++
		strokes[d.Stroke()] = true
		adjusters[d.Adjusters] = true
		if d.Gas {
			gas++
		} else {
			plain++
		}
		if d.Invertible {
			inverted++
			if d.Construction == catalog.TwinTube && !d.Gas {
				t.Errorf("%s: a twin tube without gas can't be turned over", d.Code)
			}
		}
		if d.Construction == catalog.Monotube && !d.Gas {
			t.Errorf("%s: a monotube needs its gas", d.Code)
		}
		if d.Price != mount.NoPrice {
			priced++
		}
		if !d.InStock {
			outOfStock++
		}
		if d.LengthTolerance <= 0 {
			t.Errorf("%s has no tolerance", d.Code)
		}
	}
	styles := []mount.Style{mount.Eye, mount.Stud, mount.BarPin}
	for _, upper := range styles {
		for _, lower := range styles {
			for _, construction := range []catalog.Construction{catalog.TwinTube, catalog.Monotube} {
				if n := builds[build{upper, lower, construction}]; n < 5 {
					t.Errorf("%d dampers of %v over %v, %v", n, upper, lower, construction)
				}
			}
		}
	}
	for _, stroke := range []unit.Length{3 * unit.Inch, 14 * unit.Inch, 80 * unit.Millimetre, 350 * unit.Millimetre} {
		if !strokes[stroke] {
			t.Errorf("no damper has a stroke of %s", stroke.Text(unit.Inches))
		}
	}
	if gas < 100 || plain < 100 || inverted < 80 || outOfStock < 40 || priced == len(c.Dampers) || len(adjusters) < 5 {
		t.Errorf("gas %d, without %d, invertible %d, out of stock %d, priced %d, sets of adjusters %d",
			gas, plain, inverted, outOfStock, priced, len(adjusters))
	}
	nominal := 0
	for _, s := range c.Sleeves {
		if s.BoreIs == mount.Nominal {
			nominal++
		}
	}
	if nominal < 10 || len(c.Sleeves)-nominal < 30 {
		t.Errorf("%d of %d sleeves are nominal", nominal, len(c.Sleeves))
	}
}

// TestDemoForceTables: shapes and magnitudes that dampers of vehicles have (common
// practice, no source): some hundred newtons at 0.26 m/s, a few thousand at 1.05.
func TestDemoForceTables(t *testing.T) {
	tables := map[string]int{}
	var digressive, progressive, included, positions int
	for _, d := range demo.Contents().Dampers {
		table := d.ForceTable()
		if len(table.Curves) == 0 {
			tables[""]++
			continue
		}
		tables[d.Forces.Text()]++
		if table.GasIncluded {
			included++
		}
		positions += len(table.Curves) - 1
		for _, c := range table.Curves {
			at := func(i int) float64 { a, b := table.Force(c.Points[i]); return (a + b) / 2 }
			mid, last := at(2), at(len(c.Points)-1)
			if mid < 80 || mid > 1500 || last > 8000 {
				t.Errorf("%s at %q: %g N at 0.26 m/s and %g N at 1.05 m/s", d.Code, c.Position, mid, last)
			}
			// Four times the velocity: more or less than four times the force.
			switch grown := last / mid; {
			case grown < 3.5:
				digressive++
			case grown > 4.5:
				progressive++
			}
		}
	}
	if tables[""] < 100 || len(tables) < 50 || digressive < 100 || progressive < 50 || included < 40 || positions < 200 {
		t.Errorf("%d without a table, %d different ones, %d digressive, %d progressive, %d with the gas force, %d further positions",
			tables[""], len(tables)-1, digressive, progressive, included, positions)
	}
}

// A stroke must go into the body: what a damper's compressed length has beyond
// its stroke is the dead length, and a monotube has more of it, for the
// floating piston and its gas, than a twin tube of like ends and stroke.
func TestDemoDeadLengthsFollowFromConstruction(t *testing.T) {
	type sum struct {
		total unit.Length
		n     int
	}
	var of [3]sum
	for _, d := range demo.Generate(1, 20_000).Dampers {
		dead := d.Compressed - d.Stroke()
		if dead < 90*unit.Millimetre || dead > 300*unit.Millimetre {
			t.Errorf("%s: dead length %s", d.Code, dead.Text(unit.Millimetres))
		}
		of[d.Construction].total += dead
		of[d.Construction].n++
	}
	twin := of[catalog.TwinTube].total / unit.Length(of[catalog.TwinTube].n)
	mono := of[catalog.Monotube].total / unit.Length(of[catalog.Monotube].n)
	// Both pistons, their clearance and some gas: 25 to 70 mm in the model.
	if mono-twin < 25*unit.Millimetre || mono-twin > 70*unit.Millimetre {
		t.Errorf("twin tubes have %s dead, monotubes %s", twin.Text(unit.Millimetres), mono.Text(unit.Millimetres))
	}
}

func TestDemoFitsEverydayRequests(t *testing.T) {
	c := demo.Contents()
	// Two eyes at 17 5/16 in, with 2 in of travel each way: ten dampers, as many
	// as an answer lists.
	taped, betweenEyes := 17*unit.Inch+unit.Inch*5/16, 0
	for _, d := range c.Dampers {
		if d.Upper.Style == mount.Eye && d.Lower.Style == mount.Eye && taped-d.Compressed >= 2*unit.Inch && d.Extended-taped >= 2*unit.Inch {
			betweenEyes++
		}
	}
	if betweenEyes < 10 {
		t.Errorf("%d dampers fit between two eyes at 17 5/16 in", betweenEyes)
	}
	// A stud over an eye on an M12 bolt in an opening of 1 1/2 in, working at
	// 16.2 in with 2 in each way: bores that one sleeve brings to the bolt, or
	// none, within the usual clearances, and no wider than the opening.
	limits, bolt, working := mount.UsualLimits(), 12*unit.Millimetre, unit.Inch*162/10
	onBolt := func(bore unit.Length) bool {
		return bore-bolt >= limits.BoltGapLeast && bore-bolt <= limits.BoltGapMost
	}
	withOneSleeve := 0
	for _, d := range c.Dampers {
		if d.Upper.Style != mount.Stud || d.Lower.Style != mount.Eye || d.Lower.Width > unit.Inch*3/2 ||
			working-d.Compressed < 2*unit.Inch || d.Extended-working < 2*unit.Inch {
			continue
		}
		if slices.ContainsFunc(c.Sleeves, func(s mount.Sleeve) bool {
			gap := d.Lower.Bore - s.Outer
			return gap >= limits.SleeveGapLeast && gap <= limits.SleeveGapMost && onBolt(s.Bore) &&
				s.Length >= d.Lower.Width && s.Length <= unit.Inch*3/2
		}) {
			withOneSleeve++
		}
	}
	if withOneSleeve < 3 {
		t.Errorf("%d dampers fit a stud over an eye at 16.2 in with one sleeve", withOneSleeve)
	}
	// Each common bushing comes down to each of these bolts by some sleeve.
	for _, bushing := range []struct {
		bore  unit.Length
		bolts []unit.Length
	}{
		{unit.Inch * 3 / 4, []unit.Length{unit.Inch * 7 / 16, unit.Inch / 2, unit.Inch * 5 / 8, 10 * unit.Millimetre, 12 * unit.Millimetre, 14 * unit.Millimetre}},
		{unit.Inch * 5 / 8, []unit.Length{unit.Inch / 2, 10 * unit.Millimetre, 12 * unit.Millimetre}},
		{16 * unit.Millimetre, []unit.Length{unit.Inch * 7 / 16, unit.Inch / 2, 10 * unit.Millimetre, 12 * unit.Millimetre}},
		{20 * unit.Millimetre, []unit.Length{unit.Inch / 2, unit.Inch * 5 / 8, 12 * unit.Millimetre, 14 * unit.Millimetre, 16 * unit.Millimetre}},
	} {
		for _, bolt := range bushing.bolts {
			if !slices.ContainsFunc(c.Sleeves, func(s mount.Sleeve) bool {
				outside, inside := bushing.bore-s.Outer, s.Bore-bolt
				return s.BoreIs == mount.Actual && outside >= limits.SleeveGapLeast && outside <= limits.SleeveGapMost &&
					inside >= limits.BoltGapLeast && inside <= limits.BoltGapMost
			}) {
				t.Errorf("no sleeve brings a bore of %s down to a bolt of %s", bushing.bore.Text(unit.Millimetres), bolt.Text(unit.Millimetres))
			}
		}
	}
}

func TestGenerateIsTheSameForTheSameSeed(t *testing.T) {
	a, b := demo.Generate(7, 2_000), demo.Generate(7, 2_000)
	if !equalContents(a, b) {
		t.Error("the same seed gave two catalogues")
	}
	if small := demo.Generate(7, 300); !slices.Equal(small.Dampers, a.Dampers[:300]) {
		t.Error("a smaller catalogue isn't the beginning of a larger one")
	}
	if other := demo.Generate(8, 2_000); slices.Equal(other.Dampers, a.Dampers) {
		t.Error("two seeds gave the same dampers")
	}
}

// What is generated in any size is what a shop could have written.
func TestGeneratedCataloguesAreWithoutFaults(t *testing.T) {
	c := demo.GenerateSizes(3, demo.Sizes{Dampers: 5_000, Sleeves: 500, Spacers: 100, Adapters: 60})
	if len(c.Sleeves) != 500 || len(c.Spacers) != 100 || len(c.Adapters) != 60 {
		t.Errorf("%d sleeves, %d spacers, %d adapters", len(c.Sleeves), len(c.Spacers), len(c.Adapters))
	}
	if err := table.Write(io.Discard, table.CSV, c, unit.Millimetres); err != nil {
		t.Error(err)
	}
}
