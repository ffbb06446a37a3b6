package table_test

import (
	"errors"
	"fmt"
	"maps"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"midstroke/internal/catalog"
	"midstroke/internal/damping"
	"midstroke/internal/mount"
	"midstroke/internal/table"
	"midstroke/internal/unit"
)

// anyLength draws a length of whole 1/64 in, whole micrometres or whole
// nanometres.
func anyLength(t *rapid.T, label string, least, most unit.Length) unit.Length {
	step := rapid.SampledFrom([]unit.Length{unit.Inch / 64, unit.Micrometre, unit.Nanometre}).Draw(t, label+" in")
	first := (least + step - 1) / step
	return step * unit.Length(rapid.Int64Range(int64(first), int64(most/step)).Draw(t, label))
}

// knownOrNot draws 0 or a length.
func knownOrNot(t *rapid.T, label string, least, most unit.Length) unit.Length {
	if rapid.Bool().Draw(t, label+" known") {
		return anyLength(t, label, least, most)
	}
	return 0
}

// anyText draws what may stand in a description: delimiters, quotes, line
// ends, what begins formulas, letters of other scripts.
func anyText(t *rapid.T, label string) string {
	return strings.TrimSpace(rapid.StringOfN(rapid.SampledFrom([]rune(`ab Z09,;"'=+-@|/#`+"\näß½日")), 0, 30, -1).Draw(t, label))
}

func anyCode(t *rapid.T, i int) string {
	start := rapid.StringOfN(rapid.SampledFrom([]rune(`aZ9,;"'=+-@/# ä`)), 0, 12, -1).Draw(t, "code")
	return strings.TrimLeft(fmt.Sprintf("%s:%d", start, i), " ")
}

func anyPrice(t *rapid.T) mount.Price {
	return mount.Price(rapid.Int64Range(int64(mount.NoPrice), 1_000_000_000).Draw(t, "price"))
}

func anyEnd(t *rapid.T) mount.End {
	const most = 100 * unit.Millimetre
	e := mount.End{Style: rapid.SampledFrom([]mount.Style{mount.Eye, mount.Stud, mount.BarPin}).Draw(t, "style")}
	switch e.Style {
	case mount.Eye:
		e.Bore = knownOrNot(t, "bore", 6*unit.Millimetre, most)
		if e.Bore > 0 {
			e.BoreIs = rapid.SampledFrom([]mount.BoreIs{mount.Actual, mount.Nominal}).Draw(t, "bore is")
		}
		e.Width = knownOrNot(t, "width", unit.Nanometre, most)
	case mount.Stud:
		if rapid.Bool().Draw(t, "threaded") {
			bolt, err := mount.ParseBolt(rapid.SampledFrom([]string{"M6", "M10x1.25", "M12", "M24x2", "1/4 in", "1/2-20 in", "7/16 in", "1 in"}).Draw(t, "thread"), unit.Unset)
			if err != nil {
				t.Fatal(err)
			}
			e.Thread = bolt.Thread
		}
		e.UsableLength = knownOrNot(t, "usable length", unit.Nanometre, most)
		e.Spigot = knownOrNot(t, "spigot", e.Thread.Diameter+unit.Nanometre, most)
	case mount.BarPin:
		e.HoleSpacing = knownOrNot(t, "spacing", 40*unit.Millimetre, most)
		e.Slot = knownOrNot(t, "slot", unit.Nanometre, 30*unit.Millimetre)
		e.Hole = knownOrNot(t, "hole", 6*unit.Millimetre, 30*unit.Millimetre)
	case mount.NoStyle, mount.Fork, mount.SpindleStrut:
	}
	return e
}

