package fit_test

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"slices"
	"testing"

	"gonum.org/v1/gonum/integrate/quad"

	"midstroke/internal/fit"
	"midstroke/internal/measure"
	"midstroke/internal/ride"
	"midstroke/internal/unit"
)

// highway is an invented corner on a road of a class.
func highway(class ride.Class) *ride.Road {
	return &ride.Road{
		Class: class, SpeedKmh: 80, Hours: 1,
		Corner: ride.Corner{SprungKg: 300, UnsprungKg: 40, WheelRate: 20, TyreRate: 180, Damping: 1500},
	}
}

// onARoad is the everyday request for independent suspension, on a road.
func onARoad(t testing.TB, class ride.Class) *fit.Request {
	t.Helper()
	r := asked(t, "16")
	r.Suspension = fit.Independent
	r.Readings.MotionRatio = 0.9
	r.Travel = fit.Travel{Basis: fit.ByRoad, Road: highway(class)}
	return r
}

// spectral is the root mean square in m of wheel travel and of its rate, by
// numerical integration of the spectrum. The transfer functions are solved from
// the equations of motion of the quarter car
//
//	m_s z_s'' = -k (z_s - z_u) - c (z_s' - z_u')
//	m_u z_u'' = -m_s z_s'' - k_t (z_u - z_r)
//
// for a road whose velocity has the one-sided density (2π·0.1)² Gd V (ISO 8608).
func spectral(r *ride.Road, roughness float64) (travel, rate float64) {
	c := r.Corner
	density := math.Pow(2*math.Pi*0.1, 2) * roughness * r.SpeedKmh / 3.6
	both := func(power float64) float64 {
		f := func(hz float64) float64 {
			s := complex(0, 2*math.Pi*hz)
			kc := complex(c.Damping, 0)*s + complex(c.WheelRate*1000, 0)
			a, e := complex(c.SprungKg, 0)*s*s+kc, complex(c.UnsprungKg, 0)*s*s+kc+complex(c.TyreRate*1000, 0)
			// z_s - z_u = (k + cs - a) k_t/s over the determinant, for z_r = 1/s.
			d := (kc - a) * complex(c.TyreRate*1000, 0) / s / (a*e - kc*kc) * cmplx.Pow(s, complex(power, 0))
			return density * real(d*cmplx.Conj(d))
		}
		sum := 0.0
		for low := 1e-4; low < 1e5; low *= 1.04 {
			sum += quad.Fixed(f, low, 1.04*low, 10, quad.Legendre{}, 0)
		}
		return math.Sqrt(sum)
	}
	return both(0), both(1)
}

// byIntegration is the wheel travel in mm that is exceeded once a minute each way,
// Rice's formula solved for one, and the mean of the largest of the hours: the
// integral of the chance that a Poisson process of crossings goes beyond u.
func byIntegration(r *ride.Road, roughness float64) (once, largest float64) {
	travel, rate := spectral(r, roughness)
	perSecond := rate / (2 * math.Pi * travel)
	n := perSecond * 3600 * r.Hours
	mean := 0.0
	for u := 0.0; u < 16; u += 0.25 {
		mean += quad.Fixed(func(u float64) float64 { return 1 - math.Exp(-n*math.Exp(-u*u/2)) }, u, u+0.25, 20, quad.Legendre{}, 0)
	}
	return 1000 * travel * math.Sqrt(2*math.Log(60*perSecond)), 1000 * travel * mean
}

// Geometric means of the classes in m³ (ISO 8608:2016, by way of secondary
// sources).
var roughnesses = map[ride.Class]float64{'A': 16e-6, 'B': 64e-6, 'C': 256e-6, 'D': 1024e-6, 'E': 4096e-6}

