package linkage_test

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"midstroke/internal/linkage"
)

// TestFreudenstein solves the planar loop by Freudenstein's equation (Trans.
// ASME 77 (1955) 853-861) and compares. With the ground link from the lower to
// the upper pivot as a = 0 direction, arms r1 and r3, upright r2 and ground d,
//
//	K1 cos ψ - K2 cos φ + K3 = cos(φ - ψ),
//	K1 = d/r1, K2 = d/r3, K3 = (r1² - r2² + r3² + d²)/(2 r1 r3),
//
// which in tan(ψ/2) is a quadratic. Angles are measured from the ground link.
func TestFreudenstein(t *testing.T) {
	for name, s := range map[string]linkage.Spec{"unequal arms": planar(), "parallelogram": parallelogram()} {
		t.Run(name, func(t *testing.T) {
			l := mustNew(t, s)
			a, b := vec(s.LowerArm.Inner), vec(s.UpperArm.Inner)
			c, d := vec(s.LowerArm.Outer), vec(s.UpperArm.Outer)
			wheel, lower, upper := vec(s.Wheel), vec(s.Damper.Lower), vec(s.Damper.Upper)
			r1, r2, r3_, g := dist(a, c), dist(c, d), dist(b, d), dist(a, b)
			ground := math.Atan2(b.Z-a.Z, b.Y-a.Y)
			phi0 := math.Atan2(c.Z-a.Z, c.Y-a.Y) - ground
			psi0 := math.Atan2(d.Z-b.Z, d.Y-b.Y) - ground
			k1, k2 := g/r1, g/r3_
			k3 := (r1*r1 - r2*r2 + r3_*r3_ + g*g) / (2 * r1 * r3_)

			for deg := -12.0; deg <= 12; deg++ {
				phi := phi0 + deg*math.Pi/180
				psi := nearestRoot(phi, psi0+deg*math.Pi/180, k1, k2, k3)
				cNow := polar(a, r1, phi+ground)
				dNow := polar(b, r3_, psi+ground)
				// The upright turns by as much as the line from C to D.
				turn := math.Atan2(dNow.Z-cNow.Z, dNow.Y-cNow.Y) - math.Atan2(d.Z-c.Z, d.Y-c.Y)
				wheelNow := r3.Add(cNow, turned(r3.Sub(wheel, c), turn))
				lowerNow := r3.Add(a, turned(r3.Sub(lower, a), phi-phi0))
				length, _ := at(t, l, wheelNow.Z-wheel.Z)
				near(t, fmt.Sprintf("length with the lower arm at %g°", deg), length, dist(lowerNow, upper), 1e-9)
			}
		})
	}
}

// nearestRoot solves Freudenstein's equation for ψ and takes the root nearest
// guess.
func nearestRoot(phi, guess, k1, k2, k3 float64) float64 {
	// cos(φ-ψ) = cos φ cos ψ + sin φ sin ψ; with t = tan(ψ/2):
	// (K3 - K2 cos φ)(1+t²) + (K1 - cos φ)(1-t²) - 2 t sin φ = 0.
	a := k3 - k2*math.Cos(phi) - (k1 - math.Cos(phi))
	b := -2 * math.Sin(phi)
	c := k3 - k2*math.Cos(phi) + (k1 - math.Cos(phi))
	root := math.Sqrt(b*b - 4*a*c)
	best := math.Inf(1)
	var psi float64
	for _, n := range []float64{-b + root, -b - root} {
		p := 2 * math.Atan2(n, 2*a)
		off := math.Remainder(p-guess, 2*math.Pi)
		if math.Abs(off) < best {
			best, psi = math.Abs(off), guess+off
		}
	}
	return psi
}

func dist(p, q r3.Vec) float64 { return r3.Norm(r3.Sub(p, q)) }

func polar(from r3.Vec, r, angle float64) r3.Vec {
	return r3.Vec{Y: from.Y + r*math.Cos(angle), Z: from.Z + r*math.Sin(angle)}
}

