package linkage_test

import (
	"fmt"
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"midstroke/internal/fault"
	"midstroke/internal/linkage"
	"midstroke/internal/note"
	"midstroke/internal/unit"
)

// A damper that heaves, 100 mm to one side and 300 mm high: its length is
// sqrt(100² + (300 - z)²), so a bolt across the vehicle, which lies along its
// offset, is off square by asin(100 / length). Worked by hand.
func TestTwistOfAnInclinedDamper(t *testing.T) {
	s := inclined(100, 300)
	s.UpperAxis, s.LowerAxis = linkage.Direction{0, -3, 0}, linkage.Direction{2, 0, 0}
	l := mustNew(t, s)
	got := l.Twists(0, linkage.Range{Bump: mm(80), Droop: mm(60)})
	near(t, "upper at ride", got.Upper.AtRide, math.Asin(100/316.22776601683796)*180/math.Pi, 1e-9) // 18.43°
	near(t, "upper most", got.Upper.Most, math.Asin(100/241.66091947189146)*180/math.Pi, 1e-9)      // 24.44°
	equal(t, "where", got.Upper.WheelTravel, mm(80))
	// A bolt along the vehicle stands square to a damper that has no offset there.
	near(t, "lower most", got.Lower.Most, 0, 1e-9)
	upper, lower := l.TwistsAt(80)
	near(t, "at 80", *upper, 24.44, 0.01)
	near(t, "at 80", *lower, 0, 1e-9)

	s.LowerAxis = nil
	if got := mustNew(t, s).Twists(0, linkage.Range{Bump: mm(80)}); got.Lower != nil || got.Upper == nil {
		t.Errorf("a bolt that was not given has a twist: %+v", got)
	}
}

// On a trailing arm 500 mm long with the damper upright 400 mm from the pivot, a
// bolt along the arm turns with it: at 100 mm of bump the arm has turned by
// asin(0.2). The damper stands then between (-400, 0, 400) and
// (-400 cos, 0, 400 sin), by hand.
func TestTwistOnASwingArm(t *testing.T) {
	s := trailing()
	s.UpperAxis, s.LowerAxis = linkage.Direction{1, 0, 0}, linkage.Direction{1, 0, 0}
	l := mustNew(t, s)
	sin, cos := 0.2, math.Sqrt(1-0.04)
	dx, dz := -400+400*cos, 400-400*sin // from the lower end to the upper one
	n := math.Hypot(dx, dz)
	upper, lower := l.TwistsAt(100)
	near(t, "upper", *upper, math.Abs(math.Asin(dx/n))*180/math.Pi, 1e-9)
	// The arm points backwards and its end rises, so its bolt is (cos, 0, -sin).
	near(t, "lower", *lower, math.Abs(math.Asin((dx*cos-dz*sin)/n))*180/math.Pi, 1e-9)
}

// On equal parallel arms the upright doesn't turn, and the lower arm of 400 mm
// turns by asin(z / 400).
func TestTwistOnAParallelogram(t *testing.T) {
	s := parallelogram()
	s.LowerAxis = linkage.Direction{0, 1, 0}
	arm := mustNew(t, s)
	s.Damper.On, s.Damper.Lower = linkage.Upright, s.LowerArm.Outer
	upright := mustNew(t, s)
	damper := func(lower r3.Vec) r3.Vec { return r3.Unit(r3.Sub(vec(s.Damper.Upper), lower)) }
	sin, cos := 0.25, math.Sqrt(1-0.0625)
	turn := func(v r3.Vec) r3.Vec { return r3.Vec{Y: cos*v.Y - sin*v.Z, Z: sin*v.Y + cos*v.Z} }
	pivot := vec(s.LowerArm.Inner)
	onArm := r3.Add(pivot, turn(r3.Sub(vec(parallelogram().Damper.Lower), pivot)))
	_, lower := arm.TwistsAt(100)
	near(t, "on the arm", *lower, math.Asin(math.Abs(r3.Dot(damper(onArm), turn(r3.Vec{Y: 1}))))*180/math.Pi, 1e-9)
	joint := r3.Add(pivot, turn(r3.Sub(vec(s.LowerArm.Outer), pivot)))
	_, lower = upright.TwistsAt(100)
	near(t, "on the upright", *lower, math.Asin(math.Abs(damper(joint).Y))*180/math.Pi, 1e-9)
}

