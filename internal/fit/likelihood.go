package fit

import "math"

// jointLikelihood is the chance that a damper neither bottoms nor tops out
// when the surplus (margin over need, mm) each way is sc and se, the working
// length has the standard uncertainty uL, and the damper's own limits uC and
// uE, all mm and independent.
//
// The error of the working length takes from one surplus what it gives to the
// other, so the chance is no product of two:
//
//	P = ∫ φ(x) Φ((sc + uL·x)/uC) Φ((se − uL·x)/uE) dx,
//
// which is the bivariate normal Φ₂(sc/σc, se/σe; ρ) with σ² = uL² + u² and
// ρ = −uL²/(σc·σe). With exact limits ρ is −1 and P is
// max(0, Φ(sc/uL) + Φ(se/uL) − 1); with nothing uncertain it is 1 or 0.
func jointLikelihood(sc, se, uL, uC, uE float64) float64 {
	sigmaC, sigmaE := math.Hypot(uL, uC), math.Hypot(uL, uE)
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
	return bivariate(sc/sigmaC, se/sigmaE, -(uL/sigmaC)*(uL/sigmaE))
}

// phi is the standard normal distribution function.
func phi(x float64) float64 { return 0.5 * math.Erfc(-x/math.Sqrt2) }

// farOut is where a normal tail (3e-9) no longer shows in the six decimals of
// an answer.
const farOut = 5.8

// bivariate is P(X ≤ h, Y ≤ k) for standard normal X, Y of correlation
// rho in [−1, 0]. It integrates the derivative by the correlation,
//
//	∂Φ₂/∂ρ = exp(−(h² − 2ρhk + k²)/(2(1−ρ²))) / (2π√(1−ρ²))
//
// (Plackett, Biometrika 41, 1954, from memory), over θ = asin ρ from whichever
// end is nearer: 0, where Φ₂ = Φ(h)Φ(k), or −1, where it is
// max(0, Φ(h) + Φ(k) − 1).
func bivariate(h, k, rho float64) float64 {
	switch {
	case h > farOut && k > farOut:
		return 1
	case h > farOut:
		return phi(k)
	case k > farOut:
		return phi(h)
	}
	var from, base float64
	to := math.Asin(max(rho, -1))
	if rho > -0.7 {
		base = phi(h) * phi(k)
	} else {
		from = -math.Pi / 2
		base = max(0, phi(h)+phi(k)-1)
	}
	integrand := func(theta float64) float64 {
		sin, cos := math.Sincos(theta)
		if cos < 1e-9 {
			// At ρ = −1 the exponent's numerator is (h+k)²: no density there
			// unless the two limits coincide, when the integrand is bounded.
			if math.Abs(h+k) > 1e-6 {
				return 0
			}
			return math.Exp(-h*h/2) / (2 * math.Pi)
		}
		return math.Exp(-(h*h-2*h*k*sin+k*k)/(2*cos*cos)) / (2 * math.Pi)
	}
	return min(1, max(0, base+composite(integrand, from, to)))
}

// composite integrates f over [a, b] by Gauss–Legendre's 5-point rule on 16
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
