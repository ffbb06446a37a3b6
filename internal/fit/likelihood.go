package fit

import (
	"math"

	"midstroke/internal/measure"
	"midstroke/internal/unit"
)

// sqrt3 makes the half-width of a rectangular distribution its standard
// uncertainty (JCGM 100:2008, 4.3.7).
const sqrt3 = 1.7320508075688772

// doubt is what is uncertain in a request.
type doubt struct {
	shorter, longer measure.Mean
	// ratioC and ratioE are how many mm the surplus each way changes if the motion
	// ratio is off by one standard uncertainty. Such an error moves both needs, and the
	// length if that was corrected for height.
	ratioC, ratioE float64
}

func newDoubt(w *measure.Working, n *Required) doubt {
	asksMore := func(n Need) float64 { return (n.LeastWorst - n.Least).Mm() }
	return doubt{
		shorter: w.Shorter, longer: w.Longer,
		ratioC: (w.RatioShift - asksMore(n.Compression)) / sqrt3,
		ratioE: (-w.RatioShift - asksMore(n.Extension)) / sqrt3,
	}
}

// likelihood is the chance that a damper, whose lengths include its adapters, holds
// the least travel both ways. It is computed for each side of the vehicle, and the
// lesser chance counts, since both dampers of an axle are alike.
func (t *task) likelihood(compressed, extended, tolerance unit.Length) float64 {
	own := tolerance.Mm() / sqrt3
	on := func(side measure.Mean) float64 {
		return jointLikelihood(
			(side.Length - compressed - t.needC.Least).Mm(), (extended - side.Length - t.needE.Least).Mm(),
			uncertainty{length: side.StdUncertainty, compressed: own, extended: own, ratioC: t.doubt.ratioC, ratioE: t.doubt.ratioE})
	}
	p := on(t.doubt.shorter)
	if t.doubt.longer != t.doubt.shorter {
		p = min(p, on(t.doubt.longer))
	}
	return p
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

// composite integrates f from a to b by Gauss–Legendre's 5-point rule on 16
// panels, ever finer towards a, where the integrand may rise steeply.
func composite(f func(float64) float64, a, b float64) float64 {
	const panels = 16
	sum, left := 0.0, a
	for i := 1; i <= panels; i++ {
		t := float64(i) / panels
		right := a + (b-a)*t*t*t*t
		mid, half := (left+right)/2, (right-left)/2
		part := 0.0
		for j, x := range legendreX {
			part += legendreW[j] * f(mid+half*x)
		}
		sum += part * half
		left = right
	}
	return sum
}

// Gauss–Legendre abscissas and weights of the 5-point rule (Abramowitz and
// Stegun, Table 25.4).
var (
	legendreX = [5]float64{-0.906179845938664, -0.538469310105683, 0, 0.538469310105683, 0.906179845938664}
	legendreW = [5]float64{0.236926885056189, 0.478628670499366, 0.568888888888889, 0.478628670499366, 0.236926885056189}
)
