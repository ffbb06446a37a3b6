package linkage_test

import (
	"errors"
	"fmt"
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"midstroke/internal/fault"
	"midstroke/internal/linkage"
	"midstroke/internal/unit"
)

// pt is a point in mm.
func pt(c ...float64) linkage.Point {
	p := make(linkage.Point, len(c))
	for i, x := range c {
		p[i] = unit.FromMm(x)
	}
	return p
}

func mm(x float64) unit.Length { return unit.FromMm(x) }

func mustNew(tb rapid.TB, s linkage.Spec) *linkage.Linkage {
	tb.Helper()
	l, faults := linkage.New(s)
	if len(faults) > 0 {
		tb.Fatalf("%v", faults)
	}
	return l
}

// at is the length and motion ratio at a wheel travel that can be reached.
func at(tb rapid.TB, l *linkage.Linkage, z float64) (length, ratio float64) {
	tb.Helper()
	length, ratio, err := l.At(z)
	if err != nil {
		tb.Fatalf("at %g: %v", z, err)
	}
	return length, ratio
}

func near(tb rapid.TB, what string, got, want, tol float64) {
	tb.Helper()
	if !(math.Abs(got-want) <= tol) {
		tb.Errorf("%s is %.9g, want %.9g ± %g", what, got, want, tol)
	}
}

// inclined is a damper with horizontal offset a and vertical offset b.
func inclined(a, b float64) linkage.Spec {
	return linkage.Spec{Kind: linkage.Inclined, Damper: linkage.Damper{Upper: pt(0, 0, b), Lower: pt(0, a, 0)}}
}

// axle is a common rear axle with its damper leaning inwards.
func axle() linkage.Spec {
	return linkage.Spec{
		Kind:      linkage.SolidAxle,
		RollPoint: pt(0, 0, 350),
		Wheels:    linkage.Wheels{Left: pt(0, 750, 350), Right: pt(0, -750, 350)},
		Damper:    linkage.Damper{Upper: pt(0, 400, 700), Lower: pt(0, 500, 300)},
	}
}

// trailing is a trailing arm 500 long, its damper upright above 400.
func trailing() linkage.Spec {
	return linkage.Spec{
		Kind:   linkage.SwingArm,
		PivotA: pt(0, 300, 300), PivotB: pt(0, 700, 300),
		Wheel:  pt(-500, 650, 300),
		Damper: linkage.Damper{Upper: pt(-400, 600, 700), Lower: pt(-400, 600, 300)},
	}
}

// semiTrailing is an arm about an axis across all three directions.
func semiTrailing() linkage.Spec {
	return linkage.Spec{
		Kind:   linkage.SwingArm,
		PivotA: pt(120, 250, 300), PivotB: pt(-60, 620, 280),
		Wheel:  pt(-430, 720, 310),
		Damper: linkage.Damper{Upper: pt(-330, 540, 690), Lower: pt(-350, 600, 260)},
	}
}

// parallelogram is a planar wishbone with equal, level arms of 400 on an upright
// of 300, its damper upright over half the lower arm.
func parallelogram() linkage.Spec {
	return linkage.Spec{
		Kind:     linkage.DoubleWishbone,
		LowerArm: linkage.Arm{Inner: pt(300, 200), Outer: pt(700, 200)},
		UpperArm: linkage.Arm{Inner: pt(300, 500), Outer: pt(700, 500)},
		Wheel:    pt(760, 330),
		Damper:   linkage.Damper{Upper: pt(500, 600), Lower: pt(500, 200)},
	}
}

// planar is a planar wishbone with arms of unequal length.
func planar() linkage.Spec {
	return linkage.Spec{
		Kind:     linkage.DoubleWishbone,
		LowerArm: linkage.Arm{Inner: pt(330, 215), Outer: pt(720, 190)},
		UpperArm: linkage.Arm{Inner: pt(410, 480), Outer: pt(680, 510)},
		Wheel:    pt(770, 320),
		Damper:   linkage.Damper{Upper: pt(430, 640), Lower: pt(600, 205)},
	}
}

// spatial is a double wishbone of a passenger car's size.
func spatial() linkage.Spec {
	return linkage.Spec{
		Kind:     linkage.DoubleWishbone,
		LowerArm: linkage.Arm{Front: pt(180, 360, 210), Rear: pt(-190, 340, 220), Outer: pt(10, 720, 190)},
		UpperArm: linkage.Arm{Front: pt(120, 420, 500), Rear: pt(-130, 410, 480), Outer: pt(-15, 670, 510)},
		TieRod:   linkage.TieRod{Inner: pt(-130, 350, 250), Outer: pt(-120, 700, 240)},
		Wheel:    pt(0, 770, 320),
		Damper:   linkage.Damper{Upper: pt(0, 430, 640), Lower: pt(5, 600, 205)},
	}
}

// on is the spec with its damper on another part.
func on(s linkage.Spec, part linkage.Part, lower linkage.Point) linkage.Spec {
	s.Damper.On, s.Damper.Lower = part, lower
	return s
}

