package fit_test

import (
	"slices"
	"strings"
	"testing"

	"midstroke/internal/catalog"
	"midstroke/internal/fit"
	"midstroke/internal/measure"
	"midstroke/internal/mount"
	"midstroke/internal/unit"
)

// inch reads a length in inches as people write it.
func inch(t testing.TB, text string) unit.Length {
	t.Helper()
	l, err := unit.Parse(text, unit.Inches)
	if err != nil {
		t.Fatal(err)
	}
	return l
}

// eyes is a damper with an eye at both ends that goes straight on an M12 bolt.
func eyes(code string, compressed, extended unit.Length) catalog.Damper {
	eye := mount.End{Style: mount.Eye, Bore: 12200 * unit.Micrometre, Width: 32 * unit.Millimetre}
	return catalog.Damper{
		Code: code, Construction: catalog.TwinTube, Compressed: compressed, Extended: extended,
		LengthTolerance: unit.Inch / 16, BodyDiameter: 50 * unit.Millimetre,
		Upper: eye, Lower: eye, InStock: true, Price: mount.NoPrice,
	}
}

// gas is a damper with gas over its oil.
func gas(d catalog.Damper) catalog.Damper {
	d.Gas = true
	return d
}

func stocked(dampers ...catalog.Damper) *catalog.Snapshot {
	return catalog.NewSnapshot("bench", 1, catalog.Contents{Currency: "USD", Limits: mount.UsualLimits(), Dampers: dampers})
}

// asked is a request for a place with an eye at both ends and M12 bolts.
func asked(t testing.TB, reading string) *fit.Request {
	t.Helper()
	bolt, err := mount.ParseBolt("M12", unit.Inches)
	if err != nil {
		t.Fatal(err)
	}
	return &fit.Request{
		Readings: measure.Readings{
			Readings:  []measure.Reading{{Length: inch(t, reading)}},
			Tolerance: unit.Inch / 16,
			Upper:     measure.EndReading{Style: mount.Eye}, Lower: measure.EndReading{Style: mount.Eye},
		},
		Upper: mount.Bracket{Bolt: bolt}, Lower: mount.Bracket{Bolt: bolt},
		Suspension: fit.SolidAxle, Top: fit.DefaultTop, Dampers: fit.DefaultDampers,
	}
}

// A worked case of common practice, no source: 14 7/8 in compressed, 23 5/8 in
// extended, 18 3/4 in at ride height.
func TestWorkedCase(t *testing.T) {
	s := stocked(eyes("one", inch(t, "14 7/8"), inch(t, "23 5/8")))
	a := find(t, asked(t, "18 3/4"), s)
	if a.Outcome != fit.Fits || len(a.Fits) != 1 {
		t.Fatalf("outcome %s with %d fits, want one fit", a.Outcome, len(a.Fits))
	}
	f := a.Fits[0]
	if f.Travel.Compression != inch(t, "3 7/8") || f.Travel.Extension != inch(t, "4 7/8") {
		t.Errorf("travel %s and %s, want 3 7/8 in and 4 7/8 in", f.Travel.Compression.Text(unit.Inches), f.Travel.Extension.Text(unit.Inches))
	}
	if f.Grade != fit.Clear {
		t.Errorf("grade %s, want clear", f.Grade)
	}
}

// The margins of the contract's own example: 12 1/4 to 20 in, ±1/16 in, at
// 16 7/32 in known to −3/32 and +3/32 in, solid axle.
func TestMarginsAndWorstCase(t *testing.T) {
	d := eyes("one", inch(t, "12 1/4"), inch(t, "20"))
	r := asked(t, "16 7/32")
	r.Readings.Tolerance = inch(t, "3/32")
	f := find(t, r, stocked(d)).Fits[0]
	for _, c := range []struct {
		name      string
		got, want unit.Length
	}{
		{"travel in compression", f.Travel.Compression, inch(t, "3.96875")},
		{"travel in extension", f.Travel.Extension, inch(t, "3.78125")},
		{"margin in compression", f.Margin.Compression, inch(t, "1.96875")},
		{"margin in extension", f.Margin.Extension, inch(t, "1.78125")},
		{"worst margin in compression", f.Worst.Compression, inch(t, "1.8125")},
		{"worst margin in extension", f.Worst.Extension, inch(t, "1.625")},
	} {
		if c.got != c.want {
			t.Errorf("%s is %s, want %s", c.name, c.got.Text(unit.Inches), c.want.Text(unit.Inches))
		}
	}
	if got := unit.Length(f.RidePosition * 1e6); got != 512096 { // 3.96875/7.75
		t.Errorf("ride position %.6f, want 0.512097", f.RidePosition)
	}
	if f.Likelihood < 0.999999 {
		t.Errorf("likelihood %.6f, want 1", f.Likelihood)
	}
}

