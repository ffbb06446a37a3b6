package linkage

import "math"

// cubic is the cubic on [0, 1] with values y0, y1 and slopes d0, d1 at its ends
// (Hermite interpolation).
type cubic struct{ y0, y1, d0, d1 float64 }

// at is its value at t.
func (c cubic) at(t float64) float64 {
	u := 1 - t
	return u*u*(c.y0*(1+2*t)+c.d0*t) + t*t*(c.y1*(1+2*u)-c.d1*u)
}

// stationary gives where its slope passes through zero inside (0, 1), in rising
// order, and how many such places there are.
func (c cubic) stationary() (at [2]float64, n int) {
	// y' = a t² + b t + d0
	a := 6*(c.y0-c.y1) + 3*(c.d0+c.d1)
	b := 6*(c.y1-c.y0) - 4*c.d0 - 2*c.d1
	disc := b*b - 4*a*c.d0
	if !(disc > 0) {
		return at, 0
	}
	// The form without cancellation: one root is q/a, the other d0/q.
	q := -(b + math.Copysign(math.Sqrt(disc), b)) / 2
	for _, t := range [2]float64{q / a, c.d0 / q} {
		if t > 0 && t < 1 { // NaN and infinities are outside
			at[n] = t
			n++
		}
	}
	if n == 2 && at[0] > at[1] {
		at[0], at[1] = at[1], at[0]
	}
	return at, n
}

// root finds a zero of f between a and b, where it has the values fa and fb of
// opposite sign, to within tol of x. It needs few calls where f is
// smooth, and never more than bisection by much: inverse quadratic
// interpolation where that is safe (Chandrupatla, Adv. Eng. Software 28 (1997)
// 145-149, from memory).
func root(f func(float64) float64, a, fa, b, fb, tol float64) float64 {
	if fa == 0 {
		return a
	}
	var c, fc float64   // the end that was given up last
	t := fa / (fa - fb) // the secant first: f is nearly straight over one sample
	const enough = 200
	for range enough {
		x := a + t*(b-a)
		fx := f(x)
		if math.Signbit(fx) == math.Signbit(fa) {
			c, fc = a, fa
		} else {
			c, fc, b, fb = b, fb, a, fa
		}
		a, fa = x, fx
		best := a
		if math.Abs(fb) < math.Abs(fa) {
			best = b
		}
		near := tol / math.Abs(b-a)
		if fx == 0 || near >= 0.5 {
			return best
		}
		xi, phi := (a-b)/(c-b), (fa-fb)/(fc-fb)
		t = 0.5
		if phi*phi < xi && (1-phi)*(1-phi) < 1-xi {
			t = fa/(fb-fa)*fc/(fb-fc) + (c-a)/(b-a)*fa/(fc-fa)*fb/(fc-fb)
		}
		t = min(1-near, max(near, t))
	}
	return a
}

// polynomial is a real polynomial of at most the fourth degree, lowest power
// first.
type polynomial [5]float64

// roots appends to dst the places in (lo, hi) where p changes its sign, in
// rising order. Between two neighbouring zeros of its derivative, and the ends,
// a polynomial is monotonic and changes its sign at most once. So the zeros of
// each derivative, from the straight line up, separate those of the next one.
// Zeros without a change of sign are of no interest here.
func (p polynomial) roots(dst []float64, lo, hi float64) []float64 {
	degree := len(p) - 1
	for degree > 0 && p[degree] == 0 {
		degree--
	}
	return p.rootsOf(degree, dst, lo, hi)
}

// oneSign says that p can't change its sign in [lo, hi]: its Bernstein coefficients
// there, which bound its values, all have one sign. Some polynomials of one sign
// are missed.
func (p polynomial) oneSign(lo, hi float64) bool {
	// Powers of x in t = lo + (hi-lo) x: Taylor's shift by Horner's scheme, and
	// then the scale.
	q, h := p, hi-lo
	for i := range q {
		for j := len(q) - 2; j >= i; j-- {
			q[j] += lo * q[j+1]
		}
	}
	scale := 1.0
	for i := range q {
		q[i] *= scale
		scale *= h
	}
	// b_i = Σ C(i,k)/C(4,k) q_k.
	b := [...]float64{
		q[0],
		q[0] + q[1]/4,
		q[0] + q[1]/2 + q[2]/6,
		q[0] + 3*q[1]/4 + q[2]/2 + q[3]/4,
		q[0] + q[1] + q[2] + q[3] + q[4],
	}
	least, most := b[0], b[0]
	for _, c := range b[1:] {
		least, most = min(least, c), max(most, c)
	}
	return least > 0 || most < 0
}

func (p polynomial) rootsOf(degree int, dst []float64, lo, hi float64) []float64 {
	if degree == 0 {
		return dst
	}
	var buf [4]float64
	var parts []float64
	if degree > 1 {
		parts = p.derivative().rootsOf(degree-1, buf[:0], lo, hi)
	}
	a, fa := lo, p.at(lo)
	for i := 0; i <= len(parts); i++ {
		b := hi
		if i < len(parts) {
			b = parts[i]
		}
		fb := p.at(b)
		if fa != 0 && fb != 0 && math.Signbit(fa) != math.Signbit(fb) {
			dst = append(dst, root(p.at, a, fa, b, fb, 1e-13))
		} else if fb == 0 && b < hi {
			dst = append(dst, b)
		}
		a, fa = b, fb
	}
	return dst
}

func (p polynomial) at(x float64) float64 {
	return (((p[4]*x+p[3])*x+p[2])*x+p[1])*x + p[0]
}

func (p polynomial) derivative() polynomial {
	return polynomial{p[1], 2 * p[2], 3 * p[3], 4 * p[4]}
}
