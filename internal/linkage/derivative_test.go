package linkage_test

import (
	"fmt"
	"testing"

	"gonum.org/v1/gonum/diff/fd"
	"pgregory.net/rapid"

	_ "midstroke/internal/seeded"
)

// TestMotionRatioIsTheDerivative compares every kind's analytic motion ratio
// with central differences of its length by gonum's diff/fd, over the inner
// nine tenths of what can be reached within 150 mm.
func TestMotionRatioIsTheDerivative(t *testing.T) {
	for name, s := range everyKind() {
		t.Run(name, func(t *testing.T) {
			l := mustNew(t, s)
			low, high := l.Reach()
			low, high = max(low*0.9, -150), min(high*0.9, 150)
			for i := range 31 {
				z := low + (high-low)*float64(i)/30
				_, ratio := at(t, l, z)
				slope := fd.Derivative(func(z float64) float64 {
					length, _ := at(t, l, z)
					return length
				}, z, &fd.Settings{Formula: fd.Central, Step: 1e-3})
				near(t, fmt.Sprintf("motion ratio at %g", z), ratio, -slope, 2e-6*max(1, abs(ratio)))
			}
		})
	}
}

func TestMotionRatioOfRandomWishbones(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := mustNew(t, randomWishbone(t))
		low, high := l.Reach()
		z := rapid.Float64Range(max(low*0.8, -100), min(high*0.8, 100)).Draw(t, "z")
		_, ratio := at(t, l, z)
		slope := fd.Derivative(func(z float64) float64 {
			length, _ := at(t, l, z)
			return length
		}, z, &fd.Settings{Formula: fd.Central, Step: 1e-3})
		near(t, "motion ratio", ratio, -slope, 5e-6*max(1, abs(ratio)))
	})
}

func abs(x float64) float64 { return max(x, -x) }