func turned(v r3.Vec, angle float64) r3.Vec {
	s, c := math.Sincos(angle)
	return r3.Vec{Y: c*v.Y - s*v.Z, Z: s*v.Y + c*v.Z}
}

// bars is a double wishbone as nothing but joints held apart by bars of constant
// length, solved by Newton's method on all coordinates at once with gonum's
// mat: a method that shares no step with the closed forms.
type bars struct {
	fixed map[string]r3.Vec // on the body
	names []string          // of the joints that move, in the order of x
	x     []float64
	pairs [][2]string
	long2 []float64
	wheel float64 // height at ride
}

func newBars(s linkage.Spec) *bars {
	b := &bars{
		fixed: map[string]r3.Vec{
			"lf": vec(s.LowerArm.Front), "lr": vec(s.LowerArm.Rear),
			"uf": vec(s.UpperArm.Front), "ur": vec(s.UpperArm.Rear), "ti": vec(s.TieRod.Inner),
		},
		names: []string{"c", "d", "t", "w", "p"},
		pairs: [][2]string{
			{"c", "lf"}, {"c", "lr"}, {"d", "uf"}, {"d", "ur"}, {"c", "d"},
			{"t", "c"}, {"t", "d"}, {"t", "ti"},
			{"w", "c"}, {"w", "d"}, {"w", "t"},
		},
	}
	switch s.Damper.On {
	case linkage.UpperArm:
		b.pairs = append(b.pairs, [2]string{"p", "uf"}, [2]string{"p", "ur"}, [2]string{"p", "d"})
	case linkage.Upright:
		b.pairs = append(b.pairs, [2]string{"p", "c"}, [2]string{"p", "d"}, [2]string{"p", "t"})
	case linkage.LowerArm, "":
		b.pairs = append(b.pairs, [2]string{"p", "lf"}, [2]string{"p", "lr"}, [2]string{"p", "c"})
	}
	for _, p := range []linkage.Point{s.LowerArm.Outer, s.UpperArm.Outer, s.TieRod.Outer, s.Wheel, s.Damper.Lower} {
		v := vec(p)
		b.x = append(b.x, v.X, v.Y, v.Z)
	}
	b.wheel = vec(s.Wheel).Z
	for _, p := range b.pairs {
		b.long2 = append(b.long2, r3.Norm2(r3.Sub(b.at(p[0]), b.at(p[1]))))
	}
	return b
}

func (b *bars) index(name string) int {
	for i, n := range b.names {
		if n == name {
			return 3 * i
		}
	}
	return -1
}

func (b *bars) at(name string) r3.Vec {
	if i := b.index(name); i >= 0 {
		return r3.Vec{X: b.x[i], Y: b.x[i+1], Z: b.x[i+2]}
	}
	return b.fixed[name]
}

// lift moves the wheel to z from where it is.
func (b *bars) lift(t *testing.T, z float64) {
	t.Helper()
	n := len(b.x)
	for range 50 {
		j, f := mat.NewDense(n, n, nil), mat.NewVecDense(n, nil)
		for row, p := range b.pairs {
			d := r3.Sub(b.at(p[0]), b.at(p[1]))
			f.SetVec(row, r3.Norm2(d)-b.long2[row])
			for k, v := range []float64{d.X, d.Y, d.Z} {
				if i := b.index(p[0]); i >= 0 {
					j.Set(row, i+k, 2*v)
				}
				if i := b.index(p[1]); i >= 0 {
					j.Set(row, i+k, -2*v)
				}
			}
		}
		j.Set(n-1, b.index("w")+2, 1)
		f.SetVec(n-1, b.at("w").Z-b.wheel-z)
		var step mat.VecDense
		if err := step.SolveVec(j, f); err != nil {
			t.Fatalf("at %g: %v", z, err)
		}
		for i := range b.x {
			b.x[i] -= step.AtVec(i)
		}
		if mat.Norm(&step, math.Inf(1)) < 1e-11 {
			return
		}
	}
	t.Fatalf("at %g: the bars do not settle", z)
}

