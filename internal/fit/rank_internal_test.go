package fit

import (
	"math"
	"math/big"
	"testing"

	"pgregory.net/rapid"

	"midstroke/internal/mount"
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

// A rank that comes before another never has the greater key, also where a field is
// too large for the key. The second rank has the first fields of the first, so that
// each field decides in turn.
func TestKeysKeepTheOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		size := rapid.OneOf(rapid.Int64Range(0, 2), rapid.Int64Range(0, math.MaxInt64))
		draw := func(name string) rank {
			of := func(field string, most int) int { return rapid.IntRange(0, most).Draw(t, name+" "+field) }
			return rank{
				grade: Grade(of("grade", grades-1)), adapters: uint8(of("adapters", 2)), step: int32(of("step", 19)), parts: int32(of("parts", 80)),
				stroke: unit.Length(size.Draw(t, name+" stroke")), price: mount.Price(size.Draw(t, name+" price")),
				inverted: uint8(of("inverted", 1)), damper: int32(of("damper", 2)),
			}
		}
		a, b := draw("first"), draw("second")
		for _, same := range []func(){
			func() { b.grade, b.adapters, b.step = a.grade, a.adapters, a.step }, func() { b.parts = a.parts },
			func() { b.stroke = a.stroke }, func() { b.price = a.price }, func() { b.inverted = a.inverted },
		} {
			if a.compare(&b) <= 0 && b.key().less(a.key()) || a.compare(&b) >= 0 && a.key().less(b.key()) {
				t.Fatalf("%+v and %+v have keys of another order", a, b)
			}
			same()
		}
	})
}

// Hardware that costs less, and adapters that come first by code, are not in the key:
// what has the key of the last on a full list may still belong before it.
func TestWhatHasTheKeyOfTheLastMayBeBetter(t *testing.T) {
	l := shortlist[rank]{
		most:    1,
		compare: func(a, b *rank) int { return a.compare(b) },
		key:     func(r *rank) key { return r.key() },
		damper:  func(r *rank) int32 { return r.damper },
	}
	dear, cheap, later := rank{damper: 3, cost: hardwareCost{known: 200}}, rank{damper: 3, cost: hardwareCost{known: 100}}, rank{damper: 4}
	if !l.offer(&dear) || !l.mayWant(cheap.key()) || !l.offer(&cheap) || l.items[0] != cheap {
		t.Errorf("the list has %+v, want what costs less", l.items)
	}
	if l.mayWant(later.key()) {
		t.Error("a full list may want what comes after all of it")
	}
}
