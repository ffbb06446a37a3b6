package fit_test

import (
	"midstroke/internal/fit"
	"midstroke/internal/linkage"
	"midstroke/internal/measure"
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

// suspension is an invented suspension of a common vehicle's size.
type suspension struct {
	name        string
	spec        linkage.Spec
	bump, droop unit.Length
}

// suspensions has one of each kind, and a double wishbone both in the plane and
// in space.
func suspensions() []suspension {
	const mm = unit.Millimetre
	return []suspension{
		{"inclined", linkage.Spec{
			Kind:   linkage.Inclined,
			Damper: linkage.Damper{Upper: pt(0, 450, 670), Lower: pt(80, 430, 265)},
		}, 75 * mm, 65 * mm},
		{"swing_arm", linkage.Spec{
			Kind:   linkage.SwingArm,
			PivotA: pt(120, 250, 300), PivotB: pt(-60, 620, 280), Wheel: pt(-430, 720, 310),
			Damper: linkage.Damper{Upper: pt(-330, 540, 690), Lower: pt(-350, 600, 260)},
		}, 75 * mm, 65 * mm},
		{"solid_axle", linkage.Spec{
			Kind:      linkage.SolidAxle,
			RollPoint: pt(0, 0, 350),
			Wheels:    linkage.Wheels{Left: pt(0, 750, 350), Right: pt(0, -750, 350)},
			Damper:    linkage.Damper{Upper: pt(0, 400, 700), Lower: pt(0, 500, 300)},
		}, 60 * mm, 60 * mm},
		{"planar_wishbone", linkage.Spec{
			Kind:     linkage.DoubleWishbone,
			LowerArm: linkage.Arm{Inner: pt(330, 215), Outer: pt(720, 190)},
			UpperArm: linkage.Arm{Inner: pt(410, 480), Outer: pt(680, 510)},
			Wheel:    pt(770, 320),
			Damper:   linkage.Damper{Upper: pt(430, 620), Lower: pt(600, 205)},
		}, 75 * mm, 65 * mm},
		{"spatial_wishbone", linkage.Spec{
			Kind:     linkage.DoubleWishbone,
			LowerArm: linkage.Arm{Front: pt(180, 360, 210), Rear: pt(-190, 340, 220), Outer: pt(10, 720, 190)},
			UpperArm: linkage.Arm{Front: pt(120, 420, 500), Rear: pt(-130, 410, 480), Outer: pt(-15, 670, 510)},
			TieRod:   linkage.TieRod{Inner: pt(-130, 350, 250), Outer: pt(-120, 700, 240)},
			Wheel:    pt(0, 770, 320),
			Damper:   linkage.Damper{Upper: pt(0, 430, 620), Lower: pt(5, 600, 205)},
		}, 75 * mm, 65 * mm},
	}
}

// hardSuspensions has one that goes over centre, and one whose damper turns by
// more than a right angle.
func hardSuspensions() []suspension {
	const mm = unit.Millimetre
	return []suspension{
		{"over_centre", linkage.Spec{
			Kind:   linkage.Inclined,
			Damper: linkage.Damper{Upper: pt(390, 0, 40), Lower: pt(0, 0, 0)},
		}, 90 * mm, 90 * mm},
		{"turns_far", linkage.Spec{
			Kind:   linkage.Inclined,
			Damper: linkage.Damper{Upper: pt(260, 0, 220), Lower: pt(0, 0, 0)},
		}, 580 * mm, 40 * mm},
	}
}

// onLinkage makes a request judge by a suspension, its reading the length by
// the points and off mm more.
func onLinkage(r *fit.Request, s suspension, off float64) *fit.Request {
	l, faults := linkage.New(s.spec)
	if len(faults) > 0 {
		panic(faults)
	}
	length, _, err := l.At(0)
	if err != nil {
		panic(err)
	}
	r.Readings.Readings = []measure.Reading{{Length: unit.FromMm(length + off)}}
	r.Linkage = &s.spec
	r.Travel = fit.Travel{Basis: fit.ByLinkage, Bump: s.bump, Droop: s.droop, Reserve: fit.DefaultReserve}
	return r
}
