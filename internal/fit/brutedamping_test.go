package fit_test

import (
	"math"
	"reflect"
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/gonum/integrate/quad"
	"pgregory.net/rapid"

	"midstroke/internal/catalog"
	"midstroke/internal/damping"
	"midstroke/internal/fit"
	"midstroke/internal/note"
	"midstroke/internal/ride"
	"midstroke/internal/unit"
)

// bruteDamping judges a damper by numbers alone: it shares no code with package
// damping. At a Gaussian velocity of root mean square σ a force takes the power
// E[v F(v)], integrated here piece by piece. The road gives one damper the power
// k_t W/2 with the two-sided velocity density W of the road, whatever the damper,
// so σ is where the two are equal, found by bisection.
type bruteDamping struct {
	atWheel   float64 // by the damper, N·s/m
	low, high float64 // that are in range, of all loads
	// far says that the velocities lie so far beyond the table that a damper may not
	// be judged by it.
	far bool
}

const (
	bruteSoft = iota + 1
	bruteInRange
	bruteFirm
)

func (b bruteDamping) verdict() int {
	switch {
	case b.atWheel < b.low:
		return bruteSoft
	case b.atWheel > b.high:
		return bruteFirm
	}
	return bruteInRange
}

// unsure says whether rounding may decide.
func (b bruteDamping) unsure() bool {
	return b.far || math.Abs(b.atWheel/b.low-1) < 1e-4 || math.Abs(b.atWheel/b.high-1) < 1e-4 || b.low >= b.high
}

// forceAt gives the sum of both forces at a velocity, linear between points, and on
// along the last piece.
func forceAt(c *damping.Curve, v float64) float64 {
	v0, f0 := 0.0, 0.0
	for i, p := range c.Points {
		f := p.Compression + p.Rebound
		if v <= p.Velocity || i == len(c.Points)-1 {
			return f0 + (f-f0)*(v-v0)/(p.Velocity-v0)
		}
		v0, f0 = p.Velocity, f
	}
	return f0
}

// powerOf is the mean power of a curve at σ, W: the mean of both directions.
func powerOf(c *damping.Curve, sigma float64) float64 {
	of := func(v float64) float64 {
		return v * forceAt(c, v) / 2 * math.Exp(-v*v/(2*sigma*sigma)) * 2 / (sigma * math.Sqrt(2*math.Pi))
	}
	edges := []float64{0}
	for _, p := range c.Points {
		edges = append(edges, p.Velocity)
	}
	edges = append(edges, max(2*edges[len(edges)-1], 12*sigma))
	sum := 0.0
	for i := range edges[1:] {
		// Pieces much longer than σ are cut where the density ends.
		from, to := edges[i], min(edges[i+1], 12*sigma)
		const parts = 2
		for k := range parts {
			if a, b := from+(to-from)*float64(k)/parts, from+(to-from)*float64(k+1)/parts; b > a {
				sum += quad.Fixed(of, a, b, 12, quad.Legendre{}, 0)
			}
		}
	}
	return sum
}

func bruteCurve(c *damping.Curve, q *damping.Question) bruteDamping {
	const n0 = 0.1 // cycle/m, ISO 8608
	roughness := map[ride.Class]float64{'B': 64e-6, 'C': 256e-6, 'D': 1024e-6}[q.Targets.Class]
	w := math.Pow(2*math.Pi*n0, 2) * roughness * q.Targets.SpeedKmh / 3.6 / 2
	power := q.Corner.TyreRate * 1000 * w / 2
	low, high := 1e-4, 30.0
	for range 45 {
		if middle := math.Sqrt(low * high); powerOf(c, middle) < power {
			low = middle
		} else {
			high = middle
		}
	}
	last := c.Points[len(c.Points)-1].Velocity
	b := bruteDamping{atWheel: power / (low * low) * q.Corner.DamperRatio * q.Corner.DamperRatio, high: math.Inf(1), far: low > 0.6*last}
	for _, mass := range []float64{q.Corner.SprungKg, max(q.Corner.SprungKg, q.Corner.LadenKg)} {
		critical := 2 * math.Sqrt(q.Corner.WheelRate*1000*mass)
		b.low, b.high = max(b.low, q.Targets.RatioLow*critical), min(b.high, q.Targets.RatioHigh*critical)
	}
	return b
}

