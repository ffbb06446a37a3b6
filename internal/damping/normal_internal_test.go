package damping

import (
	"math"
	"testing"
)

// TestNormal holds the series against math.Erf and math.Exp, between the steps and at
// them, and beyond the last one.
func TestNormal(t *testing.T) {
	for i := range 100_001 {
		x := float64(i) * 1e-4
		within, density := normal(x)
		if want := math.Erf(x/math.Sqrt2) / 2; math.Abs(within-want) > 1e-15 {
			t.Fatalf("%g within %g, want %g", within, x, want)
		}
		if want := math.Exp(-x*x/2) / math.Sqrt(2*math.Pi); math.Abs(density-want) > 1e-15 {
			t.Fatalf("density %g at %g, want %g", density, x, want)
		}
	}
	for _, x := range []float64{11, 1e300, math.Inf(1)} {
		if within, density := normal(x); within != 0.5 || density != 0 {
			t.Errorf("%g and %g at %g", within, density, x)
		}
	}
}

func BenchmarkNormal(b *testing.B) {
	x := 0.0
	for b.Loop() {
		if x += 0.001; x > 4 {
			x = 0
		}
		if within, _ := normal(x); within < 0 {
			b.Fatal()
		}
	}
}