// Bolts whose directions say nothing.
func TestFaultsOfBolts(t *testing.T) {
	for _, c := range []struct {
		what         string
		upper, lower linkage.Direction
		want         []string
	}{
		{"square and long", linkage.Direction{1e-200, 0, 0}, linkage.Direction{1e200, 0, 0}, nil},
		{"no length", linkage.Direction{0, 0, 0}, linkage.Direction{math.NaN(), 0, 0}, []string{"/upper_axis no_length", "/lower_axis no_length"}},
		{"no end", linkage.Direction{math.Inf(1), 0, 0}, nil, []string{"/upper_axis no_length"}},
		{"along the damper", linkage.Direction{0, -1, 3}, linkage.Direction{0, 1, -3}, []string{"/upper_axis along_damper", "/lower_axis along_damper"}},
		{"two figures", linkage.Direction{0, 1}, nil, []string{"/upper_axis wrong_dimension"}},
	} {
		s := inclined(100, 300)
		s.UpperAxis, s.LowerAxis = c.upper, c.lower
		_, faults := linkage.New(s)
		equal(t, c.what, fmt.Sprint(placesOf(faults)), fmt.Sprint(c.want))
	}
}

// placesOf lists faults by place and public code, and sees to their words.
func placesOf(faults fault.List) []string {
	var list []string
	for i := range faults {
		f := &faults[i]
		list = append(list, f.Pointer+" "+f.Code.Public())
		for _, lang := range note.Languages() {
			if text := f.Text(lang, unit.Millimetres); text == string(f.Code) {
				list = append(list, text+" has no words in "+lang)
			}
		}
	}
	return list
}

func equal[T comparable](t testing.TB, what string, got, want T) {
	t.Helper()
	if got != want {
		t.Errorf("%s: got %v, want %v", what, got, want)
	}
}

// upright is a damper of 400 mm that stands upright and heaves.
func upright() linkage.Spec {
	return linkage.Spec{Kind: linkage.Inclined, Damper: linkage.Damper{Upper: pt(0, 0, 600), Lower: pt(0, 0, 200)}}
}

// Gaps beside an upright damper, by hand. Its body is 50 mm thick and reaches 100
// mm from the end that carries it. Over 75 mm of bump and 65 of droop the lower
// end goes from 135 to 275.
func TestGapsBesideAnUprightDamper(t *testing.T) {
	l := mustNew(t, upright())
	r := linkage.Range{Bump: mm(75), Droop: mm(65)}
	for _, c := range []struct {
		what     string
		obstacle linkage.Obstacle
		body     linkage.Body
		gap      float64
		at       float64
	}{
		// The body passes it, so only the sideways distance counts: 60 - 25 - 5.
		{"beside the body", linkage.Obstacle{Point: pt(0, 60, 280), Radius: mm(5)}, linkage.Body{Diameter: mm(50), Length: mm(100)}, 30, math.NaN()},
		// The body's end comes no higher than 275 + 100 = 375, 125 below it.
		{"above the body", linkage.Obstacle{Point: pt(0, 60, 500)}, linkage.Body{Diameter: mm(50), Length: mm(100)}, math.Hypot(60, 125) - 25, 75},
		// Carried by the upper end the body reaches down to 500 and stands still.
		{"below the body", linkage.Obstacle{Point: pt(0, 60, 280)}, linkage.Body{Diameter: mm(50), Length: mm(100), AtUpper: true}, math.Hypot(60, 220) - 25, math.NaN()},
		// An obstacle that moves with the wheel keeps its place beside the lower end.
		{"on the wheel", linkage.Obstacle{Point: pt(0, 60, 180), WithWheel: true}, linkage.Body{Diameter: mm(50), Length: mm(100)}, math.Hypot(60, 20) - 25, math.NaN()},
		// It comes up beside the body that the upper end carries: at 75 of bump from
		// 380 to 455, 45 short of the body's end.
		{"on the wheel, body above", linkage.Obstacle{Point: pt(0, 60, 380), WithWheel: true}, linkage.Body{Diameter: mm(50), Length: mm(100), AtUpper: true}, math.Hypot(60, 45) - 25, 75},
		// The line between the mounts alone, as far as it goes.
		{"no body", linkage.Obstacle{Point: pt(30, 40, 590), Radius: mm(10)}, linkage.Body{}, 40, math.NaN()},
		{"above the mounts", linkage.Obstacle{Point: pt(0, 0, 650)}, linkage.Body{}, 50, math.NaN()},
		// They meet: 20 - 25 - 5.
		{"in the body", linkage.Obstacle{Point: pt(20, 0, 250), Radius: mm(5)}, linkage.Body{Diameter: mm(50), Length: mm(100)}, -10, math.NaN()},
	} {
		around := l.Surroundings(0, r, []linkage.Obstacle{c.obstacle})
		got := around.Gaps(c.body)[0]
		near(t, c.what, got.Gap.Mm(), c.gap, 1e-6)
		if !math.IsNaN(c.at) {
			near(t, c.what+", at", got.WheelTravel.Mm(), c.at, 1e-6)
		}
		near(t, c.what+", there", around.GapsAt(c.body, got.WheelTravel)[0].Mm(), c.gap, 1e-6)
	}
}