// Least is what the road exceeds once a minute and wanted the largest expected in
// the hour, at the damper, or the rule's 1 1/2 and 2 in (our choice) where these
// are more. With a tolerance of the ratio the largest ratio asks most.
func TestTravelByARoad(t *testing.T) {
	for class, roughness := range roughnesses {
		r := onARoad(t, class)
		once, largest := byIntegration(r.Travel.Road, roughness)
		for _, tolerance := range []float64{0, 0.1} {
			r.Readings.MotionRatioTolerance = tolerance
			n := find(t, r, stocked()).Required
			if n.Basis != fit.ByRoad || n.Compression != n.Extension {
				t.Errorf("class %v asks for %+v and %+v by %s", class, n.Compression, n.Extension, n.Basis)
			}
			c, worst := n.Compression, 0.9+tolerance
			within(t, "least", c.Least, max(38.1, 0.9*once), 1e-3)
			within(t, "wanted", c.Wanted, max(50.8, 0.9*largest), 1e-3)
			within(t, "least at the worst ratio", c.LeastWorst, max(38.1, worst*once), 1e-3)
			within(t, "wanted at the worst ratio", c.WantedWorst, max(50.8, worst*largest), 1e-3)
		}
	}
}

// On class D a damper with 42 mm each way bottoms several times a minute: it is no
// fit, and one that has just what the road exceeds once a minute is marginal. (It
// used to be told as tight, with a likelihood of 0.9999.)
func TestARoadCounts(t *testing.T) {
	r := onARoad(t, 'D')
	r.Readings.Readings = []measure.Reading{{Length: 430 * mm}}
	once, largest := byIntegration(r.Travel.Road, roughnesses['D'])
	if math.Abs(0.9*largest-90.9) > 0.05 {
		t.Fatalf("%v mm is the largest at the damper, want the 90.9 that was reported", 0.9*largest)
	}
	if a := find(t, r, stocked(eyes("42", 388*mm, 472*mm))); a.Outcome != fit.NoFit {
		t.Errorf("outcome %s with 42 mm each way of %v", a.Outcome, 0.9*once)
	}
	just := unit.FromMm(0.9*once) + 2*unit.Micrometre
	if a := find(t, r, stocked(eyes("just", 430*mm-just, 430*mm+just))); a.Outcome != fit.Fits || a.Fits[0].Grade != fit.Marginal {
		t.Errorf("outcome %s, want a marginal fit", a.Outcome)
	}
}

// A drive over class D in the time domain, as an independent check: the wheel
// passes what least allows about once a minute each way, and the largest of three
// minutes is what is wanted for as long. Seeded white noise, Heun's method, steps
// of 0.5 ms.
func TestADriveOverTheRoad(t *testing.T) {
	if testing.Short() {
		t.Skip("simulates an hour of driving")
	}
	const dt, drives, minutes = 5e-4, 20, 3
	r := onARoad(t, 'D')
	r.Travel.Road.Hours = minutes / 60.0
	n := find(t, r, stocked()).Required.Compression
	least, wanted := n.Least.Mm()/0.9/1000, n.Wanted.Mm()/0.9/1000 // at the wheel, m

	c := r.Travel.Road.Corner
	ms, mu, k, kt, damping := c.SprungKg, c.UnsprungKg, c.WheelRate*1000, c.TyreRate*1000, c.Damping
	white := math.Sqrt(math.Pow(2*math.Pi*0.1, 2) * roughnesses['D'] * 80 / 3.6 / 2 / dt)
	rnd := rand.New(rand.NewPCG(8608, 80))
	// Wheel travel d, tyre deflection e, and the speeds of body and wheel.
	rate := func(d, e, vs, vu, road float64) (float64, float64, float64, float64) {
		force := k*d + damping*(vs-vu)
		return vs - vu, vu - road, -force / ms, (force - kt*e) / mu
	}
	var d, e, vs, vu, sum float64
	passes := 0
	for range drives {
		top := 0.0
		for range int(minutes * 60 / dt) {
			road := rnd.NormFloat64() * white
			a1, b1, c1, d1 := rate(d, e, vs, vu, road)
			a2, b2, c2, d2 := rate(d+dt*a1, e+dt*b1, vs+dt*c1, vu+dt*d1, road)
			before := d
			d, e, vs, vu = d+dt*(a1+a2)/2, e+dt*(b1+b2)/2, vs+dt*(c1+c2)/2, vu+dt*(d1+d2)/2
			if d > least && before <= least || d < -least && before >= -least {
				passes++
			}
			top = max(top, d)
		}
		sum += top
	}
	// 120 expected; three standard errors, somewhat more for passes in bunches.
	if passes < 80 || passes > 160 {
		t.Errorf("what is needed at least is passed %d times in an hour, want about 120", passes)
	}
	// The largest of a drive scatters by about 0.35 of the root mean square, 22.6 mm.
	if mean := sum / drives; math.Abs(mean-wanted) > 0.25*0.0226 {
		t.Errorf("the largest of three minutes is %.4g m in the mean, wanted %.4g", mean, wanted)
	}
}

