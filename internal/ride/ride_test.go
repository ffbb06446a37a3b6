package ride_test

import (
	"fmt"
	"math"
	"math/rand"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"gonum.org/v1/gonum/integrate/quad"
	"pgregory.net/rapid"

	"midstroke/internal/ride"
	_ "midstroke/internal/seeded"
	"midstroke/internal/unit"
)

// car is an invented corner of a common car's size.
var car = ride.Corner{SprungKg: 300, UnsprungKg: 40, WheelRate: 20, TyreRate: 180, Damping: 1500}

// linear is a corner as a quarter car, in SI units.
func linear(c ride.Corner) ride.QuarterCar {
	return ride.QuarterCar{Sprung: c.SprungKg, Unsprung: c.UnsprungKg, Spring: 1000 * c.WheelRate, Tyre: 1000 * c.TyreRate, Damping: c.Damping}
}

func near(tb rapid.TB, what string, got, want, tol float64) {
	tb.Helper()
	if !(math.Abs(got-want) <= tol) {
		tb.Errorf("%s is %.9g, want %.9g ± %g", what, got, want, tol)
	}
}

// TestClasses: ISO 8608:2016, geometric means of the classes in 1e-6 m³, by way
// of secondary sources.
func TestClasses(t *testing.T) {
	for letter, want := range map[string]float64{
		"A": 16, "B": 64, "C": 256, "D": 1024, "E": 4096, "F": 16384, "G": 65536, "H": 262144,
	} {
		c, ok := ride.ParseClass(letter)
		if !ok || c.String() != letter {
			t.Fatalf("%q is read as %v, %v", letter, c, ok)
		}
		near(t, "class "+letter, c.Roughness(), want*1e-6, want*1e-18)
	}
	for _, bad := range []string{"", "a", "I", "@", "AB", "Ä"} {
		if c, ok := ride.ParseClass(bad); ok {
			t.Errorf("%q is read as class %v", bad, c)
		}
	}
	if s := ride.Class('I').String(); s != "" {
		t.Errorf("no class is called %q", s)
	}
}

// TestCheckValues: the invented car on class B at 20 m/s. Each figure was
// computed apart from this program, from the closed form and from the integral
// of the spectrum.
func TestCheckValues(t *testing.T) {
	r := linear(car).Response(ride.Class('B').Roughness(), 20)
	near(t, "rms wheel travel, mm", r.Travel*1000, 5.35117, 1e-4)
	near(t, "crossings, 1/s", r.Crossings, 3.66199, 1e-4)
	near(t, "rms body acceleration, m/s²", r.BodyAcceleration, 0.711519, 1e-5)
	near(t, "damper power, W", r.DamperPower, 22.7396, 1e-3)
	// One-sided velocity density (2π n0)² Gd V; c σ_v² is the damper's power and
	// k_t W/2 too, so S = 4 power/k_t.
	near(t, "velocity density, m²/s²/Hz", 4*r.DamperPower/180e3, 0.000505325, 1e-8)
}

// spectrum integrates the one-sided white velocity density over |transfer|²
// numerically. The transfer functions are solved here from the equations of
// motion with complex arithmetic, which shares nothing with the closed forms:
//
//	m_s z_s'' = -k (z_s - z_u) - c (z_s' - z_u')
//	m_u z_u'' = -m_s z_s'' - k_t (z_u - z_r)
//
// for z_r' = exp(iωt). Gauss-Legendre by gonum's integrate/quad, over pieces
// that grow with the frequency.
func spectrum(c ride.Corner, density float64, of func(omega float64, zs, zu complex128) complex128) float64 {
	ms, mu, k, kt, d := c.SprungKg, c.UnsprungKg, c.WheelRate*1000, c.TyreRate*1000, c.Damping
	f := func(hz float64) float64 {
		w := 2 * math.Pi * hz
		s := complex(0, w)
		// Rows: sprung and unsprung mass; unknown z_s, z_u; z_r = 1/s.
		a := complex(ms, 0)*s*s + complex(d, 0)*s + complex(k, 0)
		b := -(complex(d, 0)*s + complex(k, 0))
		e := complex(mu, 0)*s*s + complex(d, 0)*s + complex(k+kt, 0)
		det := a*e - b*b
		right := complex(kt, 0) / s
		zs, zu := -b*right/det, a*right/det
		h := of(w, zs, zu)
		return density * (real(h)*real(h) + imag(h)*imag(h))
	}
	sum := 0.0
	const grow = 1.04 // the peaks of lightly damped corners are narrow
	for low := 1e-5; low < 1e7; low *= grow {
		sum += quad.Fixed(f, low, grow*low, 12, quad.Legendre{}, 0)
	}
	return sum
}