// bruteVerdict is that of the best position; 0 for a damper without a table. sure is
// false where rounding may decide.
func bruteVerdict(d *catalog.Damper, q *damping.Question, known map[string]bruteDamping) (verdict int, sure bool) {
	curves := d.Forces.Curves()
	if len(curves) == 0 {
		return 0, true
	}
	best := math.Inf(1)
	for i := range curves {
		key := damping.FormatCurves(curves[i : i+1])
		b, ok := known[key]
		if !ok {
			b = bruteCurve(&curves[i], q)
			known[key] = b
		}
		if b.unsure() {
			return 0, false
		}
		if outside := max(0, math.Log(b.low/b.atWheel), math.Log(b.atWheel/b.high)); outside < best {
			best, verdict = outside, b.verdict()
		}
	}
	return verdict, true
}

// drawCorner draws a corner with or without a load, whose springs and ratios are
// constant, and a target.
func drawCorner(t *rapid.T) (*ride.Corner, *damping.Targets) {
	corner := &ride.Corner{
		SprungKg: rapid.Float64Range(150, 700).Draw(t, "sprung"), UnsprungKg: rapid.Float64Range(25, 60).Draw(t, "unsprung"),
		WheelRate: rapid.Float64Range(12, 45).Draw(t, "wheel rate"), TyreRate: rapid.Float64Range(150, 350).Draw(t, "tyre rate"),
		DamperRatio: rapid.Float64Range(0.5, 1).Draw(t, "damper ratio"),
	}
	if rapid.Bool().Draw(t, "has a load") {
		corner.LadenKg = corner.SprungKg * rapid.Float64Range(1.05, 1.4).Draw(t, "load")
	}
	low := rapid.Float64Range(0.1, 0.4).Draw(t, "low")
	targets := &damping.Targets{
		RatioLow: low, RatioHigh: low * rapid.Float64Range(1.3, 2.5).Draw(t, "high over low"),
		Class: rapid.SampledFrom([]ride.Class{'B', 'C', 'D'}).Draw(t, "class"), SpeedKmh: rapid.Float64Range(30, 120).Draw(t, "speed"),
	}
	return corner, targets
}

// TestDampingAsByBruteForce: with a corner the verdicts, the order and the limit are
// those of numbers that share no code with the search, nor with package damping.
func TestDampingAsByBruteForce(t *testing.T) {
	seen := map[int]int{}
	cutShort := 0
	rapid.Check(t, func(t *rapid.T) {
		r := drawRequest(t)
		r.Readings.MotionRatio, r.Readings.MotionRatioTolerance = 0, 0
		r.Travel = fit.Travel{Basis: fit.Stated, Compression: sixteenths(t, "least compression", 0, 40), Extension: sixteenths(t, "least extension", 0, 40)}
		r.Readings.Condition.NotAtRide, r.Readings.PlannedChange = false, 0
		r.Heights, r.BumpStop, r.Strap, r.DroopLimit = fit.Heights{}, nil, nil, nil
		r.Corner, r.Targets = drawCorner(t)
		q := &damping.Question{Corner: *r.Corner, Targets: *r.Targets}
		if rapid.IntRange(0, 3).Draw(t, "limit damping") == 0 {
			r.Limits.Damping = r.Limits.Damping.With(rapid.SampledFrom([]damping.Verdict{damping.Soft, damping.InRange, damping.Firm}).Draw(t, "wanted verdict"))
		}
		s := rapid.SampledFrom(catalogues).Draw(t, "catalogue")
		known := map[string]bruteDamping{}
		verdicts := map[string]int{}
		plain := *r
		plain.Corner, plain.Targets, plain.Limits.Damping = nil, nil, 0
		var want []bruteFit
		for _, f := range bruteForce(&plain, s, needOf(t, &plain)) {
			d, _ := s.Damper(f.code)
			verdict, sure := bruteVerdict(d, q, known)
			if !sure {
				t.Skip("rounding may decide")
			}
			if verdicts[f.code] = verdict; r.Limits.Damping == 0 || r.Limits.Damping.Has(damping.Verdict(verdict)) {
				want = append(want, f)
			}
		}
		sameVerdicts(t, r, q, s, verdicts)
		place := func(code string) int { return map[int]int{0: 1, bruteSoft: 2, bruteFirm: 2}[verdicts[code]] }
		slices.SortStableFunc(want, func(a, b bruteFit) int {
			if a.grade != b.grade || a.adapters != b.adapters {
				return order(a, b)
			}
			if by := place(a.code) - place(b.code); by != 0 {
				return by
			}
			return order(a, b)
		})
		everyAsBruteForce(t, r, s, want)
		for _, r.Top = range []int{1, 7, fit.MostListed} {
			asBruteForce(t, r, s, want)
			if len(want) > r.Top {
				cutShort++
			}
			for _, f := range find(t, r, s).Fits {
				got := 0
				if f.Damping != nil {
					got = int(f.Damping.Verdict)
				}
				if got != verdicts[f.Damper.Code] {
					t.Fatalf("%s is judged %d, by brute force %d", f.Damper.Code, got, verdicts[f.Damper.Code])
				}
				seen[got]++
			}
		}
	})
	if t.Log(seen, cutShort); len(seen) < 4 || cutShort < 20 {
		t.Errorf("verdicts %v, %d searches that ended before they had seen all", seen, cutShort)
	}
}

