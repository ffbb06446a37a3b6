package wire

import (
	"midstroke/internal/measure"
	"midstroke/internal/mount"
	"midstroke/internal/unit"
)

// readVehicleEnd reads one end of the place on the vehicle: what was measured
// to, and the bracket there.
func readVehicleEnd(o object) (measure.EndReading, mount.Bracket) {
	var e measure.EndReading
	style, known := o.need("style").choice(mount.Styles())
	if known {
		e.Style, _ = mount.ParseStyle(mount.Styles()[style])
		refuseOfOtherStyles(o, e.Style)
	}
	if i, ok := o.get("measured_to").choice(mount.Planes()); ok {
		e.Plane, _ = mount.ParsePlane(mount.Planes()[i])
	}
	if l, ok := o.get("bar_offset").length(signed); ok {
		e.BarOffset = &l
	}
	e.BushingThickness, _ = o.get("bushing_thickness").length(positive)
	e.WasherThickness, _ = o.get("washer_thickness").length(positive)
	e.StudLength, _ = o.get("stud_length").length(positive)
	b := readBracket(o)
	b.Grade = o.get("grade").grade()
	e.BoltDiameter, e.Plate = b.Bolt.Diameter, b.Plate
	if e.Style == mount.Stud {
		b.Bushing, b.Washer = e.BushingThickness, e.WasherThickness
		// Plate and frame are one and the same there.
		if b.Plate != 0 && b.FrameThickness != 0 && b.Plate != b.FrameThickness && o.f.units != unit.Unset {
			o.find("frame_thickness").fail(contradiction, "contradicts plate, which is the same thickness; one of them is enough")
		}
		e.Plate = firstOf(b.Plate, b.FrameThickness)
		b.FrameThickness = firstOf(b.FrameThickness, b.Plate)
	}
	o.close()
	return e, b
}

// firstOf gives a, or b where a wasn't given.
func firstOf(a, b unit.Length) unit.Length {
	if a != 0 {
		return a
	}
	return b
}

// refuseOfOtherStyles notes figures that an end of this style doesn't have: a
// sign that the style is wrong, or that a form was filled in twice over.
func refuseOfOtherStyles(o object, s mount.Style) {
	const alone = "is for this style alone: "
	if s != mount.Stud {
		o.refuse(notWithStyle, alone, mount.Stud.String(), "bushing_thickness", "washer_thickness", "stud_length", "frame_hole", "frame_thickness")
	}
	if s != mount.BarPin {
		o.refuse(notWithStyle, alone, mount.BarPin.String(), "bar_offset", "hole_spacing")
	}
}

// readBracket reads what holds an end; all of it may be missing.
func readBracket(o object) mount.Bracket {
	var b mount.Bracket
	b.Bolt, _ = o.get("bolt").bolt()
	b.Opening, _ = o.get("opening").length(positive)
	b.Plate, _ = o.get("plate").length(positive)
	b.Washer, _ = o.get("washer").length(positive)
	if i, ok := o.get("shear").choice(shears); ok {
		b.Shear, _ = mount.ParseShear(shears[i])
	}
	b.HoleSpacing, _ = o.get("hole_spacing").length(positive)
	b.FrameHole, _ = o.get("frame_hole").length(positive)
	b.FrameThickness, _ = o.get("frame_thickness").length(positive)
	return b
}