// velocityDensity is (2π n0)² Gd(n0) V of ISO 8608 with n0 = 0.1 cycle/m.
func velocityDensity(roughness, speed float64) float64 {
	const omega0 = 2 * math.Pi * 0.1
	return omega0 * omega0 * roughness * speed
}

func travelOf(_ float64, zs, zu complex128) complex128 { return zs - zu }

func speedOf(w float64, zs, zu complex128) complex128 { return complex(0, w) * (zs - zu) }

// deflectionOf is that of the tyre, z_u - z_r with z_r = 1/s.
func deflectionOf(w float64, _, zu complex128) complex128 { return zu - 1/complex(0, w) }

func accelerationOf(w float64, zs, _ complex128) complex128 { return complex(-w*w, 0) * zs }

// TestAgainstSpectrum holds the closed forms against the integral for random
// corners.
func TestAgainstSpectrum(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		draw := func(name string, low, high float64) float64 { return rapid.Float64Range(low, high).Draw(t, name) }
		c := ride.Corner{
			SprungKg: draw("sprung", 50, 3000),
			TyreRate: draw("tyre rate", 80, 1500),
		}
		// A wheel lighter than the body and a spring softer than the tyre, or the
		// peaks are too narrow to integrate over.
		c.UnsprungKg = draw("unsprung over sprung", 0.03, 0.5) * c.SprungKg
		c.WheelRate = draw("wheel rate over tyre rate", 0.03, 0.5) * c.TyreRate
		// From a tenth of critical to twice it.
		c.Damping = draw("damping", 0.1, 2) * 2 * math.Sqrt(c.WheelRate*1000*c.SprungKg)
		speed := draw("speed", 1, 60)
		class := ride.Class('A' + rapid.IntRange(0, 7).Draw(t, "class"))
		r := linear(c).Response(class.Roughness(), speed)
		density := velocityDensity(class.Roughness(), speed)

		rms := math.Sqrt(spectrum(c, density, travelOf))
		// What lies below 1e-5 Hz is rounding; above 1e7 Hz the speed's spectrum
		// falls with the square of the frequency.
		near(t, "rms travel", r.Travel, rms, 1e-6*rms)
		rate := math.Sqrt(spectrum(c, density, speedOf))
		near(t, "rms travel speed", r.TravelSpeed, rate, 1e-6*rate)
		acceleration := math.Sqrt(spectrum(c, density, accelerationOf))
		near(t, "rms body acceleration", r.BodyAcceleration, acceleration, 1e-5*acceleration)
		load := c.TyreRate * 1000 * math.Sqrt(spectrum(c, density, deflectionOf))
		near(t, "rms tyre load", r.TyreLoad, load, 1e-5*load)
		// Rice: crossings are the ratio of the two moments.
		near(t, "crossings", r.Crossings, rate/rms/(2*math.Pi), 1e-6*r.Crossings)
		near(t, "damper power", r.DamperPower, c.Damping*rate*rate, 1e-5*r.DamperPower)
	})
}

// TestLargestOverRMS: 4.478 for an hour of the invented car, computed apart by
// numerical integration; Davenport's asymptotic form gives 4.488 for it, and
// comes as near for any large number.
func TestLargestOverRMS(t *testing.T) {
	crossings := linear(car).Response(ride.Class('B').Roughness(), 20).Crossings * 3600
	near(t, "largest in an hour", ride.LargestOverRMS(crossings), 4.478, 5e-4)
	davenport := func(n float64) float64 {
		q := math.Sqrt(2 * math.Log(n))
		return q + 0.5772156649/q
	}
	near(t, "Davenport's form", davenport(crossings), 4.488, 5e-4)
	for n := 1e3; n < 1e12; n *= 10 {
		near(t, fmt.Sprintf("largest of %g", n), ride.LargestOverRMS(n), davenport(n), 0.02)
	}
}