func TestFaultsOfARoad(t *testing.T) {
	for _, c := range []struct {
		name   string
		change func(*fit.Request)
		want   []string
	}{
		{"no suspension and no motion ratio", func(r *fit.Request) { r.Suspension, r.Readings.MotionRatio = 0, 0 }, []string{"/suspension", "/motion_ratio"}},
		{"no road", func(r *fit.Request) { r.Travel.Road = nil }, []string{"/travel/class"}},
		{"figures that can't be", func(r *fit.Request) {
			r.Travel.Road.Class, r.Travel.Road.SpeedKmh, r.Travel.Road.Corner.Damping = 'Z', 0, -1
		}, []string{"/travel/class", "/travel/speed_kmh", "/travel/corner/damping_ns_m"}},
		{"more than any wheel can travel", func(r *fit.Request) {
			r.Travel.Road.Class, r.Travel.Road.SpeedKmh, r.Travel.Road.Corner.Damping = 'H', 500, 1
		}, []string{"/travel"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := onARoad(t, 'C')
			c.change(r)
			_, faults := fit.Find(r, stocked())
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

// overTheRatio integrates, by the midpoint rule, the chance that a travel (mm) of standard
// uncertainty u holds a need over the errors of the motion ratio, in standard uncertainties.
func overTheRatio(travel, u float64, need func(m float64) float64) float64 {
	const step = 1e-3
	sum := 0.0
	for m := -8 + step/2; m < 8; m += step {
		density := math.Exp(-m*m/2) / math.Sqrt(2*math.Pi)
		sum += step * density * 0.5 * math.Erfc(-(travel-need(m))/u/math.Sqrt2)
	}
	return sum
}

// The road asks for less than the rule until the motion ratio is larger than it was given.
// Then no smaller ratio makes the need less than the rule's 50.8 mm.
func TestTheLikelihoodKnowsTheRuleUnderTheRoad(t *testing.T) {
	r := metric(t, 416, 50)
	r.Suspension, r.Readings.Tolerance = fit.SolidAxle, mm
	r.Travel = fit.Travel{Basis: fit.ByRoad, Road: highway('D')}
	road, faults := r.Travel.Road.Travel()
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	once := road.OncePerMinute.Mm()
	ratio := 50.5 / once
	r.Readings.MotionRatio, r.Readings.MotionRatioTolerance = ratio, 0.05
	d := eyes("one", 365*mm, 560*mm)
	d.LengthTolerance = mm
	f := find(t, r, stocked(d)).Fits[0]
	want := overTheRatio(51, math.Sqrt(2.0/3), func(m float64) float64 { return max(50.8, once*(ratio+0.05/math.Sqrt(3)*m)) })
	if math.Abs(f.Likelihood-want) > 1e-6 {
		t.Errorf("likelihood %.6f, want %.6f", f.Likelihood, want)
	}
}

// A droop limit of 52 mm leaves 41.6 mm at the damper and the reserve of 10, which is more
// than the rule's 50.8 mm; at a smaller ratio it is less, and less is needed.
func TestTheLikelihoodKnowsTheDroopLimit(t *testing.T) {
	r := metric(t, 416, 50)
	r.Suspension, r.Readings.Tolerance = fit.SolidAxle, mm
	r.Travel = fit.Travel{Basis: fit.ByRule}
	r.Readings.MotionRatio, r.Readings.MotionRatioTolerance = 0.8, 0.1
	r.DroopLimit = &fit.DroopLimit{By: "strap", Travel: 52 * mm}
	d := eyes("one", 300*mm, 467*mm)
	d.LengthTolerance = mm
	f := find(t, r, stocked(d)).Fits[0]
	want := overTheRatio(51, math.Sqrt(2.0/3), func(m float64) float64 { return min(50.8, 52*(0.8+0.1/math.Sqrt(3)*m)+10) })
	if math.Abs(f.Likelihood-want) > 1e-6 {
		t.Errorf("likelihood %.6f, want %.6f", f.Likelihood, want)
	}
}