// sameVerdicts compares the verdicts on dampers with those of brute force.
func sameVerdicts(t *rapid.T, r *fit.Request, q *damping.Question, s *catalog.Snapshot, verdicts map[string]int) {
	t.Helper()
	rater, faults := damping.NewRater(q)
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	for code, want := range verdicts {
		d, _ := s.Damper(code)
		table := d.ForceTable()
		if got := int(rater.Judge(&table).Verdict); got != want {
			t.Fatalf("%s is judged %d, by brute force %d: %+v, %+v", code, got, want, q, table)
		}
	}
}

// TestDampingCounts: with a limit on damping the counts add up, and each damper that
// it rules out is counted once, under the first reason that holds.
func TestDampingCounts(t *testing.T) {
	r := everyday()
	r.Corner = &ride.Corner{SprungKg: 350, UnsprungKg: 45, WheelRate: 22, TyreRate: 200, DamperRatio: 0.8}
	r.Limits.Damping = r.Limits.Damping.With(damping.InRange)
	r.Explain = true
	byDamping := 0
	for _, s := range allCatalogues {
		a := find(t, r, s)
		ruledOut := 0
		for _, c := range a.RuledOut {
			ruledOut += c.Count
			if c.Reason == "damping" {
				byDamping += c.Count
			}
		}
		if a.Counts.Fits+a.Counts.NearMisses+ruledOut != len(s.Dampers()) {
			t.Errorf("%s: %+v of %d", s.Name(), a.Counts, len(s.Dampers()))
		}
	}
	if byDamping == 0 {
		t.Error("damping rules nothing out")
	}
}

// TestDampingBesideAStock: a stock of something else changes nothing of what is judged.
func TestDampingBesideAStock(t *testing.T) {
	r := everyday()
	r.Corner = &ride.Corner{SprungKg: 350, UnsprungKg: 45, WheelRate: 22, TyreRate: 200, DamperRatio: 0.8}
	stock := catalog.NewStock(1, []catalog.StockLine{{Code: "something-else", Level: catalog.Level{Location: "main", Quantity: 1}}})
	rated := 0
	for _, s := range allCatalogues {
		alone, beside := find(t, r, s), find(t, r, s.WithStock(stock, true))
		if len(alone.Fits) != len(beside.Fits) {
			t.Fatalf("%s: %d fits alone, %d beside a stock", s.Name(), len(alone.Fits), len(beside.Fits))
		}
		for i := range alone.Fits {
			a, b := &alone.Fits[i], &beside.Fits[i]
			if a.Damper.Code != b.Damper.Code || !reflect.DeepEqual(a.Damping, b.Damping) {
				t.Errorf("%s: %s with %+v alone, %s with %+v beside a stock", s.Name(), a.Damper.Code, a.Damping, b.Damper.Code, b.Damping)
			}
			if a.Damping != nil {
				rated++
			}
		}
	}
	if rated == 0 {
		t.Error("no damper was rated, which proves nothing")
	}
}