// TestLargestIntegral compares with the mean ∫ u dF of the same distribution,
// by Gauss-Legendre over its density; gonum's integrate/quad.
func TestLargestIntegral(t *testing.T) {
	for _, n := range []float64{1e-3, 0.5, 1, 3, 20, 1e3, 13183, 1e6, 1e10} {
		density := func(u float64) float64 {
			e := n * math.Exp(-u*u/2)
			return u * e * math.Exp(-e) // dF/du
		}
		want := 0.0
		for u := 0.0; u < 16; u += 0.25 {
			want += quad.Fixed(func(u float64) float64 { return u * density(u) }, u, u+0.25, 20, quad.Legendre{}, 0)
		}
		near(t, fmt.Sprintf("largest of %g", n), ride.LargestOverRMS(n), want, 1e-9)
	}
	if got := ride.LargestOverRMS(0); got != 0 {
		t.Errorf("largest of none is %g", got)
	}
	for _, bad := range []float64{-1, math.NaN()} {
		if got := ride.LargestOverRMS(bad); !math.IsNaN(got) {
			t.Errorf("largest of %g is %g", bad, got)
		}
	}
}

// onceAMinute is the travel in m that is exceeded each way once a minute, from
// the integrals of the spectrum of travel and of its rate: with σ and σ' their
// roots, the level passed N = 60 σ'/(2πσ) exp(-u²/2) = 1 times is u σ.
func onceAMinute(c ride.Corner, density float64) float64 {
	travel, rate := math.Sqrt(spectrum(c, density, travelOf)), math.Sqrt(spectrum(c, density, speedOf))
	return travel * math.Sqrt(2*math.Log(60*rate/(2*math.Pi*travel)))
}

// TestOnceAMinute holds the level against the integrals for random corners; and
// where ride height itself is passed less than once in a minute it is 0.
func TestOnceAMinute(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := ride.Corner{
			SprungKg: rapid.Float64Range(100, 2000).Draw(t, "sprung"), UnsprungKg: rapid.Float64Range(20, 90).Draw(t, "unsprung"),
			WheelRate: rapid.Float64Range(10, 60).Draw(t, "wheel rate"), TyreRate: rapid.Float64Range(150, 500).Draw(t, "tyre rate"),
			Damping: rapid.Float64Range(800, 8000).Draw(t, "damping"),
		}
		class := ride.Class('A' + rapid.IntRange(0, 4).Draw(t, "class"))
		got, faults := ride.Road{Class: class, SpeedKmh: 72, Hours: 1, Corner: c}.Travel()
		if len(faults) > 0 {
			t.Skip(faults)
		}
		want := 1000 * onceAMinute(c, velocityDensity(class.Roughness(), 20))
		near(t, "exceeded once a minute, mm", got.OncePerMinute.Mm(), want, 1e-5*want)
		if got.OncePerMinute > got.Largest {
			t.Errorf("%v is exceeded once a minute and %v is the largest in an hour", got.OncePerMinute.Mm(), got.Largest.Mm())
		}
	})
	for _, n := range []float64{0, 0.5, 1} {
		if got := ride.ExceededOnceOverRMS(n); got != 0 {
			t.Errorf("%g passes exceed %g once", n, got)
		}
	}
}

// TestSimulated drives the invented car over half an hour of class B in the
// time domain, as an independent check of rms, crossings and the distribution
// of the largest: seeded white velocity, steps of 0.5 ms by the trapezoidal
// rule. Bounds are three standard errors and more.
func TestSimulated(t *testing.T) {
	if testing.Short() {
		t.Skip("simulates half an hour of driving")
	}
	const dt, minutes = 5e-4, 30
	roughness := ride.Class('B').Roughness()
	want := linear(car).Response(roughness, 20)
	w := velocityDensity(roughness, 20) / 2
	level := onceAMinute(car, velocityDensity(roughness, 20))
	rng := rand.New(rand.NewSource(8608))

	// State: wheel travel d, tyre deflection e, body speed vs, wheel speed vu.
	ms, mu, k, kt, c := car.SprungKg, car.UnsprungKg, car.WheelRate*1000, car.TyreRate*1000, car.Damping
	var d, e, vs, vu float64
	rate := func(d, e, vs, vu, road float64) (float64, float64, float64, float64) {
		force := k*d + c*(vs-vu)
		return vs - vu, vu - road, -force / ms, (force - kt*e) / mu
	}
	var sum float64
	var n, crossings, above, once int
	largest, total := 0.0, 0.0
	perMinute := int(60 / dt)
	for range minutes {
		top := 0.0
		for range perMinute {
			road := rng.NormFloat64() * math.Sqrt(w/dt)
			// Heun's method.
			a1, b1, c1, d1 := rate(d, e, vs, vu, road)
			a2, b2, c2, d2 := rate(d+dt*a1, e+dt*b1, vs+dt*c1, vu+dt*d1, road)
			before := d
			d, e, vs, vu = d+dt*(a1+a2)/2, e+dt*(b1+b2)/2, vs+dt*(c1+c2)/2, vu+dt*(d1+d2)/2
			if before < 0 && d >= 0 {
				crossings++
			}
			if d > 3*want.Travel && before <= 3*want.Travel {
				above++
			}
			if d > level && before <= level || d < -level && before >= -level {
				once++
			}
			sum += d * d
			n++
			top = max(top, d)
		}
		total += top
		largest = max(largest, top)
	}
	near(t, "rms travel over the closed form", math.Sqrt(sum/float64(n))/want.Travel, 1, 0.04)
	near(t, "crossings in a second", float64(crossings)/(60*minutes), want.Crossings, 0.1*want.Crossings)
	// exp(-9/2) of all crossings pass three times the rms: no ceiling.
	near(t, "passes of three times the rms", float64(above), want.Crossings*60*minutes*math.Exp(-4.5), 35)
	// Once a minute each way. They come somewhat in bunches, so the bound is wider
	// than three roots of their number.
	near(t, "passes of the level of once a minute", float64(once), 2*minutes, 30)
	near(t, "mean of the largest of a minute over the rms", total/minutes/want.Travel,
		ride.LargestOverRMS(want.Crossings*60), 0.3)
}

