package wire

import (
	"maps"
	"slices"

	"midstroke/internal/fit"
	"midstroke/internal/linkage"
	"midstroke/internal/ride"
	"midstroke/internal/unit"
)

// fieldsOfBasis are the members of travel that each basis takes beside basis.
var fieldsOfBasis = [...][]string{
	fit.ByRule:    nil,
	fit.Stated:    {"compression", "extension"},
	fit.ByWheel:   {"bump", "droop", "reserve"},
	fit.Measured:  {"at_bump", "at_droop", "reserve"},
	fit.ByLinkage: {"linkage", "range", "reserve"},
	fit.ByRoad:    {"class", "speed_kmh", "hours", "corner"},
}

// fieldsOfTravel are those of all bases.
var fieldsOfTravel = distinct(fieldsOfBasis[:]...)

// distinct gives each name of the lists once.
func distinct(lists ...[]string) []string {
	all := slices.Concat(lists...)
	slices.Sort(all)
	return slices.Compact(all)
}

// readTravel reads how much travel is asked for. A field of another basis is
// a fault: whoever writes it believes that it counts.
func readTravel(o object, q *fit.Request) {
	t := &q.Travel
	t.Reserve = fit.DefaultReserve
	if !o.ok {
		return
	}
	i, ok := o.need("basis").choice(fit.Bases())
	if ok {
		t.Basis, _ = fit.ParseBasis(fit.Bases()[i])
		own := fieldsOfBasis[t.Basis]
		for _, name := range own {
			if name != "reserve" {
				o.need(name)
			}
		}
		for _, name := range fieldsOfTravel {
			if !slices.Contains(own, name) {
				o.refuse(notWithBasis, "is not for the basis ", t.Basis.String(), name)
			}
		}
	}
	t.Compression, _ = o.get("compression").length(positive)
	t.Extension, _ = o.get("extension").length(positive)
	t.Bump, _ = o.get("bump").length(positive)
	t.Droop, _ = o.get("droop").length(positive)
	t.AtBump, _ = o.get("at_bump").length(positive)
	t.AtDroop, _ = o.get("at_droop").length(positive)
	if l, ok := o.get("reserve").length(noughtToo); ok {
		t.Reserve = l
	}
	if v := o.get("linkage"); v.given() {
		q.Linkage = readLinkage(v.object())
	}
	if v := o.get("range"); v.given() {
		t.Bump, t.Droop = readRange(v.object())
	}
	if t.Basis == fit.ByRoad {
		t.Road = readRoad(o)
	}
	o.close()
}

// readRange reads how far the wheel goes up and down from ride height, either
// of which may be nought.
func readRange(o object) (bump, droop unit.Length) {
	bump, _ = o.need("bump").length(noughtToo)
	droop, _ = o.need("droop").length(noughtToo)
	o.close()
	return bump, droop
}

var linkageKinds = []string{
	string(linkage.Inclined), string(linkage.SwingArm), string(linkage.SolidAxle), string(linkage.DoubleWishbone),
}

var damperParts = []string{string(linkage.LowerArm), string(linkage.UpperArm), string(linkage.Upright)}

// fieldsOfKind are the members of a linkage that each kind takes beside kind
// and damper.
var fieldsOfKind = map[linkage.Kind][]string{
	linkage.Inclined:       nil,
	linkage.SwingArm:       {"pivot_a", "pivot_b", "wheel"},
	linkage.SolidAxle:      {"roll_point", "wheels"},
	linkage.DoubleWishbone: {"wheel", "lower_arm", "upper_arm", "tie_rod"},
}

// fieldsOfAnyKind are those of all kinds.
var fieldsOfAnyKind = distinct(slices.Collect(maps.Values(fieldsOfKind))...)

