package linkage

import (
	"fmt"
	"math"

	"midstroke/internal/fault"
	"midstroke/internal/note"
	"midstroke/internal/unit"
)

// Range is the wheel travel that is judged: from ride up by Bump and down by
// Droop. Neither is negative, and not both are 0.
type Range struct{ Bump, Droop unit.Length }

// How many points a curve may have.
const (
	FewestPoints  = 2
	MostPoints    = 1001
	DefaultPoints = 41
)

// Options say what is asked of [Linkage.Travel].
type Options struct {
	Range Range
	// Points is how many evenly spaced points the curve has, from droop to
	// bump; 0 means DefaultPoints, or none where At is given. Not both.
	Points int
	// At lists the wheel travels of the curve, at most MostPoints, in any
	// order; they may lie outside Range.
	At []unit.Length
	// Poses are for an axle alone, at most MostPoints.
	Poses []Pose
	// Obstacles are near the damper, at most MostObstacles. Body is what must
	// clear them.
	Obstacles []Obstacle
	Body      Body
	// Places asks where the linkage's points are at each sample of the Curve.
	Places bool
}

// Pose is a heave of an axle's roll point and a roll of the axle, positive
// lifting its left end, |roll| < 90°.
type Pose struct {
	Heave   unit.Length
	RollDeg float64
}

// PoseLength is the damper's length at a pose.
type PoseLength struct {
	Pose
	Length unit.Length
}

// Sample is one point of a curve; for an axle in pure heave.
type Sample struct {
	WheelTravel, Length unit.Length
	MotionRatio         float64
	// UpperTwist and LowerTwist are in degrees, as for [Twist]; nil where the bolt's
	// direction was not given. Only a Curve has them.
	UpperTwist, LowerTwist *float64
	// Places are those of the points that move; only a Curve has them, where Options
	// ask for them.
	Places []Place
}

// Clearance is how much room an obstacle leaves the damper.
type Clearance struct {
	Name string
	Gap  Gap
	// Trace is the gap at each sample of the travel's Trace.
	Trace []unit.Length
}

// Travel is what a linkage asks of its damper over a range of wheel travel.
type Travel struct {
	Kind       Kind
	Range      Range
	RideLength unit.Length
	// MotionRatio is damper travel over wheel travel at ride, and the least and
	// the greatest over the range. For an axle it is that in pure heave.
	MotionRatio Ratios
	// Shortest and Longest are over the whole range, interior extremes
	// included; for an axle over the square of left and right travels.
	Shortest, Longest Extreme
	// Compression and Extension are how far the damper must shorten and
	// lengthen from ride: never negative.
	Compression, Extension unit.Length
	// Curve is what was asked for.
	Curve []Sample
	// Trace is the samples that the extremes were looked for on, from droop to
	// bump: fine enough for a drawing.
	Trace []Sample
	Poses []PoseLength
	// Twists are those of the eyes over the range.
	Twists Twists
	// Clearances are those of the obstacles, in their order.
	Clearances []Clearance
	// Cautions are over_centre, once for each wheel travel where the damper
	// turns from shortening to lengthening or back; for an axle
	// extreme_between_corners, roll_ratio_low and axle_sideways; bushing_twisted for
	// an eye; and clearance_small for an obstacle.
	Cautions []note.Note
}

// Ratios are motion ratios.
type Ratios struct {
	AtRide, Least, Most float64
	// InRoll is for an axle alone, else nil: the damper's travel over that of the
	// wheel on its side, while the other wheel moves as far the other way.
	InRoll *float64
}

// Travel computes the damper's length over a range of wheel travel. Faults
// point into {"range": {"bump", "droop"}, "points", "at", "poses"}; what is
// wrong with the linkage's own reach names the point that ends it.
func (l *Linkage) Travel(o Options) (*Travel, fault.List) {
	faults := l.checkOptions(o)
	if len(faults) > 0 {
		return nil, faults
	}
	t := &Travel{Kind: l.kind, Range: o.Range}
	l.judge(t, &o, &faults)
	for i, z := range o.At {
		length, ratio, err := l.At(z.Mm())
		if err != nil {
			report(&faults, fmt.Sprintf("/at/%d", i), err)
			continue
		}
		t.Curve = append(t.Curve, Sample{WheelTravel: z, Length: unit.FromMm(length), MotionRatio: ratio})
	}
	l.poses(t, &o, &faults)
	if len(faults) > 0 {
		return nil, faults
	}
	l.twist(t)
	l.clear(t, &o)
	if o.Places {
		for i := range t.Curve {
			t.Curve[i].Places = l.PlacesAt(t.Curve[i].WheelTravel.Mm())
		}
	}
	return t, nil
}