// Counted from another ride height, the same places have other wheel travels.
func TestGapsFromAnotherRideHeight(t *testing.T) {
	l := mustNew(t, upright())
	o := []linkage.Obstacle{{Point: pt(0, 60, 500)}}
	b := linkage.Body{Diameter: mm(50), Length: mm(100)}
	got := l.Surroundings(-30, linkage.Range{Bump: mm(105), Droop: mm(35)}, o).Gaps(b)[0]
	near(t, "gap", got.Gap.Mm(), math.Hypot(60, 125)-25, 1e-6)
	near(t, "at", got.WheelTravel.Mm(), 105, 1e-6)
}

func TestFaultsOfObstacles(t *testing.T) {
	l, flat := mustNew(t, upright()), mustNew(t, planar())
	for _, c := range []struct {
		what string
		l    *linkage.Linkage
		list []linkage.Obstacle
		want []string
	}{
		{"good", l, []linkage.Obstacle{{Point: pt(1, 2, 3)}, {Point: pt(-1, 0, 3), Radius: mm(20), WithWheel: true}}, nil},
		{"in the plane", flat, []linkage.Obstacle{{Point: pt(2, 3)}, {Point: pt(1, 2, 3)}}, nil},
		{"two figures in space", l, []linkage.Obstacle{{Point: pt(2, 3)}}, []string{"/0/point wrong_dimension"}},
		{"far off", l, []linkage.Obstacle{{Point: pt(0, 0, 0)}, {Point: pt(0, 0, 10_001)}}, []string{"/1/point/2 out_of_range"}},
		{"a radius below zero", l, []linkage.Obstacle{{Point: pt(0, 0, 0), Radius: mm(-1)}}, []string{"/0/radius out_of_range"}},
		{"too many", l, make([]linkage.Obstacle, linkage.MostObstacles+1), []string{" too_many"}},
	} {
		equal(t, c.what, fmt.Sprint(placesOf(c.l.CheckObstacles(c.list))), fmt.Sprint(c.want))
	}
}

// model places the moving points of a suspension by other means than the
// package's: lower is the damper's lower end, bolt a point on its bolt, and
// obstacle one on the wheel's part.
type model func(t *testing.T, left, right float64) (lower, bolt, obstacle r3.Vec)

