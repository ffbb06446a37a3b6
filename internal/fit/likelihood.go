package fit

import (
	"math"
	"slices"

	"midstroke/internal/measure"
	"midstroke/internal/unit"
)

// sqrt3 makes the half-width of a rectangular distribution its standard
// uncertainty (JCGM 100:2008, 4.3.7).
const sqrt3 = 1.7320508075688772

// doubt is what is uncertain in a request.
type doubt struct {
	shorter, longer measure.Mean
	// shift is how many mm the length changes where the motion ratio is off by its
	// tolerance, since that was corrected for height. The needs change with it.
	shift                  float64
	compression, extension ratioNeed
	// bends are the errors of the ratio, in standard uncertainties, at which a need
	// changes its slope.
	bends []float64
}

// outermost is how many standard uncertainties an error of the motion ratio is taken to
// be at most: less than 2e-9 of all errors are larger.
const outermost = 6

func newDoubt(w *measure.Working, n *Required) doubt {
	d := doubt{shorter: w.Shorter, longer: w.Longer, shift: w.RatioShift, compression: n.compressionBy, extension: n.extensionBy}
	d.bends = slices.Concat(d.compression.bends(), d.extension.bends())
	return d
}

// likelihood is the chance that a damper, whose lengths include its adapters, holds
// the least travel both ways. It is computed for each side of the vehicle, and the
// lesser chance counts, since both dampers of an axle are alike.
func (t *task) likelihood(compressed, extended, tolerance unit.Length) float64 {
	own := tolerance.Mm() / sqrt3
	on := func(side measure.Mean) float64 {
		u := uncertainty{length: side.StdUncertainty, compressed: own, extended: own}
		return t.doubt.overRatio((side.Length - compressed - t.needC.Least).Mm(), (extended - side.Length - t.needE.Least).Mm(), u)
	}
	p := on(t.doubt.shorter)
	if t.doubt.longer != t.doubt.shorter {
		p = min(p, on(t.doubt.longer))
	}
	return p
}

// overRatio is the chance that both surpluses hold, which are sc and se (mm) at the motion
// ratio as it was given. u comes without the ratio's terms.
//
// Where both needs are straight lines over the ratio, that is jointLikelihood. Where one
// bends, it is the integral of that over the ratio's error, piece by piece: P = ∫ φ(m)
// P(m) dm.
func (d *doubt) overRatio(sc, se float64, u uncertainty) float64 {
	// surplus is that where the ratio is off by m standard uncertainties.
	surplus := func(m float64) (c, e float64) {
		off := m / sqrt3
		return sc + d.shift*off - d.compression.change(off), se - d.shift*off - d.extension.change(off)
	}
	if len(d.bends) == 0 {
		u.ratioC, u.ratioE = (d.shift-d.compression.change(1))/sqrt3, (-d.shift-d.extension.change(1))/sqrt3
		return jointLikelihood(sc, se, u)
	}
	given := func(m float64) float64 {
		c, e := surplus(m)
		return phiDensity(m) * jointLikelihood(c, e, u)
	}
	pieces := d.pieces(surplus, u)
	sum := 0.0
	for i := range pieces[1:] {
		if from, to := pieces[i], pieces[i+1]; from < to {
			sum += gauss(given, from, to)
		}
	}
	return min(1, max(0, sum))
}

// pieces splits the ratio's errors so that the chance is smooth on each piece: where a
// need bends, and ever finer about where a surplus is 0, since the chance falls from 1
// to 0 there within a few standard uncertainties of the lengths.
func (d *doubt) pieces(surplus func(m float64) (c, e float64), u uncertainty) []float64 {
	at := append([]float64{-outermost, outermost}, d.bends...)
	slices.Sort(at)
	for i := range len(at) - 1 {
		from, to := at[i], at[i+1]
		if to-from < 1e-9 {
			continue
		}
		c0, e0 := surplus(from)
		c1, e1 := surplus(to)
		for _, s := range [2]struct{ from, to, sigma float64 }{{c0, c1, math.Hypot(u.length, u.compressed)}, {e0, e1, math.Hypot(u.length, u.extended)}} {
			slope := (s.to - s.from) / (to - from)
			if slope == 0 {
				continue
			}
			zero := from - s.from/slope
			for _, k := range [...]float64{-6, -2.5, 0, 2.5, 6} {
				if m := zero + k*s.sigma/math.Abs(slope); from < m && m < to {
					at = append(at, m)
				}
			}
		}
	}
	const longest = 1.5
	for m := -outermost + longest; m < outermost; m += longest {
		at = append(at, m)
	}
	slices.Sort(at)
	return at
}

// uncertainty is the standard uncertainties in mm: of a working length, of the
// damper's own two lengths, and of the surplus each way because of the motion ratio,
// which has a sign.
type uncertainty struct{ length, compressed, extended, ratioC, ratioE float64 }