// Definitions: 12 3/8 to 19 7/8 in at 16 1/2 in has 4 1/8 in of compression,
// 3 3/8 in of extension and sits at 0.55 of its stroke.
func TestTravelIsByDefinition(t *testing.T) {
	f := find(t, asked(t, "16 1/2"), stocked(eyes("one", inch(t, "12 3/8"), inch(t, "19 7/8")))).Fits[0]
	if f.Travel.Compression != inch(t, "4 1/8") || f.Travel.Extension != inch(t, "3 3/8") {
		t.Errorf("travel %v, want 4 1/8 and 3 3/8 in", f.Travel)
	}
	if f.RidePosition < 0.55-1e-12 || f.RidePosition > 0.55+1e-12 {
		t.Errorf("ride position %v, want 0.55", f.RidePosition)
	}
}

// By hand, 16 in at ride height by rule: a marginal fit has 2 in each way at the
// working length, a tight one with 1/16 in of reading and 1/16 in of length
// against it, a clear one 2 1/2 in with the same.
func TestExactlyAtTheLimitIsInside(t *testing.T) {
	for _, c := range []struct {
		compressed, extended string
		want, beyond         string // "" is no fit
	}{
		{"14", "18", "marginal", ""},
		{"13 7/8", "18 1/8", "tight", "marginal"},
		{"13 3/8", "18 5/8", "clear", "tight"},
	} {
		at, extended := inch(t, c.compressed), inch(t, c.extended)
		for _, d := range []struct {
			what                 string
			compressed, extended unit.Length
			want                 string
		}{
			{"exactly", at, extended, c.want},
			{"a nanometre too long compressed", at + unit.Nanometre, extended, c.beyond},
			{"a nanometre too short extended", at, extended - unit.Nanometre, c.beyond},
		} {
			got := ""
			if a := find(t, asked(t, "16"), stocked(eyes("one", d.compressed, d.extended))); len(a.Fits) > 0 {
				got = a.Fits[0].Grade.String()
			}
			if got != d.want {
				t.Errorf("%s to %s, %s: graded %q, want %q", c.compressed, c.extended, d.what, got, d.want)
			}
		}
	}
}

// metric is a request in millimetres with 70 mm needed each way.
func metric(t testing.TB, ride, need int) *fit.Request {
	t.Helper()
	r := asked(t, "16")
	r.Readings.Readings = []measure.Reading{{Length: unit.Length(ride) * unit.Millimetre}}
	n := unit.Length(need) * unit.Millimetre
	r.Travel = fit.Travel{Basis: fit.Stated, Compression: n, Extension: n}
	return r
}