func TestSpatialAgainstBars(t *testing.T) {
	for name, s := range map[string]linkage.Spec{
		"lower arm": spatial(),
		"upper arm": on(spatial(), linkage.UpperArm, pt(30, 590, 505)),
		"upright":   on(spatial(), linkage.Upright, pt(20, 700, 260)),
	} {
		t.Run(name, func(t *testing.T) {
			l := mustNew(t, s)
			upper := vec(s.Damper.Upper)
			for _, way := range []float64{1, -1} {
				b := newBars(s)
				for z := 0.0; z <= 120; z += 4 {
					b.lift(t, way*z)
					length, _ := at(t, l, way*z)
					near(t, fmt.Sprintf("length at %g", way*z), length, dist(b.at("p"), upper), 1e-8)
				}
			}
		})
	}
}

// TestPlanarAsSpatial: a double wishbone in space whose axes lie along x and
// whose tie rod doubles the upper arm is the planar one.
func TestPlanarAsSpatial(t *testing.T) {
	flat := planar()
	along := func(p linkage.Point, x float64) linkage.Point { return linkage.Point{mm(x), p[0], p[1]} }
	s := linkage.Spec{
		Kind: linkage.DoubleWishbone,
		LowerArm: linkage.Arm{
			Front: along(flat.LowerArm.Inner, 150), Rear: along(flat.LowerArm.Inner, -150), Outer: along(flat.LowerArm.Outer, 0)},
		UpperArm: linkage.Arm{
			Front: along(flat.UpperArm.Inner, 120), Rear: along(flat.UpperArm.Inner, -120), Outer: along(flat.UpperArm.Outer, 0)},
		TieRod: linkage.TieRod{Inner: along(flat.UpperArm.Inner, -100), Outer: along(flat.UpperArm.Outer, -100)},
		Wheel:  along(flat.Wheel, 0),
		Damper: linkage.Damper{Upper: along(flat.Damper.Upper, 0), Lower: along(flat.Damper.Lower, 0)},
	}
	l, m := mustNew(t, flat), mustNew(t, s)
	for z := -90.0; z <= 90; z += 10 {
		wantLength, wantRatio := at(t, l, z)
		length, ratio := at(t, m, z)
		near(t, fmt.Sprintf("length at %g", z), length, wantLength, 1e-8)
		near(t, fmt.Sprintf("motion ratio at %g", z), ratio, wantRatio, 1e-9)
	}
}

// randomWishbone draws a wishbone in space near a passenger car's.
func randomWishbone(t *rapid.T) linkage.Spec {
	s := spatial()
	move := func(p linkage.Point, by float64) linkage.Point {
		q := make(linkage.Point, len(p))
		for i := range p {
			q[i] = p[i] + mm(rapid.Float64Range(-by, by).Draw(t, "move"))
		}
		return q
	}
	for _, p := range []*linkage.Point{
		&s.LowerArm.Front, &s.LowerArm.Rear, &s.LowerArm.Outer,
		&s.UpperArm.Front, &s.UpperArm.Rear, &s.UpperArm.Outer,
		&s.TieRod.Inner, &s.TieRod.Outer, &s.Wheel, &s.Damper.Upper, &s.Damper.Lower,
	} {
		*p = move(*p, 60)
	}
	s.Damper.On = rapid.SampledFrom([]linkage.Part{linkage.LowerArm, linkage.UpperArm, linkage.Upright}).Draw(t, "on")
	if s.Damper.On == linkage.UpperArm {
		s.Damper.Lower[2] += mm(280)
	}
	return s
}

