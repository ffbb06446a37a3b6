package drawing

import (
	"math"
	"strconv"
)

// scale maps the values low to high to the places from and to on the sheet. It has a
// tick at every whole step.
type scale struct {
	low, high, step float64
	from, to        float64
}

// exact is a scale that ends where its values do, with about n ticks.
func exact(low, high, from, to float64, n int) scale {
	return scale{low: low, high: high, step: roundStep((high - low) / float64(n)), from: from, to: to}
}

// widened is a scale over whole steps with room for marks beyond both ends, with
// about n ticks; never narrower than least.
func widened(low, high, least, from, to float64, n int) scale {
	if high-low < least {
		middle := (high + low) / 2
		low, high = middle-least/2, middle+least/2
	}
	const room = 0.07
	pad := room * (high - low)
	low, high = low-pad, high+pad
	step := roundStep((high - low) / float64(n))
	return scale{low: math.Floor(low/step) * step, high: math.Ceil(high/step) * step, step: step, from: from, to: to}
}

// roundStep is the least of 1, 2 or 5 times a power of ten that is not below
// rough.
func roundStep(rough float64) float64 {
	power := math.Pow(10, math.Floor(math.Log10(rough)))
	for _, m := range []float64{1, 2, 5} {
		if rough <= m*power*(1+1e-9) {
			return m * power
		}
	}
	return 10 * power
}

func (s scale) at(v float64) float64 {
	return s.from + (v-s.low)/(s.high-s.low)*(s.to-s.from)
}

// ticks are the whole steps on the scale.
func (s scale) ticks() []float64 {
	var t []float64
	const hair = 1e-9 // of a step: rounding must not lose a tick at an end
	for k := math.Ceil(s.low/s.step - hair); k <= s.high/s.step+hair; k++ {
		t = append(t, k*s.step)
	}
	return t
}

// places is how many decimals the ticks need.
func (s scale) places() int {
	return max(0, int(-math.Floor(math.Log10(s.step)+1e-9)))
}

func figure(v float64, places int) string {
	t := strconv.FormatFloat(v, 'f', places, 64)
	if f, err := strconv.ParseFloat(t, 64); err == nil && f == 0 {
		return strconv.FormatFloat(0, 'f', places, 64) // never -0
	}
	return t
}

func round(v float64, places int) float64 {
	p := math.Pow(10, float64(places))
	return math.Round(v*p) / p
}