// everyKind is one or more suspensions of each kind.
func everyKind() map[string]linkage.Spec {
	return map[string]linkage.Spec{
		"inclined":             inclined(100, 300),
		"over centre":          inclined(260, 60),
		"solid axle":           axle(),
		"trailing arm":         trailing(),
		"semi-trailing arm":    semiTrailing(),
		"parallelogram":        parallelogram(),
		"planar, lower arm":    planar(),
		"planar, upper arm":    on(planar(), linkage.UpperArm, pt(600, 500)),
		"planar, upright":      on(planar(), linkage.Upright, pt(690, 250)),
		"spatial, lower arm":   spatial(),
		"spatial, upper arm":   on(spatial(), linkage.UpperArm, pt(30, 590, 505)),
		"spatial, the upright": on(spatial(), linkage.Upright, pt(20, 700, 260)),
	}
}

// TestCheckValues holds closed forms and lever ratios that can be redone with a
// pocket calculator; each was computed apart from this program.
func TestCheckValues(t *testing.T) {
	// Inclined damper, a 100, b 300. Pythagoras.
	l := mustNew(t, inclined(100, 300))
	length, ratio := at(t, l, 0)
	near(t, "inclined: ride length, √(a²+b²)", length, 316.2278, 1e-3)
	near(t, "inclined: motion ratio, b/L", ratio, 0.948683, 1e-5)
	length, _ = at(t, l, 80)
	near(t, "inclined: length at +80", length, 241.6609, 1e-3)

	// Solid axle, exact rotation by 5°; first order would give 371.0384.
	// Rotation matrix about x, done apart.
	a, ok := mustNew(t, axle()).Axle()
	if !ok {
		t.Fatal("no axle")
	}
	length, err := a.Pose(0, 5*math.Pi/180)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "axle: length at 5° of roll", length, 370.6726, 1e-3)
	const h = 1e-4
	up, _ := a.Pose(0, h)
	down, _ := a.Pose(0, -h)
	// n·(φ × r), first order in roll.
	near(t, "axle: length per degree of roll", (up-down)/(2*h)*math.Pi/180, -8.25444, 1e-4)

	// Trailing arm 500 long, mount at 400, damper upright: lever ratio, and
	// sin θ = 100/500.
	l = mustNew(t, trailing())
	_, ratio = at(t, l, 0)
	near(t, "trailing arm: motion ratio", ratio, 0.8, 1e-5)
	length, _ = at(t, l, 100)
	near(t, "trailing arm: length at +100", length, 320.102, 1e-3)

	// Parallelogram 400/300, damper over half the arm: lever ratio, and
	// sin θ = 100/400.
	l = mustNew(t, parallelogram())
	length, ratio = at(t, l, 0)
	near(t, "parallelogram: ride length", length, 400, 1e-9)
	near(t, "parallelogram: motion ratio", ratio, 0.5, 1e-5)
	length, _ = at(t, l, 100)
	near(t, "parallelogram: length at +100", length, 350.0576, 1e-3)
}

// TestSwingArmCircle compares a plain trailing arm with the circle that its
// mount goes round: elementary geometry, no source.
func TestSwingArmCircle(t *testing.T) {
	l := mustNew(t, trailing())
	for z := -400.0; z <= 400; z += 25 {
		sin := z / 500
		cos := math.Sqrt(1 - sin*sin)
		dx, dz := 400-400*cos, 400-400*sin
		want := math.Hypot(dx, dz)
		// d/dz of the above with dθ/dz = 1/(500 cos θ).
		wantRatio := -(dx*400*sin - dz*400*cos) / want / (500 * cos)
		length, ratio := at(t, l, z)
		near(t, fmt.Sprintf("length at %g", z), length, want, 1e-9)
		near(t, fmt.Sprintf("motion ratio at %g", z), ratio, wantRatio, 1e-12)
	}
}

// TestSwingArmRodrigues compares an arm about a skew axis with rotation by
// unit quaternions of gonum's spatial/r3, an independent implementation: for
// each angle the wheel centre is turned, its rise is asked for, and the damper
// must be as long as the turned mount makes it.
func TestSwingArmRodrigues(t *testing.T) {
	l := mustNew(t, semiTrailing())
	a, b := vec(pt(120, 250, 300)), vec(pt(-60, 620, 280))
	wheel, lower, upper := vec(pt(-430, 720, 310)), vec(pt(-350, 600, 260)), vec(pt(-330, 540, 690))
	for deg := -30.0; deg <= 30; deg += 2.5 {
		turn := r3.NewRotation(deg*math.Pi/180, r3.Sub(b, a))
		moved := func(p r3.Vec) r3.Vec { return r3.Add(a, turn.Rotate(r3.Sub(p, a))) }
		length, _ := at(t, l, moved(wheel).Z-wheel.Z)
		near(t, fmt.Sprintf("length at %g°", deg), length, r3.Norm(r3.Sub(moved(lower), upper)), 1e-9)
	}
}