// By hand: compressed 340, extended 520, ride 395, 70 needed each way. 55 mm
// of compression is 15 short, so the mounts go at least 15 mm apart or, at 0.9 mm
// of damper for each of the wheel, the body up by 15/0.9 = 16.6667 mm. With 1/16 in
// of reading and 1/16 in of length against it, it takes 3.175 mm more, which of the
// 125 - 70 mm of extension leaves enough as well.
func TestRemediesOfANearMiss(t *testing.T) {
	s := stocked(eyes("one", 340*unit.Millimetre, 520*unit.Millimetre))
	r := metric(t, 395, 70)
	r.Readings.MotionRatio = 0.9
	a := find(t, r, s)
	if a.Outcome != fit.NoFit || len(a.NearMisses) != 1 {
		t.Fatalf("outcome %s with %d near misses, want one", a.Outcome, len(a.NearMisses))
	}
	m := a.NearMisses[0]
	if want := (fit.Both{Compression: 15 * unit.Millimetre}); m.ShortBy != want {
		t.Errorf("short by %v, want %v", m.ShortBy, want)
	}
	kinds := []fit.RemedyKind{}
	for _, remedy := range m.Remedies {
		kinds = append(kinds, remedy.Kind)
		ratio := 1.0
		if remedy.Kind == fit.RaiseBody {
			ratio = 0.9
		}
		// Each is rounded up to what is exact in six decimals of an inch too.
		for _, c := range []struct {
			what string
			got  unit.Length
			want float64
		}{{"least", remedy.Least, 15}, {"by", remedy.By, 15 + 3.175}} {
			if off := c.got - unit.FromMm(c.want/ratio); off < -1 || off > unit.Grain {
				t.Errorf("%s: %s is %d nm, want %v mm", remedy.Kind, c.what, c.got, c.want/ratio)
			}
		}
		if remedy.Grade != fit.Clear {
			t.Errorf("%s makes it %s, want clear", remedy.Kind, remedy.Grade)
		}
		within(t, "margin in compression", remedy.Margin.Compression, 3.175, 2e-4)
		within(t, "margin in extension", remedy.Margin.Extension, 55-18.175, 2e-4)
	}
	if want := []fit.RemedyKind{fit.MoveMountsApart, fit.RaiseBody}; !slices.Equal(kinds, want) {
		t.Errorf("remedies %v, want %v", kinds, want)
	}
	const words = "move the mounts 18.2 mm further apart along the damper: the fit is then clear, with 3.1 mm to spare"
	if text := m.Remedies[0].Text.Text("en", unit.Millimetres); !strings.HasPrefix(text, words) || !strings.Contains(text, "; 15 mm is the least") {
		t.Errorf("told %q", text)
	}
}

// By hand: 130 mm of stroke for 64 needed each way leave 2 mm, and 59 of them in
// compression lack 5. With 3.175 mm against it each way no move makes it more than
// marginal, so the least is told. With 0.2 mm against it 5.2 makes it clear, since
// no more is wanted than is needed.
func TestARemedyThatOnlyJustFits(t *testing.T) {
	d := eyes("one", 336*mm, 466*mm) // 59 and 71
	r := metric(t, 395, 64)
	for _, remedy := range find(t, r, stocked(d)).NearMisses[0].Remedies {
		if remedy.Kind != fit.MoveMountsApart {
			continue
		}
		if remedy.Grade != fit.Marginal || remedy.By != remedy.Least || (remedy.By-5*mm).Abs() > unit.Grain {
			t.Errorf("%s by %v mm, at least %v, want 5 mm and a marginal fit", remedy.Grade, remedy.By.Mm(), remedy.Least.Mm())
		}
	}
	d.LengthTolerance, r.Readings.Tolerance = mm/10, mm/10
	for _, remedy := range find(t, r, stocked(d)).NearMisses[0].Remedies {
		if remedy.Kind == fit.MoveMountsApart && (remedy.Grade != fit.Clear || (remedy.By-5*mm-mm/5).Abs() > unit.Grain) {
			t.Errorf("%s by %v mm, want 5.2 mm and a clear fit", remedy.Grade, remedy.By.Mm())
		}
	}
}

// Raising the body moves it away from its bump stops too: where the travel was
// computed to the stops, it cures nothing and is not offered.
func TestNoRemedyByHeightToStopsThatStay(t *testing.T) {
	s := stocked(eyes("one", 340*unit.Millimetre, 520*unit.Millimetre))
	r := metric(t, 395, 70)
	r.Readings.MotionRatio = 1
	r.Travel = fit.Travel{Basis: fit.ByWheel, Bump: 70 * unit.Millimetre, Droop: 70 * unit.Millimetre, Reserve: fit.DefaultReserve}
	a := find(t, r, s)
	if len(a.NearMisses) != 1 {
		t.Fatalf("%d near misses, want one", len(a.NearMisses))
	}
	for _, remedy := range a.NearMisses[0].Remedies {
		if remedy.Kind == fit.RaiseBody || remedy.Kind == fit.LowerBody {
			t.Errorf("offered %s", remedy.Kind)
		}
	}
}