// TestBranch: whatever is reached from ride is reached without a jump, however
// the solver was led there.
func TestBranch(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := mustNew(t, randomWishbone(t))
		low, high := l.Reach()
		if !(low < 0 && high > 0) {
			t.Fatalf("ride lies outside the reach %g to %g", low, high)
		}
		const n = 400
		before, slope, err := l.At(low)
		if err != nil {
			t.Fatal(err)
		}
		for i := 1; i <= n; i++ {
			f := float64(i) / n
			z := low*(1-f) + high*f
			length, ratio, err := l.At(z)
			if err != nil {
				t.Fatal(err)
			}
			// The length changes by the mean of the slopes at the two ends, to a
			// quarter of the larger one and what the ends of the reach, where the
			// slope rises without bound, add.
			h := (high - low) / n
			drop := before - length
			bound := h*(math.Abs(slope)+math.Abs(ratio)) + 1
			if i > 4 && i < n-4 && math.Abs(drop-h*(slope+ratio)/2) > 0.25*bound {
				t.Fatalf("from %g to %g the length falls by %g where its slopes %g and %g say otherwise", z-h, z, drop, slope, ratio)
			}
			before, slope = length, ratio
		}
	})
}

// TestReachEnds: the ends of the reach answer, a hair beyond does not, and the
// error says what is in the way.
func TestReachEnds(t *testing.T) {
	for name, s := range everyKind() {
		t.Run(name, func(t *testing.T) {
			l := mustNew(t, s)
			low, high := l.Reach()
			at(t, l, low)
			at(t, l, high)
			for _, z := range []float64{low - 1, high + 1, math.Inf(1), math.Inf(-1)} {
				_, _, err := l.At(z)
				var e *linkage.TravelError
				if !errors.As(err, &e) {
					t.Fatalf("at %g: %v", z, err)
				}
				if e.Code.Public() != "unreachable" || e.Travel != z || e.Low != low || e.High != high || e.Point == "" || strings.ContainsAny(e.Error(), "{}") || !strings.Contains(e.Error(), "can't be reached") {
					t.Errorf("at %g: %+v", z, e)
				}
			}
			_, _, err := l.At(math.NaN())
			var e *linkage.TravelError
			if !errors.As(err, &e) || e.Code.Public() != "out_of_range" {
				t.Errorf("at NaN: %v", err)
			}
		})
	}
}

// TestArmsOpen: a short upper arm comes to stand in one line with the upright,
// and the linkage ends there. The place is looked for by the distance between
// upper pivot and lower joint alone, which is then the sum of the two links.
func TestArmsOpen(t *testing.T) {
	s := planar()
	s.UpperArm = linkage.Arm{Inner: pt(560, 470), Outer: pt(690, 500)}
	// Inboard of the joints: the quicker the upright turns, the faster it falls.
	s.Wheel = pt(650, 320)
	l := mustNew(t, s)
	low, _ := l.Reach()
	_, _, err := l.At(low - 10)
	var e *linkage.TravelError
	if !errors.As(err, &e) || e.Point != "/upper_arm/outer" {
		t.Fatalf("got %v", err)
	}

	a, b, c, d := vec(s.LowerArm.Inner), vec(s.UpperArm.Inner), vec(s.LowerArm.Outer), vec(s.UpperArm.Outer)
	upright, arm := dist(c, d), dist(b, d)
	deg := 0.0
	at := func() r3.Vec { return r3.Add(a, turned(r3.Sub(c, a), deg*math.Pi/180)) }
	for dist(b, at()) < upright+arm {
		deg -= 1e-4
		if deg < -90 {
			t.Fatal("the links never stand in one line")
		}
	}
	cNow := at()
	dNow := r3.Add(b, r3.Scale(arm/(upright+arm), r3.Sub(cNow, b)))
	turn := math.Atan2(dNow.Z-cNow.Z, dNow.Y-cNow.Y) - math.Atan2(d.Z-c.Z, d.Y-c.Y)
	wheel := r3.Add(cNow, turned(r3.Sub(vec(s.Wheel), c), turn))
	// It stops short by 0.06° between the links, some tenths of a millimetre at
	// the wheel.
	near(t, "lowest wheel travel", low, wheel.Z-vec(s.Wheel).Z, 0.5)
}
