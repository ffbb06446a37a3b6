package wire

import (
	"midstroke/internal/fit"
	"midstroke/internal/form"
	"midstroke/internal/linkage"
	"midstroke/internal/ride"
	"midstroke/internal/unit"
)

var (
	stated    = fit.Stated.String()
	byWheel   = fit.ByWheel.String()
	measured  = fit.Measured.String()
	byLinkage = fit.ByLinkage.String()
	byRoad    = fit.ByRoad.String()
)

// travelTable is the fields of how much travel is asked for. A field of another
// basis is a fault: whoever writes it believes that it counts.
var travelTable = form.NewRecord(
	form.Field("basis", form.Named(fit.Bases), func(q *fit.Request) *fit.Basis { return &q.Travel.Basis }).Needed().Short().Decides(notWithBasis),
	form.Field("compression", form.Length, func(q *fit.Request) *unit.Length { return &q.Travel.Compression }).Needed().With(stated),
	form.Field("extension", form.Length, func(q *fit.Request) *unit.Length { return &q.Travel.Extension }).Needed().With(stated),
	form.Part("given_up", form.NewRecord(
		form.Field("compression", form.LengthOrZero, func(b *fit.Both) *unit.Length { return &b.Compression }),
		form.Field("extension", form.LengthOrZero, func(b *fit.Both) *unit.Length { return &b.Extension }),
	), func(q *fit.Request) *fit.Both { return &q.Travel.GivenUp }).With(stated),
	form.Field("bump", form.Length, func(q *fit.Request) *unit.Length { return &q.Travel.Bump }).Needed().With(byWheel),
	form.Field("droop", form.Length, func(q *fit.Request) *unit.Length { return &q.Travel.Droop }).Needed().With(byWheel),
	form.Field("at_bump", form.Length, func(q *fit.Request) *unit.Length { return &q.Travel.AtBump }).Needed().With(measured),
	form.Field("at_droop", form.Length, func(q *fit.Request) *unit.Length { return &q.Travel.AtDroop }).Needed().With(measured),
	form.Field("reserve", form.LengthOrZero, func(q *fit.Request) *unit.Length { return &q.Travel.Reserve }).With(byWheel, measured, byLinkage),
	form.Part("range", rangeTable(
		func(q *fit.Request) *unit.Length { return &q.Travel.Bump },
		func(q *fit.Request) *unit.Length { return &q.Travel.Droop },
	), itself[fit.Request]).Needed().With(byLinkage),
	form.Part("linkage", linkageTable, func(q *fit.Request) *linkage.Spec { return orNew(&q.Linkage) }).Needed().With(byLinkage),
	form.Field("class", form.OneOf(ride.Classes(), ride.ParseClass), func(q *fit.Request) *ride.Class { return &road(q).Class }).Needed().With(byRoad),
	form.Field("speed_kmh", speed, func(q *fit.Request) *float64 { return &road(q).SpeedKmh }).Needed().With(byRoad),
	form.Field("hours", form.Number(form.Span{Least: ride.LeastHours, Most: ride.MostHours}), func(q *fit.Request) *float64 { return &road(q).Hours }).Needed().With(byRoad),
	form.Part("corner", cornerTable, func(q *fit.Request) *ride.Corner { return &road(q).Corner }).With(byRoad),
).Settle(func(_ form.Value, q *fit.Request) {
	if q.Travel.Basis == fit.ByRoad {
		road(q) // for the core to judge, if nothing of it could be read
	}
})

func itself[T any](t *T) *T { return t }

func road(q *fit.Request) *ride.Road { return orNew(&q.Travel.Road) }

// upTo bounds a number that is greater than zero.
func upTo(most float64) form.Span { return form.Span{Most: most, Above: true} }

// rangeTable is how far the wheel goes up and down from ride height; either may
// be zero.
func rangeTable[R any](bump, droop func(*R) *unit.Length) *form.Record[R] {
	return form.NewRecord(
		form.Field("bump", form.LengthOrZero, bump).Needed(),
		form.Field("droop", form.LengthOrZero, droop).Needed(),
	)
}

// linkageTable is a suspension's points. Which of its points a double wishbone
// needs, in space or in the plane, and how many figures each has, is for package
// linkage to say.
var linkageTable = form.NewRecord(
	form.Field("kind", form.OneOf(linkage.Kinds(), linkage.ParseKind), func(s *linkage.Spec) *linkage.Kind { return &s.Kind }).Needed().Decides(notWithKind),
	form.Field("pivot_a", point, func(s *linkage.Spec) *linkage.Point { return &s.PivotA }).Needed().With(linkage.KindsWith("/pivot_a")...),
	form.Field("pivot_b", point, func(s *linkage.Spec) *linkage.Point { return &s.PivotB }).Needed().With(linkage.KindsWith("/pivot_b")...),
	form.Field("wheel", point, func(s *linkage.Spec) *linkage.Point { return &s.Wheel }).Needed().With(linkage.KindsWith("/wheel")...),
	form.Field("roll_point", point, func(s *linkage.Spec) *linkage.Point { return &s.RollPoint }).Needed().With(linkage.KindsWith("/roll_point")...),
	form.Part("wheels", form.NewRecord(
		form.Field("left", point, func(w *linkage.Wheels) *linkage.Point { return &w.Left }).Needed(),
		form.Field("right", point, func(w *linkage.Wheels) *linkage.Point { return &w.Right }).Needed(),
	), func(s *linkage.Spec) *linkage.Wheels { return &s.Wheels }).Needed().With(linkage.KindsWith("/wheels")...),
	form.Part("lower_arm", armTable, func(s *linkage.Spec) *linkage.Arm { return &s.LowerArm }).Needed().With(linkage.KindsWith("/lower_arm")...),
	form.Part("upper_arm", armTable, func(s *linkage.Spec) *linkage.Arm { return &s.UpperArm }).Needed().With(linkage.KindsWith("/upper_arm")...),
	form.Part("tie_rod", form.NewRecord(
		form.Field("inner", point, func(r *linkage.TieRod) *linkage.Point { return &r.Inner }).Needed(),
		form.Field("outer", point, func(r *linkage.TieRod) *linkage.Point { return &r.Outer }).Needed(),
	), func(s *linkage.Spec) *linkage.TieRod { return &s.TieRod }).With(linkage.KindsWith("/tie_rod")...),
	form.Part("damper", form.NewRecord(
		form.Field("upper", point, func(d *linkage.Damper) *linkage.Point { return &d.Upper }).Needed(),
		form.Field("lower", point, func(d *linkage.Damper) *linkage.Point { return &d.Lower }).Needed(),
		form.Field("on", form.OneOf(linkage.Parts(), linkage.ParsePart), func(d *linkage.Damper) *linkage.Part { return &d.On }).With(string(linkage.DoubleWishbone)),
	), func(s *linkage.Spec) *linkage.Damper { return &s.Damper }).Needed(),
	form.Field("upper_axis", direction, func(s *linkage.Spec) *linkage.Direction { return &s.UpperAxis }),
	form.Field("lower_axis", direction, func(s *linkage.Spec) *linkage.Direction { return &s.LowerAxis }),
)

