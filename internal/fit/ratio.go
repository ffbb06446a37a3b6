package fit

import (
	"math"

	"midstroke/internal/measure"
	"midstroke/internal/note"
	"midstroke/internal/unit"
)

// heldConstant is the caution that one motion ratio was taken over more wheel
// travel than it is good for, for the needs or for the stops of a fit. Below a ratio
// of 1 it tells what a straight damper would need instead that leans, at ride
// height, by as much as the ratio says.
func (r *Request) heldConstant(w *measure.Working, a *Answer) []note.Note {
	held := r.heldOver(a)
	if max(held.up, held.down) <= measure.ConstantRatioLimit {
		return nil
	}
	ratio := r.Readings.MotionRatio
	values := []note.Value{
		note.Len("bump", held.up), note.Len("droop", held.down), note.Size("limit", measure.ConstantRatioLimit),
		note.Num("motion_ratio", ratio, ""),
		note.AtLeast("compression", held.up.Scale(ratio)), note.AtLeast("extension", held.down.Scale(ratio)),
	}
	if ratio < 1 && w.Value > 0 {
		compression, extension := straightDamper(w.Value.Mm(), ratio, held.up.Mm(), held.down.Mm())
		values = append(values,
			note.AtLeast("leaning_compression", unit.FromMm(compression)), note.AtLeast("leaning_extension", unit.FromMm(extension)))
	}
	return []note.Note{note.New("ratio_held_constant", values...)}
}

// heldOver is the greatest wheel travel each way over which the answer takes one
// motion ratio.
func (r *Request) heldOver(a *Answer) wheelTravel {
	var held wheelTravel
	if a.Required != nil {
		held = a.Required.held
	}
	if r.Travel.Basis == ByLinkage {
		return held
	}
	for i := range a.Fits {
		if s := a.Fits[i].Stops; s != nil && s.Bump != nil {
			held.up = max(held.up, *s.Bump)
		}
		if s := a.Fits[i].Stops; s != nil && s.Droop != nil {
			held.down = max(held.down, -*s.Droop)
		}
	}
	return held
}

// straightDamper is the travel in mm of a damper of a length whose lower end goes
// straight up and down with the wheel. At ride it leans by arccos(ratio), as its
// motion ratio there says. With a = L√(1 - ratio²) across and b = L·ratio up, it is
// √(a² + (b - z)²) long at the wheel travel z, and shortest, a, where it lies flat
// at z = b (Pythagoras).
func straightDamper(length, ratio, bump, droop float64) (compression, extension float64) {
	a, b := length*math.Sqrt(1-ratio*ratio), length*ratio
	return length - math.Hypot(a, max(0, b-bump)), math.Hypot(a, b+droop) - length
}