// TestAxleRotation compares poses with rotation by unit quaternions of gonum's
// spatial/r3, and asks each pose again by the wheel travels it has.
func TestAxleRotation(t *testing.T) {
	s := axle()
	// Wheels that are not symmetric about the roll point, and a damper that
	// leans fore and aft as well.
	s.RollPoint, s.Wheels.Left, s.Wheels.Right = pt(0, 40, 420), pt(0, 760, 340), pt(0, -730, 352)
	s.Damper.Lower = pt(-60, 520, 310)
	a, _ := mustNew(t, s).Axle()
	roll, upper := vec(s.RollPoint), vec(s.Damper.Upper)
	for deg := -24.0; deg <= 24; deg += 4 {
		for heave := -100.0; heave <= 100; heave += 50 {
			turn := r3.NewRotation(deg*math.Pi/180, r3.Vec{X: 1})
			moved := func(p linkage.Point) r3.Vec {
				v := r3.Add(roll, turn.Rotate(r3.Sub(vec(p), roll)))
				v.Z += heave
				return v
			}
			want := r3.Norm(r3.Sub(moved(s.Damper.Lower), upper))
			got, err := a.Pose(heave, deg*math.Pi/180)
			if err != nil {
				t.Fatal(err)
			}
			near(t, fmt.Sprintf("pose %g, %g°", heave, deg), got, want, 1e-9)
			left := moved(s.Wheels.Left).Z - vec(s.Wheels.Left).Z
			right := moved(s.Wheels.Right).Z - vec(s.Wheels.Right).Z
			got, err = a.Corner(left, right)
			if err != nil {
				t.Fatal(err)
			}
			near(t, fmt.Sprintf("corner %g, %g", left, right), got, want, 1e-9)
		}
	}
}

// TestAxleHeave: an axle that only heaves is an inclined damper.
func TestAxleHeave(t *testing.T) {
	l := mustNew(t, axle())
	a, _ := l.Axle()
	for z := -120.0; z <= 120; z += 10 {
		want := math.Hypot(100, 400-z)
		length, ratio := at(t, l, z)
		near(t, "length", length, want, 1e-9)
		near(t, "motion ratio", ratio, (400-z)/want, 1e-12)
		corner, err := a.Corner(z, z)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "length with both wheels alike", corner, want, 1e-9)
	}
}

func vec(p linkage.Point) r3.Vec {
	if len(p) == 2 {
		return r3.Vec{Y: p[0].Mm(), Z: p[1].Mm()}
	}
	return r3.Vec{X: p[0].Mm(), Y: p[1].Mm(), Z: p[2].Mm()}
}

// TestMove: a moved mount is a linkage measured anew with it there, and along
// the damper it changes the ride length by exactly as much.
func TestMove(t *testing.T) {
	for name, s := range everyKind() {
		t.Run(name, func(t *testing.T) {
			l := mustNew(t, s)
			ride, _ := at(t, l, 0)
			for _, d := range []float64{-30, 12.5} {
				longer, err := l.Move(linkage.UpperMount, r3.Scale(d, l.Direction()))
				if err != nil {
					t.Fatal(err)
				}
				length, _ := at(t, longer, 0)
				near(t, "ride length, upper mount moved", length, ride+d, 1e-9)
				if longer, err = l.Move(linkage.LowerMount, r3.Scale(-d, l.Direction())); err != nil {
					t.Fatal(err)
				}
				length, _ = at(t, longer, 0)
				near(t, "ride length, lower mount moved", length, ride+d, 1e-9)
			}
			v := r3.Vec{X: 3, Y: -14, Z: 8}
			for _, m := range []linkage.Mount{linkage.UpperMount, linkage.LowerMount} {
				moved, err := l.Move(m, v)
				if err != nil {
					t.Fatal(err)
				}
				anew := s
				end := &anew.Damper.Upper
				if m == linkage.LowerMount {
					end = &anew.Damper.Lower
				}
				p := r3.Add(vec(*end), v)
				if len(*end) == 2 {
					*end = pt(p.Y, p.Z)
				} else {
					*end = pt(p.X, p.Y, p.Z)
				}
				want := mustNew(t, anew)
				for _, z := range []float64{-50, 0, 35} {
					gotLength, gotRatio := at(t, moved, z)
					wantLength, wantRatio := at(t, want, z)
					near(t, "length", gotLength, wantLength, 1e-9)
					near(t, "motion ratio", gotRatio, wantRatio, 1e-9)
				}
			}
		})
	}
}

func TestMoveRefuses(t *testing.T) {
	l := mustNew(t, trailing())
	_, err := l.Move(linkage.LowerMount, r3.Vec{X: 400})
	wantFault(t, err, "/damper/lower", "on_axis")
	_, err = l.Move(linkage.UpperMount, r3.Vec{Z: -400})
	wantFault(t, err, "/damper/lower", "same_place")
	_, err = mustNew(t, planar()).Move(linkage.LowerMount, r3.Vec{Y: -270, Z: 10})
	wantFault(t, err, "/damper/lower", "on_axis")
}

func wantFault(t *testing.T, err error, pointer, code string) {
	t.Helper()
	var list fault.List
	if !errors.As(err, &list) || len(list) != 1 || list[0].Pointer != pointer || list[0].Code.Public() != code {
		t.Errorf("got %v, want %s at %s", err, code, pointer)
	}
}