func TestStrokeTooShortIsCuredByLessTravelAlone(t *testing.T) {
	// 130 mm of stroke for 140 mm of need: 10 mm short whatever is moved.
	s := stocked(eyes("one", 330*unit.Millimetre, 460*unit.Millimetre))
	a := find(t, metric(t, 395, 70), s)
	if len(a.NearMisses) != 1 || len(a.NearMisses[0].Remedies) != 1 {
		t.Fatalf("near misses %+v, want one with one remedy", a.NearMisses)
	}
	// By hand: 65 mm each way for 70, and 1/16 in of reading and 1/16 in of length
	// against it each way.
	r := a.NearMisses[0].Remedies[0]
	if r.Kind != fit.LessTravel || (r.Least-10*mm).Abs() > 2*unit.Grain || (r.By-16350*unit.Micrometre).Abs() > 2*unit.Grain || r.Grade != fit.Clear {
		t.Errorf("remedy %s by %d nm, at least %d, %s; want less_travel by 16.35 mm, at least 10, clear", r.Kind, r.By, r.Least, r.Grade)
	}
}

func TestMeasuredTravelGoesThroughTheSameCorrections(t *testing.T) {
	// Taped to a stud's frame face with a 10 mm bushing and a 2 mm washer: the
	// three lengths lose 12 mm alike, so travel is their plain differences.
	eye := mount.End{Style: mount.Eye, Bore: 12200 * unit.Micrometre, Width: 32 * unit.Millimetre}
	d := eyes("one", 300*unit.Millimetre, 500*unit.Millimetre)
	d.Upper, d.Lower = mount.End{Style: mount.Stud}, eye
	r := metric(t, 412, 70)
	r.Upper = mount.Bracket{}
	r.Readings.Upper = measure.EndReading{
		Style: mount.Stud, Plane: mount.FrameFace,
		BushingThickness: 10 * unit.Millimetre, WasherThickness: 2 * unit.Millimetre,
	}
	r.Travel = fit.Travel{Basis: fit.Measured, AtBump: 352 * unit.Millimetre, AtDroop: 462 * unit.Millimetre, Reserve: fit.DefaultReserve}
	a := find(t, r, stocked(d))
	if a.Working.Value != 400*unit.Millimetre {
		t.Errorf("working length %d nm, want 400 mm", a.Working.Value)
	}
	want := exactly(60*mm, 70*mm)
	if a.Required.Compression != want {
		t.Errorf("compression %v, want %v", a.Required.Compression, want)
	}
	want = exactly(50*mm, 60*mm)
	if a.Required.Extension != want {
		t.Errorf("extension %v, want %v", a.Required.Extension, want)
	}
}

func TestFaultsOfTheWholeRequest(t *testing.T) {
	s := stocked(eyes("one", 300*unit.Millimetre, 500*unit.Millimetre))
	for _, c := range []struct {
		name   string
		change func(*fit.Request)
		want   []string // pointers
	}{
		{"the rule without a suspension", func(r *fit.Request) { r.Travel, r.Suspension = fit.Travel{}, 0 }, []string{"/suspension"}},
		{"travel at the wheel without a motion ratio", func(r *fit.Request) {
			r.Travel = fit.Travel{Basis: fit.ByWheel, Bump: unit.Inch, Droop: unit.Inch}
		}, []string{"/motion_ratio"}},
		{"bump longer than ride and droop shorter", func(r *fit.Request) {
			r.Travel = fit.Travel{Basis: fit.Measured, AtBump: 400 * unit.Millimetre, AtDroop: 390 * unit.Millimetre}
		}, []string{"/travel/at_bump", "/travel/at_droop"}},
		{"a code that isn't there", func(r *fit.Request) { r.Codes = []string{"one", "two"} }, []string{"/codes/1"}},
		{"several at once", func(r *fit.Request) {
			r.Codes = []string{"two"}
			r.Travel, r.Suspension = fit.Travel{}, 0
			r.Readings.Readings = nil
		}, []string{"/readings", "/suspension", "/codes/0"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := metric(t, 395, 70)
			c.change(r)
			a, faults := fit.Find(r, s)
			if a != nil {
				t.Error("an answer beside the faults")
			}
			var got []string
			for _, f := range faults {
				got = append(got, f.Pointer)
			}
			if !slices.Equal(got, c.want) {
				t.Errorf("faults at %v, want %v", got, c.want)
			}
		})
	}
}

