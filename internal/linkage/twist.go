package linkage

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"midstroke/internal/fault"
	"midstroke/internal/note"
	"midstroke/internal/unit"
)

// RubberTwistMost is the angle in degrees out of its plane that a rubber bushing
// bears for long: common practice, no source.
const RubberTwistMost = 8

// alongDamper is the sine of the least angle between a bolt and the damper: a
// bolt along the damper goes through no eye of it. Our choice: 1°.
const alongDamper = 0.0175

// Twist is how far an eye is twisted out of its plane, in degrees: the angle
// between the damper and the plane square to the eye's bolt,
//
//	asin |d·a|,
//
// with d the damper's direction and a the bolt's. An eye turns freely about its
// bolt, so nothing else twists its bushing.
type Twist struct {
	AtRide, Most float64
	// Where is where it is Most.
	Where
}

// Where is a wheel travel from ride; for an axle the travels of its two wheels.
type Where struct {
	WheelTravel unit.Length // not for an axle
	OfAxle      bool
	Left, Right unit.Length // for an axle alone
}

// Twists are those of the two eyes, nil for one whose bolt's direction was not
// given.
type Twists struct{ Upper, Lower *Twist }

// bolts are the bolts' unit vectors at ride; zero where not given.
type bolts struct{ upper, lower r3.Vec }

var noBolt r3.Vec

// newBolts checks the directions of the bolts.
func newBolts(s *Spec, damper r3.Vec, faults *fault.List) bolts {
	return bolts{
		upper: newBolt("/upper_axis", s.UpperAxis, damper, faults),
		lower: newBolt("/lower_axis", s.LowerAxis, damper, faults),
	}
}

func newBolt(pointer string, d Direction, damper r3.Vec, faults *fault.List) r3.Vec {
	if d == nil {
		return noBolt
	}
	if len(d) != 3 {
		faults.Add(pointer, axisNotInSpace)
		return noBolt
	}
	// Scaled first, so that no square is too large or too small.
	largest := max(math.Abs(d[0]), math.Abs(d[1]), math.Abs(d[2]))
	if !(largest > 0) || math.IsInf(largest, 0) {
		faults.Add(pointer, axisNoLength)
		return noBolt
	}
	v := r3.Unit(r3.Vec{X: d[0] / largest, Y: d[1] / largest, Z: d[2] / largest})
	if n := length(damper); n >= tellApart && length(r3.Cross(v, r3.Scale(1/n, damper))) < alongDamper {
		faults.Add(pointer, axisAlongDamper)
		return noBolt
	}
	return v
}

// eyes gives the angles by which the eyes are twisted at a setting.
type eyes struct {
	linkage   *Linkage
	lower     spot // the damper's lower end
	along     spot // a point on the lower bolt
	alongAway float64
}

func (l *Linkage) eyes() *eyes {
	e := &eyes{linkage: l, lower: l.spotOn(l.motion, l.lower)}
	// A point on the axis of its arm doesn't turn, but its bolt turns with the arm
	// like that of any other point.
	e.alongAway = 100
	e.along = l.spotOn(l.motion, r3.Add(l.lower, r3.Scale(e.alongAway, l.bolts.lower)))
	return e
}

// damper is the damper's unit vector at a setting, from its lower end.
func (e *eyes) damper(s *setting) r3.Vec { return r3.Unit(r3.Sub(e.linkage.upper, e.lower.at(s))) }

func (e *eyes) upperSine(s *setting) float64 {
	return math.Abs(r3.Dot(e.damper(s), e.linkage.bolts.upper))
}

func (e *eyes) lowerSine(s *setting) float64 {
	bolt := r3.Scale(1/e.alongAway, r3.Sub(e.along.at(s), e.lower.at(s)))
	return math.Abs(r3.Dot(e.damper(s), bolt))
}

// degrees is the angle of a sine, which rounding may have put beyond 1.
func degrees(sine float64) float64 { return math.Asin(min(1, sine)) * 180 / math.Pi }

// Twists gives how far the eyes are twisted over a range of wheel travel about a
// ride height, which is a wheel travel in mm on the linkage's own count; for an
// axle over the square of left and right travels. The range must be within reach.
func (l *Linkage) Twists(ride float64, r Range) Twists {
	if l.bolts == (bolts{}) {
		return Twists{}
	}
	e, g := l.eyes(), l.newGrid(ride-r.Droop.Mm(), ride+r.Bump.Mm(), nil)
	find := func(bolt r3.Vec, sine func(*setting) float64) *Twist {
		if bolt == noBolt {
			return nil
		}
		least, at := g.least(func(s *setting) float64 { return -sine(s) })
		home := l.settingAt(ride)
		return &Twist{degrees(sine(&home)), degrees(-least), at.from(ride)}
	}
	return Twists{find(l.bolts.upper, e.upperSine), find(l.bolts.lower, e.lowerSine)}
}

// TwistsAt gives the angles in degrees at a wheel travel within reach; for an axle
// at both wheels alike. One whose bolt's direction was not given is nil.
func (l *Linkage) TwistsAt(z float64) (upper, lower *float64) {
	if l.bolts == (bolts{}) {
		return nil, nil
	}
	e, at := l.eyes(), l.settingAt(z)
	find := func(bolt r3.Vec, sine func(*setting) float64) *float64 {
		if bolt == noBolt {
			return nil
		}
		angle := degrees(sine(&at))
		return &angle
	}
	return find(l.bolts.upper, e.upperSine), find(l.bolts.lower, e.lowerSine)
}

// settingAt is the linkage at a wheel travel, an axle with both wheels alike.
func (l *Linkage) settingAt(z float64) setting {
	s := setting{left: z, right: z}
	if a, ok := l.motion.(axle); ok {
		s.axle, s.rolled = &a, a.corner(z, z)
		return s
	}
	_, _, s.pose = l.motion.carry(z, pose{})
	return s
}

// from tells where a setting is from ride.
func (s *setting) from(ride float64) Where {
	left, right := unit.FromMm(s.left-ride), unit.FromMm(s.right-ride)
	if s.axle != nil {
		return Where{OfAxle: true, Left: left, Right: right}
	}
	return Where{WheelTravel: left}
}

// twist fills in what the bolts' directions tell of a travel.
func (l *Linkage) twist(t *Travel) {
	if l.bolts == (bolts{}) {
		return
	}
	t.Twists = l.Twists(0, t.Range)
	t.Cautions = append(t.Cautions, t.Twists.Cautions()...)
	for i := range t.Curve {
		p := &t.Curve[i]
		p.UpperTwist, p.LowerTwist = l.TwistsAt(p.WheelTravel.Mm())
	}
}

// Cautions are bushing_twisted for each eye that is twisted by more than
// RubberTwistMost.
func (t Twists) Cautions() []note.Note {
	var list []note.Note
	for i, twist := range [2]*Twist{t.Upper, t.Lower} {
		if twist != nil && twist.Most > RubberTwistMost {
			list = append(list, note.New("bushing_twisted", note.Word("end", [2]string{"upper", "lower"}[i]),
				note.Num("twist", math.Round(twist.Most*10)/10, "°"), note.Num("most", RubberTwistMost, "°")))
		}
	}
	return list
}