// readLinkage reads a suspension's points. Which points its kind needs, and
// how many figures each has, is for package linkage to say.
func readLinkage(o object) *linkage.Spec {
	s := &linkage.Spec{}
	if i, ok := o.need("kind").choice(linkageKinds); ok {
		s.Kind = linkage.Kind(linkageKinds[i])
		for _, name := range fieldsOfAnyKind {
			if !slices.Contains(fieldsOfKind[s.Kind], name) {
				o.refuse(notWithKind, "is not for the kind ", string(s.Kind), name)
			}
		}
	}
	damper := o.need("damper").object()
	s.Damper.Upper, s.Damper.Lower = damper.need("upper").point(), damper.need("lower").point()
	if i, ok := damper.get("on").choice(damperParts); ok {
		s.Damper.On = linkage.Part(damperParts[i])
	}
	damper.close()
	s.PivotA, s.PivotB = o.get("pivot_a").point(), o.get("pivot_b").point()
	s.Wheel = o.get("wheel").point()
	s.RollPoint = o.get("roll_point").point()
	wheels := o.get("wheels").object()
	s.Wheels.Left, s.Wheels.Right = wheels.need("left").point(), wheels.need("right").point()
	wheels.close()
	s.LowerArm, s.UpperArm = readArm(o.get("lower_arm").object()), readArm(o.get("upper_arm").object())
	rod := o.get("tie_rod").object()
	s.TieRod.Inner, s.TieRod.Outer = rod.need("inner").point(), rod.need("outer").point()
	rod.close()
	o.close()
	return s
}

func readArm(o object) linkage.Arm {
	a := linkage.Arm{
		Front: o.get("front").point(), Rear: o.get("rear").point(),
		Inner: o.get("inner").point(), Outer: o.need("outer").point(),
	}
	o.close()
	return a
}

// point reads two or three signed lengths, nil where it is absent or any of
// them is at fault.
func (v value) point() linkage.Point {
	items := v.items(2, 3)
	p := make(linkage.Point, 0, 3)
	for _, item := range items {
		if l, ok := item.length(signed); ok {
			p = append(p, l)
		}
	}
	if len(items) == 0 || len(p) < len(items) {
		return nil
	}
	return p
}

// The bounds of a road's figures are those of package ride, which catch a slip
// of the unit.
var (
	speeds   = span{least: 0, most: ride.MostSpeed, above: true}
	hours    = span{least: ride.LeastHours, most: ride.MostHours}
	masses   = span{least: 0, most: ride.MostMass, above: true}
	rates    = span{least: 0, most: ride.MostRate, above: true}
	dampings = span{least: 0, most: ride.MostDamping, above: true}
)

var roadClasses = []string{"A", "B", "C", "D", "E", "F", "G", "H"}

// readRoad reads a road by ISO 8608 and a corner of the vehicle on it.
func readRoad(o object) *ride.Road {
	r := &ride.Road{}
	if i, ok := o.need("class").choice(roadClasses); ok {
		r.Class, _ = ride.ParseClass(roadClasses[i])
	}
	r.SpeedKmh, _ = o.need("speed_kmh").number(speeds)
	r.Hours, _ = o.need("hours").number(hours)
	c := o.need("corner").object()
	r.Corner.SprungKg, _ = c.need("sprung_kg").number(masses)
	r.Corner.UnsprungKg, _ = c.need("unsprung_kg").number(masses)
	r.Corner.WheelRate, _ = c.need("wheel_rate_n_mm").number(rates)
	r.Corner.TyreRate, _ = c.need("tyre_rate_n_mm").number(rates)
	r.Corner.Damping, _ = c.need("damping_ns_m").number(dampings)
	c.close()
	return r
}

var (
	squashes  = span{least: 0, most: 1, above: true, below: true}
	stretches = span{least: 0, most: 0.5}
)

// readStops reads a bump stop and a strap whose lengths are wanted.
func readStops(o object, q *fit.Request) {
	if v := o.get("bump_stop"); v.given() {
		s, stop := v.object(), &fit.BumpStop{Reserve: fit.DefaultStopReserve}
		stop.Gap, _ = s.need("gap").length(noughtToo)
		stop.Height, _ = s.need("height").length(positive)
		stop.Squash, _ = s.need("squash").number(squashes)
		stop.MotionRatio, _ = s.need("motion_ratio").number(ratios)
		if l, ok := s.get("reserve").length(noughtToo); ok {
			stop.Reserve = l
		}
		s.close()
		q.BumpStop = stop
	}
	if v := o.get("strap"); v.given() {
		s, strap := v.object(), &fit.Strap{Reserve: fit.DefaultStopReserve}
		strap.Distance, _ = s.need("distance").length(positive)
		strap.MotionRatio, _ = s.need("motion_ratio").number(ratios)
		strap.Stretch, _ = s.need("stretch").number(stretches)
		if l, ok := s.get("reserve").length(noughtToo); ok {
			strap.Reserve = l
		}
		s.close()
		q.Strap = strap
	}
}