// TestTravel: the class, the speed and the hours reach the answer, and its
// steps are what they say.
func TestTravel(t *testing.T) {
	got, faults := ride.Road{Class: 'B', SpeedKmh: 72, Hours: 1, Corner: car}.Travel()
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	near(t, "rms, mm", got.RMS.Mm(), 5.35117, 1e-4)
	near(t, "largest, mm", got.Largest.Mm(), 5.35117*4.478, 0.005)
	near(t, "largest over rms", got.LargestOverRMS, 4.478, 5e-4)
	// By the integral of the spectrum, and Rice's formula solved for once a minute.
	once := 1000 * onceAMinute(car, velocityDensity(64e-6, 20))
	near(t, "exceeded once a minute, mm", got.OncePerMinute.Mm(), once, 1e-4)
	if len(got.Steps) != 6 {
		t.Fatalf("%d steps", len(got.Steps))
	}
	if r := got.Steps[3].Result.Length; r != got.OncePerMinute {
		t.Errorf("the step gives %v as exceeded once a minute", r)
	}
	if r := got.Steps[1].Result.Length; r != got.RMS {
		t.Errorf("the step gives %v as rms", r)
	}
	if r := got.Steps[5].Result.Length; r != got.Largest {
		t.Errorf("the step gives %v as largest", r)
	}
	// The steps can be redone from the figures that they show.
	rms := math.Pi * 0.1 * math.Sqrt(64e-6*20*340/1500) * 1000
	perMinute := got.Steps[3].Values[1].Number
	near(t, "once a minute redone", rms*math.Sqrt(2*math.Log(perMinute)), got.OncePerMinute.Mm(), 1e-4)
	near(t, "rms redone", rms, got.RMS.Mm(), 1e-6)
	near(t, "largest redone", got.RMS.Mm()*got.Steps[5].Values[1].Number, got.Largest.Mm(), 1e-3)
	for _, s := range got.Steps {
		text := s.Text("en", unit.Millimetres)
		if text == string(s.Code) || strings.ContainsAny(text, "{}") || s.Result.Words(unit.Inches) == "" {
			t.Errorf("%s reads %q, %q", s.Code, text, s.Result.Words(unit.Inches))
		}
	}
}

// TestMoreAsksMore: a worse class, more speed and more hours never ask for less
// travel, and more damping never for more.
func TestMoreAsksMore(t *testing.T) {
	largest := func(t rapid.TB, r ride.Road) unit.Length {
		got, faults := r.Travel()
		if len(faults) > 0 {
			t.Fatal(faults)
		}
		return got.Largest
	}
	rapid.Check(t, func(t *rapid.T) {
		r := ride.Road{
			Class:    ride.Class('A' + rapid.IntRange(0, 5).Draw(t, "class")),
			SpeedKmh: rapid.Float64Range(5, 150).Draw(t, "speed"),
			Hours:    rapid.Float64Range(0.01, 1000).Draw(t, "hours"),
			Corner:   car,
		}
		base := largest(t, r)
		worse, faster, longer, damped := r, r, r, r
		worse.Class++
		faster.SpeedKmh *= 1.1
		longer.Hours *= 1.1
		damped.Corner.Damping *= 1.1
		if largest(t, worse) <= base || largest(t, faster) <= base || largest(t, longer) <= base || largest(t, damped) >= base {
			t.Errorf("%+v", r)
		}
	})
}

