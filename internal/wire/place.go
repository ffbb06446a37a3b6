package wire

import (
	"midstroke/internal/form"
	"midstroke/internal/measure"
	"midstroke/internal/mount"
	"midstroke/internal/unit"
)

// place is one end of the place on the vehicle: what was measured there, and
// the bracket.
type place struct {
	*measure.EndReading
	bracket *mount.Bracket
}

// KindBolt is the kind of a bolt's size: a thread, or a diameter as a length.
const KindBolt form.Kind = "bolt"

var (
	bolt  = form.Spelled(KindBolt, "a_bolt", mount.ParseBolt)
	shear = form.Named(mount.Shears)
	grade = form.NameOf(mount.Grades.All())
)

var (
	stud   = mount.Stud.String()
	barPin = mount.BarPin.String()
)

// placeTable is the fields of an end of the place on the vehicle. Every field of its
// bracket may be left out.
var placeTable = form.NewRecord(
	form.Field("style", form.Named(mount.Styles), func(p *place) *mount.Style { return &p.Style }).Needed().Short().Decides(notWithStyle),
	form.Field("measured_to", form.Named(mount.Planes), func(p *place) *mount.Plane { return &p.Plane }).With(mount.BoltedStyleNames()...),
	form.Field("bolt", bolt, func(p *place) *mount.Bolt { return &p.bracket.Bolt }),
	form.Field("opening", form.Length, func(p *place) *unit.Length { return &p.bracket.Opening }),
	form.Field("plate", form.Length, func(p *place) *unit.Length { return &p.bracket.Plate }),
	form.Field("washer", form.Length, func(p *place) *unit.Length { return &p.bracket.Washer }),
	form.Field("shear", shear, func(p *place) *mount.Shear { return &p.bracket.Shear }),
	form.Field("grade", grade, func(p *place) *string { return &p.bracket.Grade }),
	form.Field("bar_offset", form.SignedLength, func(p *place) *unit.Length { return orNew(&p.BarOffset) }).With(barPin),
	form.Field("hole_spacing", form.Length, func(p *place) *unit.Length { return &p.bracket.HoleSpacing }).With(barPin),
	form.Field("bushing_thickness", form.Length, func(p *place) *unit.Length { return &p.BushingThickness }).With(stud),
	form.Field("washer_thickness", form.Length, func(p *place) *unit.Length { return &p.WasherThickness }).With(stud),
	form.Field("stud_length", form.Length, func(p *place) *unit.Length { return &p.StudLength }).With(stud),
	form.Field("frame_hole", form.Length, func(p *place) *unit.Length { return &p.bracket.FrameHole }).With(stud),
	form.Field("frame_thickness", form.Length, func(p *place) *unit.Length { return &p.bracket.FrameThickness }).With(stud),
).Settle(func(v form.Value, p *place) {
	b := p.bracket
	p.BoltDiameter, p.EndReading.Plate = b.Bolt.Diameter, b.Plate
	if p.Style != mount.Stud {
		return
	}
	b.Bushing, b.Washer = p.BushingThickness, p.WasherThickness
	// The plate of a stud's place and the frame are the same.
	if b.Plate != 0 && b.FrameThickness != 0 && b.Plate != b.FrameThickness {
		v.Member("frame_thickness").Fail(framesDiffer)
	}
	if b.FrameThickness == 0 {
		b.FrameThickness = b.Plate
	}
	if b.Plate == 0 {
		p.EndReading.Plate = b.FrameThickness
	}
})

// endTable is the fields of an end of a damper or of an adapter.
var endTable = form.NewRecord(append([]*form.Member[mount.End]{
	form.Field("style", boltedStyle, func(e *mount.End) *mount.Style { return &e.Style }).Needed().Decides(notWithStyle),
}, measureFields()...)...)

var boltedStyle = form.OneOf(mount.BoltedStyleNames(), mount.Styles.Parse)

func measureFields() []*form.Member[mount.End] {
	var all []*form.Member[mount.End]
	for _, m := range mount.Measures() {
		var field *form.Member[mount.End]
		switch {
		case m.Thread != nil:
			field = form.Field(m.Name, thread, m.Thread)
		case m.BoreIs != nil:
			field = form.Field(m.Name, boreIs, m.BoreIs)
		case m.ZeroIsNone:
			field = form.Field(m.Name, form.LengthOrZero, m.Length)
		default:
			field = form.Field(m.Name, form.Length, m.Length)
		}
		if m.Needed {
			field = field.Needed()
		}
		all = append(all, field.With(m.Style.String()))
	}
	return all
}

var boreIs = form.Named(mount.BoreIsNames)

// thread is a thread by its bolt's name.
var thread = form.Type[mount.Thread]{About: bolt.About, Read: func(v form.Value) (mount.Thread, bool) {
	b, ok := bolt.Read(v)
	if ok && !b.Threaded() {
		v.Fail(notAThread)
		return mount.Thread{}, false
	}
	return b.Thread, ok
}}