// direction is three numbers. Only their ratios count; the bounds are those of no
// length that anyone writes.
var direction = form.As(form.CompleteListOf(form.Number(form.Span{Least: -1e9, Most: 1e9}), 3, 3), func(d []float64) linkage.Direction { return d })

// mostObstacleName is how many characters an obstacle's name has, which a drawing
// has room for.
const mostObstacleName = 40

var obstacleTable = form.NewRecord(
	form.Field("name", form.Text(1, mostObstacleName), func(o *linkage.Obstacle) *string { return &o.Name }).Needed(),
	form.Field("point", spacePoint, func(o *linkage.Obstacle) *linkage.Point { return &o.Point }).Needed(),
	form.Field("radius", form.LengthOrZero, func(o *linkage.Obstacle) *unit.Length { return &o.Radius }),
	form.Field("moves_with", form.Either("body", "wheel"), func(o *linkage.Obstacle) *bool { return &o.WithWheel }).Needed(),
)

var bodyTable = form.NewRecord(
	form.Field("diameter", form.Length, func(b *linkage.Body) *unit.Length { return &b.Diameter }).Needed(),
	form.Field("length", form.Length, func(b *linkage.Body) *unit.Length { return &b.Length }),
	form.Field("at", form.Either("lower", "upper"), func(b *linkage.Body) *bool { return &b.AtUpper }),
)

var armTable = form.NewRecord(
	form.Field("front", point, func(a *linkage.Arm) *linkage.Point { return &a.Front }),
	form.Field("rear", point, func(a *linkage.Arm) *linkage.Point { return &a.Rear }),
	form.Field("inner", point, func(a *linkage.Arm) *linkage.Point { return &a.Inner }),
	form.Field("outer", point, func(a *linkage.Arm) *linkage.Point { return &a.Outer }).Needed(),
)

// point is two or three signed lengths, all of which can be read; spacePoint is
// three.
var (
	point      = pointOf(2)
	spacePoint = pointOf(3)
)

func pointOf(least int) form.Type[linkage.Point] {
	return form.As(form.CompleteListOf(form.SignedLength, least, 3), func(p []unit.Length) linkage.Point { return p })
}

// bumpStopTable is a bump stop on the chassis, or on the damper's rod.
var bumpStopTable = form.NewRecord(
	form.Field("on", form.Either(onChassis, "rod"), func(s *fit.BumpStop) *bool { return &s.OnRod }).Decides(notWithOn).Default(onChassis),
	form.Field("gap", form.LengthOrZero, func(s *fit.BumpStop) *unit.Length { return &s.Gap }).Needed().With(onChassis),
	form.Field("height", form.Length, func(s *fit.BumpStop) *unit.Length { return &s.Height }).Needed(),
	form.Field("squash", form.Number(form.Span{Least: 0, Most: 1, Above: true, Below: true}), func(s *fit.BumpStop) *float64 { return &s.Squash }).Needed(),
	form.Field("motion_ratio", motionRatio, func(s *fit.BumpStop) *float64 { return &s.MotionRatio }).Needed().With(onChassis),
	form.Field("reserve", form.LengthOrZero, func(s *fit.BumpStop) *unit.Length { return &s.Reserve }).With(onChassis),
)

const onChassis = "chassis"

func newBumpStop(q *fit.Request) *fit.BumpStop {
	q.BumpStop = &fit.BumpStop{Reserve: fit.DefaultStopReserve}
	return q.BumpStop
}

var strapTable = form.NewRecord(
	form.Field("distance", form.Length, func(s *fit.Strap) *unit.Length { return &s.Distance }).Needed(),
	form.Field("motion_ratio", motionRatio, func(s *fit.Strap) *float64 { return &s.MotionRatio }).Needed(),
	form.Field("stretch", form.Number(form.Span{Least: 0, Most: 0.5}), func(s *fit.Strap) *float64 { return &s.Stretch }).Needed(),
	form.Field("reserve", form.LengthOrZero, func(s *fit.Strap) *unit.Length { return &s.Reserve }),
)

func newStrap(q *fit.Request) *fit.Strap {
	q.Strap = &fit.Strap{Reserve: fit.DefaultStopReserve}
	return q.Strap
}