func anyDamper(t *rapid.T, i int) catalog.Damper {
	d := catalog.Damper{
		Code: anyCode(t, i), Description: anyText(t, "description"),
		Construction: rapid.SampledFrom([]catalog.Construction{catalog.TwinTube, catalog.Monotube}).Draw(t, "construction"),
		Gas:          rapid.Bool().Draw(t, "gas"),
		Adjusters:    catalog.Adjusters(rapid.IntRange(0, 7).Draw(t, "adjusters")),
		Compressed:   anyLength(t, "compressed", 250*unit.Millimetre, 900*unit.Millimetre),
		BodyDiameter: anyLength(t, "body", 20*unit.Millimetre, 200*unit.Millimetre),
		Upper:        anyEnd(t), Lower: anyEnd(t),
		Invertible: rapid.Bool().Draw(t, "invertible"), InStock: rapid.Bool().Draw(t, "in stock"), Price: anyPrice(t),
	}
	if d.Construction == catalog.TwinTube && !d.Gas {
		d.Invertible = false // refused
	}
	// From a stroke of 1 mm to the longest that goes in between two eyes of
	// 100 mm bore.
	d.Extended = anyLength(t, "extended", d.Compressed+unit.Millimetre, 2*d.Compressed-100*unit.Millimetre)
	d.LengthTolerance = anyLength(t, "tolerance", 0, unit.Millimetre*49/100)
	if rapid.Bool().Draw(t, "forces known") {
		table := anyForceTable(t)
		d.Forces, d.GasIncluded, d.Reservoir = catalog.NewForces(&table), table.GasIncluded, table.Reservoir
	}
	return d
}

// anyForceTable is one that a list may have, with positions' names that begin as
// formulas do.
func anyForceTable(t *rapid.T) damping.Table {
	table := damping.Table{
		GasForce:  rapid.SampledFrom([]float64{0, 0.5, 180, 333.25}).Draw(t, "gas force"),
		Reservoir: damping.Reservoir(rapid.IntRange(0, 3).Draw(t, "reservoir")),
	}
	table.GasIncluded = table.GasForce > 0 && rapid.Bool().Draw(t, "gas included")
	if table.TemperatureKnown = rapid.Bool().Draw(t, "temperature known"); table.TemperatureKnown {
		table.Celsius = rapid.Float64Range(-60, 200).Draw(t, "temperature")
	}
	names := rapid.SampledFrom([][]string{{""}, {"soft"}, {"=1", "+2", "-3"}, {"'a", "b c", "Ä"}}).Draw(t, "positions")
	for _, name := range names {
		c := damping.Curve{Position: name}
		velocity, compression, rebound := 0.0, 0.0, 0.0
		for range rapid.IntRange(2, 5).Draw(t, "points") {
			velocity += rapid.Float64Range(0.01, 1).Draw(t, "velocity")
			compression += rapid.Float64Range(1, 500).Draw(t, "compression")
			rebound += rapid.Float64Range(1, 900).Draw(t, "rebound")
			p := damping.Point{Velocity: velocity, Compression: compression, Rebound: rebound}
			if table.GasIncluded {
				p.Compression, p.Rebound = p.Compression+table.GasForce, p.Rebound-table.GasForce
			}
			c.Points = append(c.Points, p)
		}
		table.Curves = append(table.Curves, c)
	}
	return table
}

func anyContents(t *rapid.T) catalog.Contents {
	c := catalog.Contents{Currency: rapid.StringMatching(`[A-Z]{3}`).Draw(t, "currency")}
	gap := func(label string) (least, most unit.Length) {
		least = anyLength(t, label, 0, unit.Millimetre)
		return least, anyLength(t, label, least, 3*unit.Millimetre)
	}
	c.Limits.SleeveGapLeast, c.Limits.SleeveGapMost = gap("sleeve gap")
	c.Limits.BoltGapLeast, c.Limits.BoltGapMost = gap("bolt gap")
	c.Limits.LeftOverMost = anyLength(t, "left over", 0, 3*unit.Millimetre)
	many := func(label string) int { return rapid.IntRange(0, 3).Draw(t, label) }
	for i := range 1 + many("more dampers") {
		c.Dampers = append(c.Dampers, anyDamper(t, i))
	}
	for i := range many("sleeves") {
		bore := anyLength(t, "bore", 6*unit.Millimetre, 30*unit.Millimetre)
		c.Sleeves = append(c.Sleeves, mount.Sleeve{
			Code: anyCode(t, i), Description: anyText(t, "description"),
			Bore: bore, Outer: anyLength(t, "outer", bore+unit.Nanometre, 60*unit.Millimetre),
			BoreIs: rapid.SampledFrom([]mount.BoreIs{mount.Actual, mount.Nominal}).Draw(t, "bore is"),
			Length: anyLength(t, "length", unit.Nanometre, unit.Metre), InStock: rapid.Bool().Draw(t, "in stock"), Price: anyPrice(t),
		})
	}
	for i := range many("spacers") {
		c.Spacers = append(c.Spacers, mount.Spacer{
			Code: anyCode(t, i), Description: anyText(t, "description"),
			Bore: anyLength(t, "bore", 6*unit.Millimetre, 30*unit.Millimetre), Thickness: anyLength(t, "thickness", unit.Nanometre, unit.Metre),
			InStock: rapid.Bool().Draw(t, "in stock"), Price: anyPrice(t),
		})
	}
	for i := range many("adapters") {
		c.Adapters = append(c.Adapters, mount.Adapter{
			Code: anyCode(t, i), Description: anyText(t, "description"), From: anyEnd(t), To: anyEnd(t),
			AddsLength: anyLength(t, "adds", -unit.Metre, unit.Metre), InStock: rapid.Bool().Draw(t, "in stock"), Price: anyPrice(t),
		})
	}
	return c
}