// jointLikelihood is the chance that a damper neither bottoms nor tops out when
// the surplus (margin over need, mm) each way is sc and se. All errors are
// independent and normal, with the standard uncertainties of u (JCGM 100:2008,
// 5.1.2).
//
// The error of the working length takes from one surplus what it gives to the
// other, and the motion ratio's changes both, so the chance is no product of two.
// With uL, uC and uE those of the length and of the damper's own, and rC and rE
// the motion ratio's,
//
//	P = ∫∫ φ(x) φ(m) Φ((sc + rC·m + uL·x)/uC) Φ((se + rE·m − uL·x)/uE) dx dm,
//
// which is the bivariate normal Φ₂(sc/σc, se/σe; ρ) with σc² = uL² + uC² + rC²,
// σe² = uL² + uE² + rE² and ρ = (rC·rE − uL²)/(σc·σe). With the length alone
// uncertain ρ is −1 and P is max(0, Φ(sc/uL) + Φ(se/uL) − 1); with nothing
// uncertain it is 1 or 0.
func jointLikelihood(sc, se float64, u uncertainty) float64 {
	sigmaC := math.Sqrt(u.length*u.length + u.compressed*u.compressed + u.ratioC*u.ratioC)
	sigmaE := math.Sqrt(u.length*u.length + u.extended*u.extended + u.ratioE*u.ratioE)
	if sigmaC == 0 || sigmaE == 0 {
		// A surplus without uncertainty holds or doesn't; exactly at the
		// limit is inside.
		if sigmaC == 0 && sc < 0 || sigmaE == 0 && se < 0 {
			return 0
		}
		switch {
		case sigmaC > 0:
			return phi(sc / sigmaC)
		case sigmaE > 0:
			return phi(se / sigmaE)
		}
		return 1
	}
	rho := (u.ratioC/sigmaC)*(u.ratioE/sigmaE) - (u.length/sigmaC)*(u.length/sigmaE)
	return bivariate(sc/sigmaC, se/sigmaE, rho)
}

// phi is the standard normal distribution function.
func phi(x float64) float64 { return 0.5 * math.Erfc(-x/math.Sqrt2) }

// phiDensity is the density of the standard normal distribution.
func phiDensity(x float64) float64 { return math.Exp(-x*x/2) / math.Sqrt(2*math.Pi) }

// negligibleTail is where a normal tail (3e-9) is too small for the six decimals of an
// answer.
const negligibleTail = 5.8

// bivariate is P(X ≤ h, Y ≤ k) for standard normal X, Y of correlation rho in
// [−1, 1]. It integrates the derivative by the correlation,
//
//	∂Φ₂/∂ρ = exp(−(h² − 2ρhk + k²)/(2(1−ρ²))) / (2π√(1−ρ²))
//
// (Plackett, Biometrika 41, 1954, from memory), over θ = asin ρ from the nearest
// of three correlations with a closed form: 0, where Φ₂ = Φ(h)Φ(k); −1, where it
// is max(0, Φ(h) + Φ(k) − 1); and 1, where it is Φ(min(h, k)).
func bivariate(h, k, rho float64) float64 {
	switch {
	case h < -negligibleTail || k < -negligibleTail:
		return 0
	case h > negligibleTail && k > negligibleTail:
		return 1
	case h > negligibleTail:
		return phi(k)
	case k > negligibleTail:
		return phi(h)
	}
	const nearer = 0.7 // about half of the way in θ
	from, base := 0.0, 0.0
	switch {
	case rho < -nearer:
		from, base = -math.Pi/2, max(0, phi(h)+phi(k)-1)
	case rho > nearer:
		from, base = math.Pi/2, phi(min(h, k))
	default:
		base = phi(h) * phi(k)
	}
	integrand := func(theta float64) float64 {
		sin, cos := math.Sincos(theta)
		if cos < 1e-9 {
			// At ρ = ∓1 the exponent's numerator is (h±k)²: no density there
			// unless the two limits coincide, when the integrand is bounded.
			if math.Abs(h-math.Copysign(1, sin)*k) > 1e-6 {
				return 0
			}
			return math.Exp(-h*h/2) / (2 * math.Pi)
		}
		return math.Exp(-(h*h-2*h*k*sin+k*k)/(2*cos*cos)) / (2 * math.Pi)
	}
	to := math.Asin(min(1, max(-1, rho)))
	return min(1, max(0, base+composite(integrand, from, to)))
}

// composite integrates f from a to b by gauss on 16 panels, ever finer towards a, where
// the integrand may rise steeply.
func composite(f func(float64) float64, a, b float64) float64 {
	const panels = 16
	sum, left := 0.0, a
	for i := 1; i <= panels; i++ {
		t := float64(i) / panels
		right := a + (b-a)*t*t*t*t
		sum += gauss(f, left, right)
		left = right
	}
	return sum
}

// gauss integrates f from a to b by Gauss–Legendre's 5-point rule.
func gauss(f func(float64) float64, a, b float64) float64 {
	mid, half := (a+b)/2, (b-a)/2
	sum := 0.0
	for j, x := range legendreX {
		sum += legendreW[j] * f(mid+half*x)
	}
	return sum * half
}

// Gauss–Legendre abscissas and weights of the 5-point rule (Abramowitz and
// Stegun, Table 25.4).
var (
	legendreX = [5]float64{-0.906179845938664, -0.538469310105683, 0, 0.538469310105683, 0.906179845938664}
	legendreW = [5]float64{0.236926885056189, 0.478628670499366, 0.568888888888889, 0.478628670499366, 0.236926885056189}
)
