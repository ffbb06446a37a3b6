package damping

import "math"

// The standard normal distribution at steps of normalStep up to normalMost, where
// hardly anything is left. From the nearest step a Taylor series goes on, which is
// several times as fast as math.Erf and math.Exp and as exact.
const (
	normalStep  = 1.0 / 32
	normalMost  = 8.5
	normalSteps = int(normalMost/normalStep) + 1
)

var normalTable = func() (t [normalSteps]struct{ within, density float64 }) {
	for i := range t {
		x := float64(i) * normalStep
		t[i].within, t[i].density = math.Erf(x/math.Sqrt2)/2, math.Exp(-x*x/2)/math.Sqrt(2*math.Pi)
	}
	return t
}()

// normal gives how much of a standard normal distribution is between 0 and x, and its
// density at x, for x from 0 up.
//
// With h from the step x0, the density's derivatives are φ times the Hermite
// polynomials: d_0 = 1, d_1 = -x0, d_(n+1) = -(x0 d_n + n d_(n-1)). |h| is at most
// 1/64, so the first term left out is under 1e-16.
func normal(x float64) (within, density float64) {
	if !(x < normalMost) {
		return 0.5, 0
	}
	i := int(x*(1/normalStep) + 0.5)
	at := &normalTable[i]
	x0 := float64(i) * normalStep
	h := x - x0
	d1 := -x0
	d2 := -(x0*d1 + 1)
	d3 := -(x0*d2 + 2*d1)
	d4 := -(x0*d3 + 3*d2)
	d5 := -(x0*d4 + 4*d3)
	d6 := -(x0*d5 + 5*d4)
	d7 := -(x0*d6 + 6*d5)
	density = at.density * (1 + h*(d1+h*(1.0/2)*(d2+h*(1.0/3)*(d3+h*(1.0/4)*(d4+h*(1.0/5)*(d5+h*(1.0/6)*(d6+h*(1.0/7)*d7)))))))
	within = at.within + at.density*h*(1+h*(1.0/2)*(d1+h*(1.0/3)*(d2+h*(1.0/4)*(d3+h*(1.0/5)*(d4+h*(1.0/6)*(d5+h*(1.0/7)*(d6+h*(1.0/8)*d7)))))))
	return within, density
}