// What is written reads as the same contents, to the nanometre, and writes as
// the same bytes.
func TestRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := anyContents(t)
		units := rapid.SampledFrom([]unit.System{unit.Inches, unit.Millimetres}).Draw(t, "units")
		first, err := writeTexts(c, units)
		if err != nil {
			t.Fatal(err)
		}
		read, err := readTexts(first)
		if err != nil {
			t.Fatalf("%v\n%v", err, first)
		}
		if !equalContents(c, read) {
			t.Fatalf("wrote %+v\nread %+v", c, read)
		}
		second, err := writeTexts(read, units)
		if err != nil || !maps.Equal(first, second) {
			t.Fatalf("first %v\nthen %v, %v", first, second, err)
		}
	})
}

// No cell of a text may begin as a formula does.
func TestTextsAreNoFormulas(t *testing.T) {
	c := catalog.Contents{Spacers: []mount.Spacer{
		{Code: "=1+1", Description: `@sum(1)`, Bore: 10 * unit.Millimetre, Thickness: unit.Millimetre, Price: mount.NoPrice},
		{Code: "-5", Description: `'+a`, Bore: 10 * unit.Millimetre, Thickness: unit.Millimetre, Price: mount.NoPrice},
	}}
	files, err := writeTexts(c, unit.Millimetres)
	if err != nil {
		t.Fatal(err)
	}
	const want = "code,description,bore,thickness,in_stock,price\r\n" +
		"'=1+1,'@sum(1),10 mm,1 mm,no,\r\n" +
		"'-5,''+a,10 mm,1 mm,no,\r\n"
	if got := files[table.SpacersFile]; got != want {
		t.Errorf("got %q", got)
	}
}

// What reading would refuse is not written, and told as reading would.
func TestWriteRefusesWhatReadingWould(t *testing.T) {
	spacer := func(change func(*mount.Spacer)) mount.Spacer {
		s := mount.Spacer{Code: "a", Bore: 10 * unit.Millimetre, Thickness: unit.Millimetre, Price: mount.NoPrice}
		change(&s)
		return s
	}
	for _, test := range []struct {
		name, column, code string
		spacer             mount.Spacer
	}{
		{"no code", "code", "missing", spacer(func(s *mount.Spacer) { s.Code = "" })},
		{"bore of nothing", "bore", "missing", spacer(func(s *mount.Spacer) { s.Bore = 0 })},
		{"negative bore", "bore", "length_not_positive", spacer(func(s *mount.Spacer) { s.Bore = -unit.Millimetre })},
		{"negative price", "price", "price", spacer(func(s *mount.Spacer) { s.Price = -7 })},
		{"blanks around", "description", "blanks_around", spacer(func(s *mount.Spacer) { s.Description = " a" })},
		{"carriage return", "description", "unprintable", spacer(func(s *mount.Spacer) { s.Description = "a\rb" })},
	} {
		t.Run(test.name, func(t *testing.T) {
			files, err := writeTexts(catalog.Contents{Spacers: []mount.Spacer{test.spacer}}, unit.Inches)
			var faults *table.Faults
			if !errors.As(err, &faults) || len(faults.List) == 0 {
				t.Fatalf("got %v", err)
			}
			if f := faults.List[0]; f.File != table.SpacersFile || f.Line != 2 || f.Column != test.column || f.Code.Public() != test.code {
				t.Errorf("got %+v", f)
			}
			if lines := strings.Count(files[table.SpacersFile], "\n"); lines != 1 {
				t.Errorf("%d lines were written", lines)
			}
		})
	}
}