// TestCornerIsGivenOnce: the corner's ratio serves as motion ratio, its corner as that
// of the road, and what contradicts is refused.
func TestCornerIsGivenOnce(t *testing.T) {
	corner := ride.Corner{SprungKg: 300, UnsprungKg: 40, WheelRate: 20, TyreRate: 180, Damping: 1500}
	road := &ride.Road{Class: 'C', SpeedKmh: 80, Hours: 1, Corner: corner}
	old := everyday()
	old.Readings.MotionRatio = 0.9
	old.Travel = fit.Travel{Basis: fit.ByRoad, Road: road}
	s := allCatalogues[0]
	want := find(t, old, s).Required

	given := everyday()
	given.Corner = &ride.Corner{SprungKg: 300, UnsprungKg: 40, WheelRate: 20, TyreRate: 180, Damping: 1500, DamperRatio: 0.9}
	given.Travel = fit.Travel{Basis: fit.ByRoad, Road: &ride.Road{Class: 'C', SpeedKmh: 80, Hours: 1}}
	if got := find(t, given, s).Required; got.Compression != want.Compression || got.Extension != want.Extension {
		t.Errorf("given once %+v, twice %+v", got, want)
	}
	for name, c := range map[string]struct {
		change func(r *fit.Request)
		want   string
	}{
		"twice":                  {func(r *fit.Request) { r.Travel.Road.Corner = corner }, "/travel/corner contradiction"},
		"two ratios":             {func(r *fit.Request) { r.Readings.MotionRatio = 0.8 }, "/corner/damper_ratio contradiction"},
		"no spring":              {func(r *fit.Request) { r.Corner.WheelRate = 0 }, "/corner/wheel_rate_n_mm missing"},
		"targets alone":          {func(r *fit.Request) { r.Corner, r.Targets = nil, &damping.Targets{}; r.Travel = fit.Travel{} }, "/corner missing"},
		"a limit alone":          {func(r *fit.Request) { r.Corner, r.Limits.Damping = nil, 1<<damping.Soft; r.Travel = fit.Travel{} }, "/corner missing"},
		"no corner for the road": {func(r *fit.Request) { r.Corner, r.Readings.MotionRatio = nil, 0.9 }, "/travel/corner missing"},
		"no ratio at all":        {func(r *fit.Request) { r.Corner.DamperRatio = 0; r.Travel = fit.Travel{} }, "/corner/damper_ratio missing"},
	} {
		r := *given
		r.Corner = new(ride.Corner)
		*r.Corner = *given.Corner
		r.Travel.Road = &ride.Road{Class: 'C', SpeedKmh: 80, Hours: 1}
		c.change(&r)
		_, faults := fit.Find(&r, s)
		if len(faults) == 0 || faults[0].Pointer+" "+faults[0].Code.Public() != c.want {
			t.Errorf("%s: %v, want %s first", name, faults, c.want)
		}
		if checked := fit.Check(&r); len(checked) != len(faults) {
			t.Errorf("%s: checked alone %v, found %v", name, checked, faults)
		}
	}
}

// TestGasLiftsWithTheFigure: 302 N is what stands for a gas damper whose list says
// nothing; the rise is F MR over the wheel rate (handbook of statics: a spring's
// force), by hand 302 · 0.8 / 20 = 12.08 mm.
func TestGasLiftsWithTheFigure(t *testing.T) {
	r := metric(t, 400, 50)
	r.Corner = &ride.Corner{SprungKg: 300, UnsprungKg: 40, WheelRate: 20, TyreRate: 180, DamperRatio: 0.8}
	d := eyes("one", 300*mm, 500*mm)
	d.Gas = true
	rise := func(force float64) unit.Length {
		d.Forces.SetGasForce(force)
		n := told(t, find(t, r, stocked(d)).Cautions, "gas_lifts")
		return n.Values[0].Length
	}
	for force, want := range map[float64]unit.Length{0: 12_080_000, 500: 20 * mm} {
		if got := rise(force); (got - want).Abs() > unit.Micrometre {
			t.Errorf("a gas force of %g N raises it by %v mm, want %v", force, got.Mm(), want.Mm())
		}
	}
}