// modelOf makes the model of a suspension whose lower bolt lies along axis.
func modelOf(s linkage.Spec, axis, obstacle r3.Vec) model {
	lower := vec(s.Damper.Lower)
	bolt := r3.Add(lower, r3.Scale(50, axis))
	switch s.Kind {
	case linkage.Inclined:
		return func(_ *testing.T, z, _ float64) (_, _, _ r3.Vec) {
			up := r3.Vec{Z: z}
			return r3.Add(lower, up), r3.Add(bolt, up), r3.Add(obstacle, up)
		}
	case linkage.SwingArm:
		a, wheel := vec(s.PivotA), vec(s.Wheel)
		line := r3.Unit(r3.Sub(vec(s.PivotB), a))
		turned := func(p r3.Vec, angle float64) r3.Vec {
			// gonum's rotation by a quaternion.
			return r3.Add(a, r3.NewRotation(angle, line).Rotate(r3.Sub(p, a)))
		}
		return func(_ *testing.T, z, _ float64) (_, _, _ r3.Vec) {
			angle := bisect(-1.2, 1.2, func(angle float64) float64 { return turned(wheel, angle).Z - wheel.Z - z })
			return turned(lower, angle), turned(bolt, angle), turned(obstacle, angle)
		}
	case linkage.SolidAxle:
		roll, l, r := vec(s.RollPoint), vec(s.Wheels.Left), vec(s.Wheels.Right)
		turned := func(p r3.Vec, angle float64) r3.Vec {
			return r3.Add(roll, r3.NewRotation(angle, r3.Vec{X: 1}).Rotate(r3.Sub(p, roll)))
		}
		return func(_ *testing.T, left, right float64) (_, _, _ r3.Vec) {
			angle := bisect(-1, 1, func(angle float64) float64 {
				return turned(l, angle).Z - l.Z - (turned(r, angle).Z - r.Z) - (left - right)
			})
			up := r3.Vec{Z: left - (turned(l, angle).Z - l.Z)}
			return r3.Add(turned(lower, angle), up), r3.Add(turned(bolt, angle), up), r3.Add(turned(obstacle, angle), up)
		}
	case linkage.DoubleWishbone:
	}
	b := newBars(s)
	part := [3]string{"lf", "lr", "c"}
	switch s.Damper.On {
	case linkage.UpperArm:
		part = [3]string{"uf", "ur", "d"}
	case linkage.Upright:
		part = [3]string{"c", "d", "t"}
	case linkage.LowerArm:
	}
	b.add("bolt", bolt, part)
	b.add("obstacle", obstacle, [3]string{"c", "d", "t"})
	return func(t *testing.T, z, _ float64) (_, _, _ r3.Vec) {
		b.lift(t, z)
		return b.at("p"), b.at("bolt"), b.at("obstacle")
	}
}

// add holds one more point to three joints by bars.
func (b *bars) add(name string, at r3.Vec, to [3]string) {
	b.names = append(b.names, name)
	b.x = append(b.x, at.X, at.Y, at.Z)
	for _, other := range to {
		b.pairs = append(b.pairs, [2]string{name, other})
		b.long2 = append(b.long2, r3.Norm2(r3.Sub(at, b.at(other))))
	}
}

// bisect finds where a rising or falling f passes zero.
func bisect(low, high float64, f func(float64) float64) float64 {
	rising := f(high) > f(low)
	for range 60 {
		middle := (low + high) / 2
		if (f(middle) < 0) == rising {
			low = middle
		} else {
			high = middle
		}
	}
	return (low + high) / 2
}

// distanceToSegment is the distance of o from the part of the line from p to q
// that reaches so far, by trying points along it.
func distanceToSegment(o, p, q r3.Vec, reach float64) float64 {
	n := dist(p, q)
	along := r3.Scale(min(reach, n)/n, r3.Sub(q, p))
	low, high := 0.0, 1.0
	at := func(f float64) float64 { return dist(o, r3.Add(p, r3.Scale(f, along))) }
	for range 60 { // ternary search: the distance has one least value
		a, b := low+(high-low)/3, high-(high-low)/3
		if at(a) < at(b) {
			high = b
		} else {
			low = a
		}
	}
	return at((low + high) / 2)
}

