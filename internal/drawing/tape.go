package drawing

// The tape, in the drawing's own units.
const (
	bladeHalf = 8.0
	hookHalf  = 12.0
	hookLip   = 10.0
	caseHalf  = 17.0
	caseFrom  = 12.0 // from the plane where it is read to its case
	caseHigh  = 30.0
	marks     = 9.0 // between its marks
	gapHalf   = 15.0
	eyeX      = edge + 11
	eyeWide   = 12.0 // half
)

// caseFoot is how far below the lower end's reference the tape's case ends; 0 where
// no tape is drawn.
func (d *endsDrawing) caseFoot() float64 {
	if len(d.guide.Outside) > 0 {
		return 0
	}
	return d.lower.planes[d.lower.end.Plane] + caseFrom + caseHigh
}

// tape draws the tape from plane to plane, with a gap for its name: its hook at the
// upper plane, its case below the lower one, and the eye that looks at the lower
// plane square to the tape.
func (d *endsDrawing) tape() {
	if len(d.guide.Outside) > 0 {
		return
	}
	from, to := d.upper.plane(d.upper.end.Plane), d.lower.plane(d.lower.end.Plane)
	middle := (from + to) / 2
	v := view{&d.strokes, tapeX, 0, 1}
	v.blade(from, middle-gapHalf)
	v.blade(middle+gapHalf, to+caseFrom)
	const long, half = 15, 4.5
	v.shape(solid, 0, from, -half, from+long, half, from+long)
	v.shape(solid, 0, to, -half, to-long, half, to-long)

	v.line(outline, -hookHalf, from, hookHalf, from, hookHalf, from+hookLip)
	v.box(outline, -caseHalf, to+caseFrom, caseHalf, to+caseFrom+caseHigh)
	v.circle(thin, 0, to+caseFrom+caseHigh/2, 7)

	eye := view{&d.strokes, eyeX, to, 1}
	eye.bow(outline, -eyeWide, 0, 0, -14, eyeWide, 0)
	eye.bow(outline, -eyeWide, 0, 0, 14, eyeWide, 0)
	eye.circle(solid, 0, 0, 3.5)
	d.line(hidden, eyeX+eyeWide+2, to, tapeX-bladeHalf, to)
}

// blade is a piece of a tape's blade, about the view's axis, with its marks.
func (w view) blade(from, to float64) {
	for _, side := range []float64{-bladeHalf, bladeHalf} {
		w.line(extension, side, from, side, to)
	}
	for n, y := 1, from+marks; y < to; n, y = n+1, y+marks {
		long := 4.0
		if n%4 == 0 {
			long = 7
		}
		w.line(thin, bladeHalf-long, y, bladeHalf, y)
	}
}