// TestGasNeverSettlesInFits: as for rates, with a gas force F of each of four dampers the
// wheel rate is 6000 - 4·4·F N/m at ride height, which is nothing from 375 N on. With 50 N
// the corner settles: by hand, the force at the wheel is 6000 z + 4·50·(0.9 - 4 z), which is
// nothing at z = -180/5200 m, a rise of 34.615 mm. A gas damper whose list gives no force
// has 302 N: 1087.2 N at the ratio 0.9, and so z = -1087.2/1168 m, where the ratio is
// 0.9 + 4·0.9308 = 4.62. So it settles, with 930.8 mm. No rise of 0 is told for the first.
func TestGasNeverSettlesInFits(t *testing.T) {
	r := metric(t, 400, 50)
	r.Corner = &ride.Corner{SprungKg: 60, UnsprungKg: 20, WheelRate: 6, TyreRate: 100, Dampers: 4, DamperRatio: 0.9, DamperRatioChange: -4}
	gas := func(code string, force float64, table bool) catalog.Damper {
		d := eyes(code, 300*mm, 500*mm)
		d.Gas = true
		if table {
			d.Forces = catalog.NewForces(&damping.Table{Curves: []damping.Curve{{Points: []damping.Point{{Velocity: 1, Compression: 500, Rebound: 1000}}}}})
		}
		d.Forces.SetGasForce(force)
		return d
	}
	codes := func(a *fit.Answer) (lifts []note.Value, never string) {
		for _, n := range a.Cautions {
			switch n.Code {
			case "gas_lifts":
				lifts = n.Values
			case "gas_never_settles":
				never = n.Text("en", unit.Millimetres)
			}
		}
		return lifts, never
	}
	for name, c := range map[string]struct {
		dampers []catalog.Damper
		rise    float64 // 0 where nothing is told of it
		never   string
	}{
		"too much":          {[]catalog.Damper{gas("a", 400, true)}, 0, "With the gas force of a the corner"},
		"two too much":      {[]catalog.Damper{gas("a", 400, true), gas("b", 500, true)}, 0, "nor that of 1 more"},
		"little":            {[]catalog.Damper{gas("a", 50, true)}, 34.615, ""},
		"both":              {[]catalog.Damper{gas("a", 400, true), gas("b", 50, true)}, 34.615, "With the gas force of a the corner"},
		"without a table":   {[]catalog.Damper{gas("a", 400, false)}, 0, "With the gas force of a the corner"},
		"without its force": {[]catalog.Damper{gas("a", 0, false)}, 930.822, ""},
	} {
		a := find(t, r, stocked(c.dampers...))
		lifts, never := codes(a)
		if (c.never == "") != (never == "") || !strings.Contains(never, c.never) {
			t.Errorf("%s: %q, want %q", name, never, c.never)
		}
		switch {
		case c.rise == 0 && lifts != nil:
			t.Errorf("%s: a rise of %v mm is told", name, lifts[0].Length.Mm())
		case c.rise != 0 && (lifts == nil || math.Abs(lifts[0].Length.Mm()-c.rise) > 0.001):
			t.Errorf("%s: %v, want %g mm", name, lifts, c.rise)
		}
		for i := range a.Fits {
			if f := &a.Fits[i]; f.Damping != nil && strings.Contains(never, f.Damper.Code+" the corner") {
				t.Errorf("%s: %s is rated", name, f.Damper.Code)
			}
		}
	}
}

// TestGasRiseOfAConstantRatio: F MR/k_w of all dampers, by hand 4·2000·0.9/6 = 1200 mm.
// It was told as 0, since a corner isn't looked for farther than 1 m from ride height.
func TestGasRiseOfAConstantRatio(t *testing.T) {
	r := metric(t, 400, 50)
	r.Corner = &ride.Corner{SprungKg: 60, UnsprungKg: 20, WheelRate: 6, TyreRate: 100, Dampers: 4, DamperRatio: 0.9}
	d := eyes("one", 300*mm, 500*mm)
	d.Gas = true
	d.Forces.SetGasForce(2000)
	if n := told(t, find(t, r, stocked(d)).Cautions, "gas_lifts"); (n.Values[0].Length - 1200*mm).Abs() > unit.Micrometre {
		t.Errorf("%v mm, want 1200", n.Values[0].Length.Mm())
	}
}
