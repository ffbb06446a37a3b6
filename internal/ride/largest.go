package ride

import "math"

// LargestOverRMS gives how many times its root mean square a stationary
// Gaussian movement's largest value one way is expected to be, where it passes
// nought upwards n times on average. Crossings of a level u σ come as
// often as n exp(-u²/2); where high ones are independent of each other (a
// Poisson process), the largest is below u with probability
// exp(-n exp(-u²/2)), and its mean is
//
//	∫ 1 - exp(-n exp(-u²/2)) du  from 0 to ∞.
//
// (Davenport, Proc. Inst. Civ. Eng. 28 (1964) 187-196, from memory.) This
// integral is computed as it stands. Davenport's q + 0.5772/q with
// q = √(2 ln n) is its first terms for large n: 0.2 % more at an hour's
// crossings, without meaning below n = 1, and not used. Every movement has its
// largest value both ways: this is for one of them.
//
// n below 0 or NaN gives NaN; the result is right to 1e-9.
func LargestOverRMS(n float64) float64 {
	if !(n >= 0) {
		return math.NaN()
	}
	// The integrand is 1 almost up to q and gone 7 after it, and smooth: there
	// Simpson's rule has more digits than are asked for. (From 0, for small n,
	// its odd derivatives at 0 are nought too.)
	high := 7 + math.Sqrt(2*math.Log(max(1, n)))
	const steps = 400 // even
	h := high / steps
	sum := 0.0
	for i := range steps + 1 {
		weight := 2.0
		switch {
		case i == 0 || i == steps:
			weight = 1
		case i%2 == 1:
			weight = 4
		}
		u := float64(i) * h
		sum += weight * -math.Expm1(-n*math.Exp(-u*u/2))
	}
	return sum * h / 3
}