func TestFaults(t *testing.T) {
	good := ride.Road{Class: 'C', SpeedKmh: 80, Hours: 1, Corner: car}
	for _, c := range []struct {
		name   string
		change func(*ride.Road)
		want   string
	}{
		{"nothing", func(r *ride.Road) { *r = ride.Road{} },
			"/class unknown_value, /speed_kmh out_of_range, /hours out_of_range, /corner/sprung_kg out_of_range, " +
				"/corner/unsprung_kg out_of_range, /corner/wheel_rate_n_mm missing, /corner/tyre_rate_n_mm out_of_range, /corner/damping_ns_m out_of_range"},
		{"class", func(r *ride.Road) { r.Class = 'c' }, "/class unknown_value"},
		{"standing still", func(r *ride.Road) { r.SpeedKmh = 0 }, "/speed_kmh out_of_range"},
		{"not a number", func(r *ride.Road) { r.Corner.Damping = math.NaN() }, "/corner/damping_ns_m out_of_range"},
		{"without end", func(r *ride.Road) { r.Hours = math.Inf(1) }, "/hours out_of_range"},
		{"negative", func(r *ride.Road) { r.Corner.UnsprungKg = -40 }, "/corner/unsprung_kg out_of_range"},
		{"a rate in N/m", func(r *ride.Road) { r.Corner.TyreRate = 180e3 }, "/corner/tyre_rate_n_mm out_of_range"},
		{"hardly damped", func(r *ride.Road) { r.Class, r.Corner.Damping = 'H', 1 }, " out_of_range"},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := good
			c.change(&r)
			_, faults := r.Travel()
			var got []string
			for _, f := range faults {
				got = append(got, f.Pointer+" "+f.Code.Public())
				if text := f.Text("en", unit.Millimetres); text == string(f.Code) || strings.HasSuffix(text, ".") || strings.ContainsAny(text, "{}+") {
					t.Errorf("%s reads %q", f.Code, text)
				}
			}
			if g := strings.Join(got, ", "); g != c.want {
				t.Errorf("got  %s\nwant %s", g, c.want)
			}
		})
	}
}

func BenchmarkTravel(b *testing.B) {
	r := ride.Road{Class: 'C', SpeedKmh: 80, Hours: 1, Corner: car}
	for range b.N {
		if _, faults := r.Travel(); len(faults) > 0 {
			b.Fatal(faults)
		}
	}
}

// TestRoadStepsFollow works two steps out again by the figures that their texts print, in
// either system of units: class C at 80 km/h has 256e-6 m³ and 22.2222 m/s.
func TestRoadStepsFollow(t *testing.T) {
	r := ride.Road{
		Class: 'C', SpeedKmh: 80, Hours: 1,
		Corner: ride.Corner{SprungKg: 300, UnsprungKg: 40, WheelRate: 20, TyreRate: 180, Damping: 1500},
	}
	travel, faults := r.Travel()
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	figure := regexp.MustCompile(`[0-9]+(\.[0-9]+)?`)
	for _, c := range []struct {
		units         unit.System
		rms, crossing float64 // what brings the units together
	}{{unit.Millimetres, 1, 1000}, {unit.Inches, 39.3701 / 386.089, 386.089}} {
		for _, s := range travel.Steps {
			text := s.Text("en", c.units)
			var f []float64
			for _, word := range figure.FindAllString(text, -1) {
				n, err := strconv.ParseFloat(word, 64)
				if err != nil {
					t.Fatal(err)
				}
				f = append(f, n)
			}
			n := len(f)
			var got, want float64
			switch s.Code {
			case "road_travel_rms": // speed, mass and damping stand last
				got = math.Pi * 0.1 * math.Sqrt(256e-6*f[n-3]*f[n-2]/f[n-1]*c.rms)
				want = travel.RMS.Mm() / 1000 // in m
				if c.units == unit.Inches {
					want = travel.RMS.In(unit.Inches)
				}
			case "road_crossings":
				got, want = math.Sqrt(f[n-2]/f[n-1]*c.crossing)/(2*math.Pi), travel.Crossings
			default:
				continue
			}
			if math.Abs(got/want-1) > 1e-4 {
				t.Errorf("%s\ncomes to %g and not to %g", text, got, want)
			}
		}
	}
}