// Twist and gaps of every kind against dense sampling of models that share no
// step with the package: translation, gonum's quaternions with bisection, and the
// bars of constant length.
func TestTwistAndGapsAgainstDenseSampling(t *testing.T) {
	for name, s := range map[string]linkage.Spec{
		"inclined": inclined(100, 300), "over centre": inclined(260, 60),
		"trailing arm": trailing(), "semi-trailing arm": semiTrailing(), "solid axle": axle(),
		"spatial, lower arm": spatial(), "spatial, upper arm": on(spatial(), linkage.UpperArm, pt(30, 590, 505)),
		"spatial, the upright": on(spatial(), linkage.Upright, pt(20, 700, 260)),
	} {
		t.Run(name, func(t *testing.T) {
			axis := r3.Unit(r3.Vec{X: 1, Y: 0.2, Z: -0.1})
			s.UpperAxis, s.LowerAxis = linkage.Direction{3, 0, 0.3}, linkage.Direction{axis.X, axis.Y, axis.Z}
			upper, lower := vec(s.Damper.Upper), vec(s.Damper.Lower)
			// Beside the damper, one on the body and one on the wheel's part.
			middle := r3.Scale(0.5, r3.Add(upper, lower))
			body, wheel := r3.Add(middle, r3.Vec{X: 70, Y: -20}), r3.Add(middle, r3.Vec{X: -60, Y: 30})
			obstacles := []linkage.Obstacle{{Point: pt(body.X, body.Y, body.Z), Radius: mm(4)}, {Point: pt(wheel.X, wheel.Y, wheel.Z), WithWheel: true}}
			at := modelOf(s, axis, wheel)
			l := mustNew(t, s)
			const low, high = -70.0, 80.0
			r := linkage.Range{Bump: mm(high), Droop: mm(-low)}
			twists, around := l.Twists(0, r), l.Surroundings(0, r, obstacles)
			carried := []linkage.Body{{Diameter: mm(50), Length: mm(150)}, {Diameter: mm(50), Length: mm(150), AtUpper: true}}

			upperBolt := r3.Unit(r3.Vec{X: 3, Z: 0.3})
			var mostUpper, mostLower float64
			least := [2][2]float64{{math.Inf(1), math.Inf(1)}, {math.Inf(1), math.Inf(1)}}
			look := func(left, right float64) {
				p, b, o := at(t, left, right)
				damper := r3.Unit(r3.Sub(upper, p))
				off := func(bolt r3.Vec) float64 { return math.Abs(math.Asin(r3.Dot(damper, bolt))) * 180 / math.Pi }
				mostUpper, mostLower = max(mostUpper, off(upperBolt)), max(mostLower, off(r3.Unit(r3.Sub(b, p))))
				for i, from := range [2]r3.Vec{p, upper} {
					to := [2]r3.Vec{upper, p}[i]
					least[i][0] = min(least[i][0], distanceToSegment(body, from, to, 150)-25-4)
					least[i][1] = min(least[i][1], distanceToSegment(o, from, to, 150)-25)
				}
			}
			n := 400
			if s.Kind == linkage.SolidAxle {
				n = 60
			}
			for i := range n + 1 {
				left := low + (high-low)*float64(i)/float64(n)
				if s.Kind != linkage.SolidAxle {
					look(left, left)
					continue
				}
				for j := range n + 1 {
					look(left, low+(high-low)*float64(j)/float64(n))
				}
			}
			near(t, "upper twist", twists.Upper.Most, mostUpper, 2e-3)
			near(t, "lower twist", twists.Lower.Most, mostLower, 2e-3)
			for i, b := range carried {
				for k, got := range around.Gaps(b) {
					near(t, fmt.Sprintf("gap %d of body %d", k, i), got.Gap.Mm(), least[i][k], 5e-3)
					if got.Gap.Mm() > least[i][k]+1e-5 {
						t.Errorf("gap %d of body %d is %g, and sampling finds %g", k, i, got.Gap.Mm(), least[i][k])
					}
				}
			}
		})
	}
}

// A wider range never leaves more room, nor a thicker or a longer body.
func TestGapsNeverGrowWithTheRange(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := randomWishbone(t)
		l := mustNew(t, s)
		low, high := l.Reach()
		room := min(0.9*high, -0.9*low, 120)
		small := linkage.Range{Bump: mm(room / 2), Droop: mm(room / 3)}
		large := linkage.Range{Bump: mm(room), Droop: mm(room)}
		p := vec(s.Damper.Lower)
		o := []linkage.Obstacle{{
			Point:     pt(p.X+rapid.Float64Range(-100, 100).Draw(t, "x"), p.Y+rapid.Float64Range(-100, 100).Draw(t, "y"), p.Z+rapid.Float64Range(0, 300).Draw(t, "z")),
			WithWheel: rapid.Bool().Draw(t, "with wheel"),
		}}
		b := linkage.Body{Diameter: mm(40), Length: mm(120), AtUpper: rapid.Bool().Draw(t, "at upper")}
		first := l.Surroundings(0, small, o).Gaps(b)[0].Gap
		wider := l.Surroundings(0, large, o)
		if second := wider.Gaps(b)[0].Gap; second > first+1000 {
			t.Fatalf("over a wider range the gap grows from %v to %v", first, second)
		}
		longer := b
		longer.Length += mm(60)
		if second := wider.Gaps(longer)[0].Gap; second > wider.Gaps(b)[0].Gap+1000 {
			t.Fatalf("a longer body leaves more room: %v", second)
		}
	})
}

