package wire

import (
	"midstroke/internal/linkage"
	"midstroke/internal/note"
	"midstroke/internal/unit"
)

// AppendTravel appends a linkage's travel as JSON.
func AppendTravel(dst []byte, t *linkage.Travel, r *TravelRequest, lang string) []byte {
	return appendAnswer(writer{b: dst, units: r.Units, lang: lang}, travelMembers, t)
}

var travelMembers = members[linkage.Travel]{
	unitsMember[linkage.Travel](),
	aLength("ride_length", func(t *linkage.Travel) unit.Length { return t.RideLength }),
	anObject("motion_ratio", members[linkage.Ratios]{
		aNumber("at_ride", decimals, func(r *linkage.Ratios) float64 { return r.AtRide }),
		aNumber("least", decimals, func(r *linkage.Ratios) float64 { return r.Least }),
		aNumber("most", decimals, func(r *linkage.Ratios) float64 { return r.Most }),
		when(aNumber("in_roll", decimals, func(r *linkage.Ratios) float64 { return *r.InRoll }), func(r *linkage.Ratios) bool { return r.InRoll != nil }),
	}, func(t *linkage.Travel) *linkage.Ratios { return &t.MotionRatio }),
	extreme("shortest", func(t *linkage.Travel) *linkage.Extreme { return &t.Shortest }),
	extreme("longest", func(t *linkage.Travel) *linkage.Extreme { return &t.Longest }),
	anObject("required", members[linkage.Travel]{
		aLength("compression", func(t *linkage.Travel) unit.Length { return t.Compression }),
		aLength("extension", func(t *linkage.Travel) unit.Length { return t.Extension }),
	}, itself),
	aList("curve", members[linkage.Sample]{
		aLength("wheel_travel", func(s *linkage.Sample) unit.Length { return s.WheelTravel }),
		aLength("length", func(s *linkage.Sample) unit.Length { return s.Length }),
		aNumber("motion_ratio", decimals, func(s *linkage.Sample) float64 { return s.MotionRatio }),
		when(anObject("twist_deg", members[linkage.Sample]{
			when(aNumber("upper", ofAngle, func(s *linkage.Sample) float64 { return *s.UpperTwist }), func(s *linkage.Sample) bool { return s.UpperTwist != nil }),
			when(aNumber("lower", ofAngle, func(s *linkage.Sample) float64 { return *s.LowerTwist }), func(s *linkage.Sample) bool { return s.LowerTwist != nil }),
		}, itself), func(s *linkage.Sample) bool { return s.UpperTwist != nil || s.LowerTwist != nil }),
		when(aList("places", members[linkage.Place]{
			aText("point", func(p *linkage.Place) string { return p.Point }),
			aListOf("at", lengthKind, func(p *linkage.Place) []unit.Length { return p.At }, (*writer).appendLength),
		}, func(s *linkage.Sample) []linkage.Place { return s.Places }), func(s *linkage.Sample) bool { return s.Places != nil }),
	}, func(t *linkage.Travel) []linkage.Sample { return t.Curve }),
	aList("poses", members[linkage.PoseLength]{
		aLength("heave", func(p *linkage.PoseLength) unit.Length { return p.Heave }),
		aNumber("roll_deg", decimals, func(p *linkage.PoseLength) float64 { return p.RollDeg }),
		aLength("length", func(p *linkage.PoseLength) unit.Length { return p.Length }),
	}, func(t *linkage.Travel) []linkage.PoseLength { return t.Poses }),
	anObject("twist_deg", members[linkage.Twists]{
		anObjectOrNull("upper", twistMembers, func(t *linkage.Twists) *linkage.Twist { return t.Upper }),
		anObjectOrNull("lower", twistMembers, func(t *linkage.Twists) *linkage.Twist { return t.Lower }),
	}, func(t *linkage.Travel) *linkage.Twists { return &t.Twists }),
	aList("clearance", members[linkage.Clearance]{
		aText("name", func(c *linkage.Clearance) string { return c.Name }),
		allOf(gapMembers, func(c *linkage.Clearance) *linkage.Gap { return &c.Gap }),
	}, func(t *linkage.Travel) []linkage.Clearance { return t.Clearances }),
	notes("cautions", func(t *linkage.Travel) []note.Note { return t.Cautions }),
}

// ofAngle is to how many decimals an angle in degrees is told.
const ofAngle = 3

var twistMembers = members[linkage.Twist]{
	aNumber("at_ride", ofAngle, func(t *linkage.Twist) float64 { return t.AtRide }),
	aNumber("most", ofAngle, func(t *linkage.Twist) float64 { return t.Most }),
	allOf(whereMembers, func(t *linkage.Twist) *linkage.Where { return &t.Where }),
}

var gapMembers = members[linkage.Gap]{
	aLength("gap", func(g *linkage.Gap) unit.Length { return g.Gap }),
	allOf(whereMembers, func(g *linkage.Gap) *linkage.Where { return &g.Where }),
}

// whereMembers are one wheel travel, or two of an axle.
var whereMembers = members[linkage.Where]{
	when(aLength("wheel_travel", func(w *linkage.Where) unit.Length { return w.WheelTravel }), func(w *linkage.Where) bool { return !w.OfAxle }),
	when(aLength("left", func(w *linkage.Where) unit.Length { return w.Left }), func(w *linkage.Where) bool { return w.OfAxle }),
	when(aLength("right", func(w *linkage.Where) unit.Length { return w.Right }), func(w *linkage.Where) bool { return w.OfAxle }),
}

// extreme is the shortest or the longest length, and where the wheel, or each
// wheel of an axle, is then.
func extreme(name string, get func(*linkage.Travel) *linkage.Extreme) member[linkage.Travel] {
	axle := func(t *linkage.Travel) bool { return t.Kind == linkage.SolidAxle }
	return anObject(name, members[linkage.Travel]{
		aLength("length", func(t *linkage.Travel) unit.Length { return get(t).Length }),
		when(aLength("left", func(t *linkage.Travel) unit.Length { return get(t).Left }), axle),
		when(aLength("right", func(t *linkage.Travel) unit.Length { return get(t).Right }), axle),
		when(aLength("wheel_travel", func(t *linkage.Travel) unit.Length { return get(t).WheelTravel }), func(t *linkage.Travel) bool { return !axle(t) }),
		aFlag("interior", func(t *linkage.Travel) bool { return get(t).Interior }),
	}, itself)
}
