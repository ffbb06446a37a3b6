package linkage_test

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"midstroke/internal/linkage"
)

// everyPoint is s with f done to each of its points.
func everyPoint(s linkage.Spec, f func(r3.Vec) r3.Vec) linkage.Spec {
	for _, p := range []*linkage.Point{
		&s.Damper.Upper, &s.Damper.Lower, &s.PivotA, &s.PivotB, &s.Wheel, &s.RollPoint, &s.Wheels.Left, &s.Wheels.Right,
		&s.LowerArm.Front, &s.LowerArm.Rear, &s.LowerArm.Inner, &s.LowerArm.Outer,
		&s.UpperArm.Front, &s.UpperArm.Rear, &s.UpperArm.Inner, &s.UpperArm.Outer,
		&s.TieRod.Inner, &s.TieRod.Outer,
	} {
		if *p == nil {
			continue
		}
		v := f(vec(*p))
		if len(*p) == 2 {
			*p = pt(v.Y, v.Z)
		} else {
			*p = pt(v.X, v.Y, v.Z)
		}
	}
	return s
}

// same holds two linkages to the same length and motion ratio at a travel. The
// tolerances leave room for coordinates that were rounded to a nanometre.
func same(t rapid.TB, a, b *linkage.Linkage, z float64) {
	t.Helper()
	wantLength, wantRatio := at(t, a, z)
	length, ratio := at(t, b, z)
	near(t, "length", length, wantLength, 1e-4)
	near(t, "motion ratio", ratio, wantRatio, 1e-5)
}

func TestMirrored(t *testing.T) {
	for name, s := range everyKind() {
		t.Run(name, func(t *testing.T) {
			m := everyPoint(s, func(v r3.Vec) r3.Vec { v.Y = -v.Y; return v })
			m.Wheels.Left, m.Wheels.Right = m.Wheels.Right, m.Wheels.Left
			a, b := mustNew(t, s), mustNew(t, m)
			for z := -50.0; z <= 40; z += 9 {
				same(t, a, b, z)
			}
			if x, ok := a.Axle(); ok {
				y, _ := b.Axle()
				for _, w := range [][2]float64{{60, -40}, {-10, 80}, {50, 50}} {
					want, _ := x.Corner(w[0], w[1])
					got, err := y.Corner(w[1], w[0])
					if err != nil {
						t.Fatal(err)
					}
					near(t, "corner", got, want, 1e-9)
				}
			}
		})
	}
}

// TestTurnedFrame: a frame turned about the vertical, moved anywhere, changes
// no length. (An axle's roll axis is along x, so it is moved only.)
func TestTurnedFrame(t *testing.T) {
	for name, s := range everyKind() {
		t.Run(name, func(t *testing.T) {
			rapid.Check(t, func(t *rapid.T) {
				c := rapid.Float64Range(-1500, 1500)
				by := r3.Vec{X: c.Draw(t, "x"), Y: c.Draw(t, "y"), Z: c.Draw(t, "z")}
				turn := 0.0
				if s.Kind != linkage.SolidAxle && len(s.Damper.Upper) == 3 {
					turn = rapid.Float64Range(-math.Pi, math.Pi).Draw(t, "turn")
				}
				rot := r3.NewRotation(turn, r3.Vec{Z: 1})
				m := everyPoint(s, func(v r3.Vec) r3.Vec { return r3.Add(rot.Rotate(v), by) })
				same(t, mustNew(t, s), mustNew(t, m), rapid.Float64Range(-50, 50).Draw(t, "z"))
			})
		})
	}
}

// TestTurnedRandomWishbones is the same for wishbones that nobody chose, over
// all that they reach.
func TestTurnedRandomWishbones(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := randomWishbone(t)
		rot := r3.NewRotation(rapid.Float64Range(-math.Pi, math.Pi).Draw(t, "turn"), r3.Vec{Z: 1})
		a, b := mustNew(t, s), mustNew(t, everyPoint(s, rot.Rotate))
		low, high := a.Reach()
		low2, high2 := b.Reach()
		near(t, "lowest travel", low2, low, 1e-2)
		near(t, "highest travel", high2, high, 1e-2)
		same(t, a, b, rapid.Float64Range(0.8*low, 0.8*high).Draw(t, "z"))
	})
}

// TestPivotsReversed: which pivot is named first changes nothing.
func TestPivotsReversed(t *testing.T) {
	reversed := func(s linkage.Spec) linkage.Spec {
		s.PivotA, s.PivotB = s.PivotB, s.PivotA
		s.LowerArm.Front, s.LowerArm.Rear = s.LowerArm.Rear, s.LowerArm.Front
		return s
	}
	upper := func(s linkage.Spec) linkage.Spec {
		s.UpperArm.Front, s.UpperArm.Rear = s.UpperArm.Rear, s.UpperArm.Front
		return s
	}
	for name, s := range map[string]linkage.Spec{"swing arm": semiTrailing(), "wishbone": spatial()} {
		t.Run(name, func(t *testing.T) {
			a := mustNew(t, s)
			for _, other := range []linkage.Spec{reversed(s), upper(s), upper(reversed(s))} {
				b := mustNew(t, other)
				for z := -60.0; z <= 60; z += 10 {
					wantLength, wantRatio := at(t, a, z)
					length, ratio := at(t, b, z)
					near(t, "length", length, wantLength, 1e-9)
					near(t, "motion ratio", ratio, wantRatio, 1e-9)
				}
			}
		})
	}
}

// TestDamperOnAnyPartAtAnOuterJoint: where a damper stands on a joint, both
// parts that meet there carry it alike.
func TestDamperOnAnyPartAtAnOuterJoint(t *testing.T) {
	s := spatial()
	for _, c := range []struct {
		arm   linkage.Part
		joint linkage.Point
	}{{linkage.LowerArm, s.LowerArm.Outer}, {linkage.UpperArm, s.UpperArm.Outer}} {
		a, b := mustNew(t, on(s, c.arm, c.joint)), mustNew(t, on(s, linkage.Upright, c.joint))
		for z := -100.0; z <= 100; z += 10 {
			wantLength, wantRatio := at(t, a, z)
			length, ratio := at(t, b, z)
			near(t, "length", length, wantLength, 1e-8)
			near(t, "motion ratio", ratio, wantRatio, 1e-8)
		}
	}
}
