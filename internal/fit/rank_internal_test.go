package fit

import (
	"math/big"
	"testing"

	"pgregory.net/rapid"

	"midstroke/internal/unit"
)

// nearnessByRationals counts whole steps of 1/20 with big rationals.
func nearnessByRationals(travel, stroke unit.Length, prefer Ratio) int32 {
	off := big.NewRat(int64(travel), int64(stroke))
	off.Sub(off, big.NewRat(prefer.Num, prefer.Den)).Abs(off)
	step := int32(0)
	for limit := big.NewRat(1, 20); off.Cmp(limit) > 0; limit.Add(limit, big.NewRat(1, 20)) {
		step++
	}
	return step
}

func TestNearnessIsExact(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		stroke := unit.Length(rapid.Int64Range(1, int64(10*unit.Metre)).Draw(t, "stroke"))
		travel := unit.Length(rapid.Int64Range(0, int64(stroke)).Draw(t, "travel"))
		den := rapid.Int64Range(1, int64(20*unit.Metre)).Draw(t, "den")
		prefer := Ratio{rapid.Int64Range(0, den).Draw(t, "num"), den}
		if rapid.Bool().Draw(t, "near a boundary") {
			// Put the difference on a step's boundary or one nanometre off it.
			step := rapid.Int64Range(0, 20).Draw(t, "step")
			stroke = 20 * (stroke/20 + 1)
			prefer = Ratio{step, 20}
			travel = unit.Length(rapid.Int64Range(0, 20).Draw(t, "twentieths")) * stroke / 20
			travel = min(stroke, max(0, travel+unit.Length(rapid.Int64Range(-1, 1).Draw(t, "off"))))
		}
		want := nearnessByRationals(travel, stroke, prefer)
		if got := nearness(travel, stroke, prefer); got != want {
			t.Fatalf("nearness(%d, %d, %v) = %d, by rationals %d", travel, stroke, prefer, got, want)
		}
		if got := nearnessExact(travel, stroke, prefer); got != want {
			t.Fatalf("nearnessExact(%d, %d, %v) = %d, by rationals %d", travel, stroke, prefer, got, want)
		}
	})
}

func TestNearnessOnABoundaryIsTheNearerStep(t *testing.T) {
	const stroke = 10 * unit.Inch
	half := Ratio{1, 2}
	for _, c := range []struct {
		travel unit.Length
		want   int32 // origin: the contract's order, "a difference on the boundary belongs to the nearer step"
	}{
		{5 * unit.Inch, 0},
		{5*unit.Inch + unit.Inch/2, 0},
		{5*unit.Inch + unit.Inch/2 + 1, 1},
		{6 * unit.Inch, 1},
		{6*unit.Inch + 1, 2},
		{0, 9},
	} {
		if got := nearness(c.travel, stroke, half); got != c.want {
			t.Errorf("travel %d of %d: step %d, want %d", c.travel, stroke, got, c.want)
		}
	}
}