func (l *Linkage) checkOptions(o Options) fault.List {
	var faults fault.List
	r := o.Range
	if r.Bump < 0 || r.Bump > farthest {
		faults.Add("/range/bump", bumpOutOfRange)
	}
	if r.Droop < 0 || r.Droop > farthest {
		faults.Add("/range/droop", droopOutOfRange)
	}
	if r.Bump == 0 && r.Droop == 0 {
		faults.Add("/range", NoTravel)
	}
	switch {
	case o.Points != 0 && len(o.At) > 0:
		faults.Add("/points", pointsAndList)
	case o.Points != 0 && (o.Points < FewestPoints || o.Points > MostPoints):
		faults.Add("/points", pointsOutOfRange, note.Num("least", FewestPoints, ""), note.Num("most", MostPoints, ""))
	case len(o.At) > MostPoints:
		faults.Add("/at", listOutOfRange, note.Num("most", MostPoints, ""))
	}
	switch {
	case len(o.Poses) > 0 && l.kind != SolidAxle:
		faults.Add("/poses", posesNotForKind)
	case len(o.Poses) > MostPoints:
		faults.Add("/poses", posesOutOfRange, note.Num("most", MostPoints, ""))
	}
	faults.AddUnder("/obstacles", l.CheckObstacles(o.Obstacles))
	faults.AddUnder("/body", o.Body.check())
	if len(faults) > 0 {
		return faults
	}
	l.checkReach(r, &faults)
	return faults
}

// checkReach reports an end of the range that can't be reached.
func (l *Linkage) checkReach(r Range, faults *fault.List) {
	if r.Bump.Mm() > l.high.z {
		report(faults, "/range/bump", l.unreachable(r.Bump.Mm()))
	}
	if -r.Droop.Mm() < l.low.z {
		report(faults, "/range/droop", l.unreachable(-r.Droop.Mm()))
	}
	if len(*faults) > 0 {
		return
	}
	if err := l.within(-r.Droop.Mm(), r.Bump.Mm()); err != nil {
		report(faults, "/range", err)
	}
}

// judge fills in everything that depends on the range alone, and an evenly spaced
// curve.
func (l *Linkage) judge(t *Travel, o *Options, faults *fault.List) {
	points := o.Points
	if points == 0 {
		points = DefaultPoints
	}
	// The curve's points are among those at which extremes are looked for, so that
	// none is solved twice.
	every := max(1, int(math.Ceil(float64(fewest-1)/float64(points-1))))
	low, high := -t.Range.Droop.Mm(), t.Range.Bump.Mm()
	tr := l.trace(low, high, every*(points-1)+1)

	ride := l.solve(0, pose{})
	found := tr.extent()
	if a, ok := l.motion.(axle); ok {
		found = a.overSquare(low, high)
	}
	if err := l.meets(found); err != nil {
		report(faults, "/range", err)
		return
	}
	t.RideLength = unit.FromMm(ride.length)
	t.Shortest, t.Longest = found.shortest.public(), found.longest.public()
	t.Compression = max(0, t.RideLength-t.Shortest.Length)
	t.Extension = max(0, t.Longest.Length-t.RideLength)
	t.MotionRatio.AtRide = ride.ratio
	t.MotionRatio.Least, t.MotionRatio.Most = tr.ratios()

	t.Trace = make([]Sample, len(tr.samples))
	for i, s := range tr.samples {
		t.Trace[i] = Sample{WheelTravel: unit.FromMm(s.z), Length: unit.FromMm(s.length), MotionRatio: s.ratio}
	}
	if len(o.At) == 0 {
		t.Curve = make([]Sample, points)
		for i := range t.Curve {
			t.Curve[i] = t.Trace[i*every]
		}
	}
	if a, ok := l.motion.(axle); ok {
		inRoll := a.rollRatio()
		t.MotionRatio.InRoll = &inRoll
	}
	t.Cautions = l.cautions(t.Shortest, t.Longest, tr.turns, 0)
}

// cautions gives the cautions of a range with these extremes and turns. The extremes
// count from ride already; the turns count from the wheel travel ride.
func (l *Linkage) cautions(shortest, longest Extreme, turns []state, ride float64) []note.Note {
	var list []note.Note
	for _, s := range turns {
		list = append(list, note.New("over_centre",
			note.Len("wheel_travel", unit.FromMm(s.z-ride)), note.Len("length", unit.FromMm(s.length))))
	}
	a, ok := l.motion.(axle)
	if !ok {
		return list
	}
	for _, e := range [2]Extreme{shortest, longest} {
		if e.Interior {
			list = append(list, note.New("extreme_between_corners",
				note.Len("length", e.Length), note.Len("left", e.Left), note.Len("right", e.Right)))
		}
	}
	if ratio := math.Abs(a.rollRatio()); ratio < RollRatioLeast {
		list = append(list, note.New("roll_ratio_low", note.Num("ratio", math.Round(ratio*1000)/1000, ""), note.Num("least", RollRatioLeast, "")))
	}
	return append(list, note.New("axle_sideways"))
}

func (l *Linkage) poses(t *Travel, o *Options, faults *fault.List) {
	a, ok := l.Axle()
	if !ok {
		return
	}
	for i, p := range o.Poses {
		pointer := fmt.Sprintf("/poses/%d", i)
		if !(math.Abs(p.RollDeg) < 90) {
			faults.Add(pointer+"/roll_deg", rollOutOfRange)
			continue
		}
		if p.Heave > farthest || p.Heave < -farthest {
			faults.Add(pointer+"/heave", heaveOutOfRange)
			continue
		}
		length, err := a.Pose(p.Heave.Mm(), p.RollDeg*math.Pi/180)
		if err != nil {
			report(faults, pointer, err)
			continue
		}
		t.Poses = append(t.Poses, PoseLength{p, unit.FromMm(length)})
	}
}