func TestOutcomesWithoutFits(t *testing.T) {
	s := stocked(eyes("one", 300*unit.Millimetre, 500*unit.Millimetre))
	for _, c := range []struct {
		name   string
		change func(*fit.Request)
		want   fit.Outcome
	}{
		{"a fork", func(r *fit.Request) { r.Readings.Lower.Style = mount.Fork }, fit.OutsideMethod},
		{"a spindle strut", func(r *fit.Request) { r.Readings.Lower.Style = mount.SpindleStrut }, fit.OutsideMethod},
		{"a damper that carries the load", func(r *fit.Request) { r.Readings.OldDamper.CarriesLoad = true }, fit.OutsideMethod},
		{"a damper at its stop", func(r *fit.Request) { r.Readings.OldDamper.AtStop = true }, fit.MeasureAgain},
		{"not at ride and no gaps", func(r *fit.Request) { r.Readings.Condition.NotAtRide = true }, fit.MeasureAgain},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := metric(t, 395, 70)
			c.change(r)
			a := find(t, r, s)
			if a.Outcome != c.want || len(a.Reasons) == 0 || len(a.Fits) != 0 {
				t.Errorf("outcome %s with %d reasons and %d fits, want %s, a reason and none", a.Outcome, len(a.Reasons), len(a.Fits), c.want)
			}
			if a.Required == nil {
				t.Error("the required travel is missing though it could be computed")
			}
		})
	}
}

func TestLeanRulesOutATwinTubeWithoutGas(t *testing.T) {
	plain := eyes("plain", 300*unit.Millimetre, 500*unit.Millimetre)
	gas := plain
	gas.Code, gas.Gas = "gas", true
	single := plain
	single.Code, single.Construction = "single", catalog.Monotube
	r := metric(t, 395, 70)
	for _, c := range []struct {
		lean float64
		want int
	}{{45, 3}, {45.1, 2}} { // common practice: within 45° of upright
		r.LeanDeg = c.lean
		if got := len(find(t, r, stocked(plain, gas, single)).Fits); got != c.want {
			t.Errorf("at %g° %d fits, want %d", c.lean, got, c.want)
		}
	}
}

func TestAboutOneDamperByItsCode(t *testing.T) {
	s := stocked(eyes("fits", 300*unit.Millimetre, 500*unit.Millimetre), eyes("long", 390*unit.Millimetre, 640*unit.Millimetre))
	r := metric(t, 395, 70)
	r.Codes = []string{"long", "fits"}
	r.Limits.MaxBodyDiameter = 10 * unit.Millimetre
	a := find(t, r, s)
	if len(a.Judged) != 2 || a.Judged[0].Verdict != fit.VerdictRuledOut || a.Judged[0].Reasons[0].Code != "max_body_diameter" {
		t.Errorf("judged %+v, want both ruled out by their body", a.Judged)
	}
	r.Limits.MaxBodyDiameter = 0
	a = find(t, r, s)
	if a.Judged[0].Code != "long" || a.Judged[0].Verdict != fit.VerdictRuledOut || a.Judged[0].Reasons[0].Code != "too_long_compressed" {
		t.Errorf("judged %+v, want too_long_compressed", a.Judged[0])
	}
	if a.Judged[1].Verdict != fit.VerdictFits {
		t.Errorf("judged %+v, want a fit", a.Judged[1])
	}
}
