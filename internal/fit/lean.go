package fit

import (
	"math"

	"midstroke/internal/catalog"
	"midstroke/internal/measure"
	"midstroke/internal/note"
)

// uprightOnlyPast is the angle from upright in degrees past which a twin-tube
// damper without gas draws the gas above its oil into the base valve: common
// practice, no source.
const uprightOnlyPast = 45

// needsUpright says whether a damper must stand upright: its base valve draws gas if it
// leans too far or is mounted the other way up.
func needsUpright(traits catalog.Traits) bool {
	return traits.Construction() == catalog.TwinTube && !traits.Gas()
}

// allowsLean says whether a damper works at the angle it will be installed at.
func (t *task) allowsLean(traits catalog.Traits) bool {
	return t.lean <= uprightOnlyPast || !needsUpright(traits)
}

// knownLean is the greatest angle from upright of those that are known, in
// degrees, with the step that tells it: as stated, from a tape held vertical, and
// from a linkage over its travel. Where none is known it is negative, without a
// step.
func (r *Request) knownLean(w *measure.Working, k *kinematics) (deg float64, step *note.Step) {
	deg, code := r.LeanDeg, note.Code("lean_stated")
	var values []note.Value
	if w.TapeLeanDeg > deg {
		deg, code = w.TapeLeanDeg, "lean_by_tape"
		values = []note.Value{note.Given("sideways_offset", *r.Readings.Tape.SidewaysOffset)}
	}
	if k != nil {
		if by := k.sweep.LeanDeg(); by > deg {
			deg, code = by, "lean_by_linkage"
			values = []note.Value{note.Given("bump", k.judged.Bump), note.Given("droop", k.judged.Droop)}
		}
	}
	if deg < 0 {
		return deg, nil
	}
	return deg, &note.Step{Note: note.New(code, values...), Result: note.Num("lean", roundedDeg(deg), "°")}
}

// roundedDeg is an angle as answers have it, to the hundredth of a degree.
func roundedDeg(deg float64) float64 { return math.Round(deg*100) / 100 }