// What a travel tells of the bolts and of what stands around the damper.
func TestTravelTellsTwistAndClearance(t *testing.T) {
	s := upright()
	s.Damper.Upper = pt(0, 100, 500) // 100 to one side, 300 high
	s.UpperAxis = linkage.Direction{0, 1, 0}
	l := mustNew(t, s)
	o := linkage.Options{
		Range: linkage.Range{Bump: mm(80), Droop: mm(40)}, Points: 13, Body: linkage.Body{Diameter: mm(50), Length: mm(100)},
		Obstacles: []linkage.Obstacle{{Name: "rail", Point: pt(40, 100, 500)}, {Name: "tyre", Point: pt(0, -60, 200), WithWheel: true}},
	}
	got, faults := l.Travel(o)
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	equal(t, "points", len(got.Curve), 13)
	for _, p := range got.Curve {
		near(t, "twist", *p.UpperTwist, math.Asin(100/p.Length.Mm())*180/math.Pi, 1e-6)
		equal(t, "no bolt", p.LowerTwist, nil)
	}
	near(t, "most", got.Twists.Upper.Most, math.Asin(100/math.Hypot(100, 220))*180/math.Pi, 1e-6)
	equal(t, "obstacles", len(got.Clearances), 2)
	for _, c := range got.Clearances {
		least := c.Trace[0]
		for _, gap := range c.Trace {
			least = min(least, gap)
		}
		near(t, c.Name, c.Gap.Gap.Mm(), least.Mm(), 0.05) // the trace is a few millimetres apart
	}
	// 60 sideways, and the body leans away from it: 60 cos - 25 at ride, cos = 300/316.2.
	equal(t, "rail", got.Clearances[0].Name, "rail")
	var codes []string
	for _, n := range got.Cautions {
		codes = append(codes, string(n.Code))
		wantWords(t, n)
	}
	equal(t, "cautions", fmt.Sprint(codes), "[bushing_twisted]")
	o.Obstacles = append(o.Obstacles, linkage.Obstacle{Name: "pipe", Point: pt(35, 0, 200)}, linkage.Obstacle{Name: "hose", Point: pt(0, 0, 210)})
	got, _ = l.Travel(o)
	small := map[string]bool{}
	for _, n := range got.Cautions {
		wantWords(t, n)
		if n.Code == "clearance_small" {
			small[n.Values[0].Text] = true
		}
	}
	// The pipe is 35 - 25 = 10 mm away where the damper's lower end passes it.
	equal(t, "small", fmt.Sprint(small), "map[hose:true pipe:true]")

	o.Body.Length, o.Obstacles[0].Radius = mm(-1), mm(-1)
	_, faults = l.Travel(o)
	equal(t, "faults", fmt.Sprint(placesOf(faults)), "[/obstacles/0/radius out_of_range /body/length out_of_range]")
}

// The axle of section 5 of the formulas: -8.25444 mm of damper for a degree of
// roll about a point level with the wheels, 750 mm from either. A degree lifts the
// left wheel by 750 π/180 = 13.0900 mm, so the ratio is 0.63059, by hand.
func TestRatioInRoll(t *testing.T) {
	ratioOf := func(s linkage.Spec) float64 {
		got := travel(t, mustNew(t, s), 60, 60)
		low := false
		for _, n := range got.Cautions {
			if n.Code == "roll_ratio_low" {
				low = true
				wantWords(t, n)
			}
		}
		equal(t, "caution", low, math.Abs(*got.MotionRatio.InRoll) < 0.5)
		return *got.MotionRatio.InRoll
	}
	near(t, "left damper", ratioOf(axle()), 8.25444/(750*math.Pi/180), 1e-5)
	right := axle()
	right.Damper = linkage.Damper{Upper: pt(0, -400, 700), Lower: pt(0, -500, 300)}
	near(t, "right damper", ratioOf(right), 8.25444/(750*math.Pi/180), 1e-5)
	// An upright damper 300 mm from the middle: 300 of 750, the lever ratio.
	inboard := axle()
	inboard.Damper = linkage.Damper{Upper: pt(0, 300, 700), Lower: pt(0, 300, 300)}
	near(t, "inboard", ratioOf(inboard), 0.4, 1e-12)
	// By differences of the pose, with a roll point below the wheels' centres.
	low := axle()
	low.RollPoint = pt(0, 40, 250)
	a, _ := mustNew(t, low).Axle()
	up, err := a.Corner(0.01, -0.01)
	down, err2 := a.Corner(-0.01, 0.01)
	if err != nil || err2 != nil {
		t.Fatal(err, err2)
	}
	near(t, "by differences", ratioOf(low), -(up-down)/0.02, 1e-6)
	equal(t, "no axle", travel(t, mustNew(t, trailing()), 60, 60).MotionRatio.InRoll, nil)
}
