package demo

import (
	"fmt"
	"strings"

	"midstroke/internal/catalog"
	"midstroke/internal/mount"
	"midstroke/internal/unit"
)

// series is one of the two families of sizes: whole fractions of an inch, or
// whole millimetres.
type series struct {
	strokeLeast, strokeMost, strokeStep unit.Length
	grid                                unit.Length // of listed lengths
	tolerances                          []unit.Length
	twinTubes, monotubes                []frame
	ends                                ends
}

const (
	in64 = unit.Inch / 64
	mm   = unit.Millimetre
	um   = unit.Micrometre
)

// inches gives whole inches and 64ths.
func inches(whole, sixtyFourths unit.Length) unit.Length {
	return whole*unit.Inch + sixtyFourths*in64
}

func inchSeries() *series {
	return &series{
		ends:        inchEnds(),
		strokeLeast: 3 * unit.Inch, strokeMost: 14 * unit.Inch, strokeStep: unit.Inch / 4,
		grid:       unit.Inch / 8,
		tolerances: []unit.Length{inches(0, 4), inches(0, 4), inches(0, 4), inches(0, 8)},
		twinTubes: []frame{
			{inches(1, 24), inches(0, 60), inches(0, 28)},
			{inches(1, 40), inches(1, 0), inches(0, 30)},
			{inches(1, 48), inches(1, 8), inches(0, 32)},
			{inches(2, 0), inches(1, 16), inches(0, 36)},
			{inches(2, 16), inches(1, 24), inches(0, 36)},
			{inches(2, 32), inches(1, 40), inches(0, 40)},
			{inches(2, 48), inches(1, 48), inches(0, 48)},
		},
		monotubes: []frame{
			{inches(1, 40), inches(1, 28), inches(0, 28)},
			{inches(1, 52), inches(1, 40), inches(0, 32)},
			{inches(2, 0), inches(1, 52), inches(0, 36)},
			{inches(2, 16), inches(2, 0), inches(0, 40)},
			{inches(2, 36), inches(2, 20), inches(0, 48)},
		},
	}
}

func metricSeries() *series {
	return &series{
		ends:        metricEnds(),
		strokeLeast: 80 * mm, strokeMost: 350 * mm, strokeStep: 5 * mm,
		grid:       mm,
		tolerances: []unit.Length{1500 * um, 1500 * um, 2 * mm, 3 * mm},
		twinTubes: []frame{
			{35 * mm, 22 * mm, 11 * mm},
			{40 * mm, 25 * mm, 12 * mm},
			{45 * mm, 28 * mm, 12 * mm},
			{51 * mm, 32 * mm, 14 * mm},
			{57 * mm, 35 * mm, 16 * mm},
			{63 * mm, 40 * mm, 18 * mm},
			{70 * mm, 45 * mm, 20 * mm},
		},
		monotubes: []frame{
			{41 * mm, 36 * mm, 11 * mm},
			{45 * mm, 40 * mm, 12 * mm},
			{51 * mm, 46 * mm, 14 * mm},
			{56 * mm, 50 * mm, 16 * mm},
			{66 * mm, 60 * mm, 20 * mm},
		},
	}
}

// frame draws a frame that is stout enough for the stroke: the slimmest
// bodies are left to short strokes, for a long thin rod bends.
func (s *series) frame(d draw, c catalog.Construction, stroke unit.Length) frame {
	frames := s.twinTubes
	if c == catalog.Monotube {
		frames = s.monotubes
	}
	least := 0
	if stroke > 200*mm {
		least = 1
	}
	if stroke > 280*mm {
		least = 2
	}
	return frames[least+d.below(len(frames)-least)]
}

// stroke draws a stroke of the series.
func (s *series) stroke(d draw) unit.Length {
	steps := int((s.strokeMost - s.strokeLeast) / s.strokeStep)
	return s.strokeLeast + unit.Length(d.below(steps+1))*s.strokeStep
}

// dampers makes n dampers. The first of them have each pair of ends in each
// construction once, as far as n goes; the rest have drawn ones.
func dampers(seed int64, n int) []catalog.Damper {
	d := newDraw(seed, 1)
	inch, metric := inchSeries(), metricSeries()
	once, common := pairs()
	constructions := []catalog.Construction{catalog.TwinTube, catalog.Monotube}
	list := make([]catalog.Damper, n)
	for i := range list {
		ends, construction := pick(d, common), catalog.TwinTube
		if i < 2*len(once) {
			ends, construction = once[i/2], constructions[i%2]
		} else if d.chance(45) {
			construction = catalog.Monotube
		}
		s := inch
		if d.chance(45) {
			s = metric
		}
		one := &list[i]
		*one = s.damper(d, ends, construction)
		one.Code = fmt.Sprintf("demo-damper-%04d", i+1)
		one.Description = describe(one)
		one.Price = price(d, one)
	}
	addForces(seed, list)
	return list
}

// damper draws one damper.
func (s *series) damper(d draw, ends pair, c catalog.Construction) catalog.Damper {
	upper, lower := s.end(d, ends.upper), s.end(d, ends.lower)
	stroke := s.stroke(d)
	f := s.frame(d, c, stroke)
	allowance := unit.Length(d.below(int(mostAllowance/halfMillimetre))) * halfMillimetre
	compressed := roundUp(stroke+deadLength(c, f, stroke, upper, lower)+allowance, s.grid)

	one := catalog.Damper{
		Construction: c, Gas: c == catalog.Monotube || d.chance(40),
		Compressed: compressed, Extended: compressed + stroke,
		LengthTolerance: pick(d, s.tolerances), BodyDiameter: f.body,
		Upper: upper, Lower: lower,
		InStock: d.chance(80),
	}
	// A twin tube's base valve must stay under oil, so next to none of them
	// may be turned over; most monotubes may.
	switch {
	case c == catalog.Monotube:
		one.Invertible = d.chance(75)
	case one.Gas:
		one.Invertible = d.chance(5)
	}
	switch roll := d.below(100); {
	case roll < 20:
		one.Adjusters = catalog.Rebound
	case roll < 32:
		one.Adjusters = catalog.Compression | catalog.Rebound
	case roll < 36:
		one.Adjusters = catalog.Compression
	case roll < 40:
		one.Adjusters = catalog.RideHeight
	case roll < 42:
		one.Adjusters = catalog.Rebound | catalog.RideHeight
	}
	return one
}

// describe puts a damper in words.
func describe(d *catalog.Damper) string {
	words := []string{"invented demo damper", "twin tube"}
	if d.Construction == catalog.Monotube {
		words[1] = "monotube"
	}
	if d.Gas {
		words = append(words, "gas")
	}
	words = append(words, plain(d.Upper.Style)+" over "+plain(d.Lower.Style))
	return strings.Join(words, ", ")
}

func plain(s mount.Style) string { return strings.ReplaceAll(s.String(), "_", " ") }

// price makes up a price: more for length, gas and adjusters. Three in a
// hundred have none.
func price(d draw, one *catalog.Damper) mount.Price {
	if d.chance(3) {
		return mount.NoPrice
	}
	whole := 28 + int(one.Stroke()/(8*mm)) + d.below(12)
	if one.Construction == catalog.Monotube {
		whole += 35
	}
	if one.Gas {
		whole += 8
	}
	whole += 30 * len(one.Adjusters.Names())
	return mount.Price(whole*100 + pick(d, []int{0, 50, 90}))
}
