package linkage

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"midstroke/internal/fault"
	"midstroke/internal/note"
)

// builder measures the links of a wishbone from its points at ride.
type builder struct {
	at     place
	planar bool
	faults *fault.List
}

func (b *builder) wishbone() *wishbone {
	w := &wishbone{planar: b.planar}
	c, d := b.at["/lower_arm/outer"], b.at["/upper_arm/outer"]

	var lowerOK, upperOK bool
	w.lower, lowerOK = b.axis("/lower_arm", "lower", c)
	w.upper, upperOK = b.axis("/upper_arm", "upper", d)
	if !apart(c, d) {
		b.faults.Add("/upper_arm/outer", uprightNoLength)
		return w
	}
	if !lowerOK || !upperOK {
		return w
	}
	w.lowerFoot, w.upperFoot = w.lower.foot(c), w.upper.foot(d)
	w.out = r3.Sub(c, w.lowerFoot)
	w.forward = r3.Cross(w.lower.unit, w.out)
	arm := r3.Sub(d, w.upperFoot)
	w.upperR2 = r3.Norm2(arm)
	w.upright2 = r3.Norm2(r3.Sub(d, c))
	w.upperSide = sign(r3.Dot(r3.Cross(w.upper.unit, r3.Sub(c, w.upperFoot)), arm))
	if !b.planar && !b.steering(w, c, d) {
		return w
	}
	b.ride(w)
	return w
}

// axis is the axis of an arm, whose outer joint must be off it.
func (b *builder) axis(arm, name string, outer r3.Vec) (axis, bool) {
	a := axis{through: b.at[arm+"/inner"], unit: r3.Vec{X: 1}}
	if !b.planar {
		var ok bool
		if a, ok = axisThrough(b.at[arm+"/front"], b.at[arm+"/rear"]); !ok {
			b.faults.Add(arm+"/rear", armNoAxis, note.Word("arm", name))
			return a, false
		}
	}
	if !a.off(outer) {
		b.faults.Add(arm+"/outer", armNoLength, note.Word("arm", name))
		return a, false
	}
	return a, true
}

// steering measures the tie rod and the lever it holds.
func (b *builder) steering(w *wishbone, c, d r3.Vec) bool {
	inner, outer := b.at["/tie_rod/inner"], b.at["/tie_rod/outer"]
	upright, _ := axisThrough(c, d)
	ok := true
	if !apart(inner, outer) {
		b.faults.Add("/tie_rod/outer", rodNoLength)
		ok = false
	}
	if !upright.off(outer) {
		b.faults.Add("/tie_rod/outer", rodNoLever)
		ok = false
	}
	foot := upright.foot(outer)
	lever := r3.Sub(outer, foot)
	w.rod = inner
	w.rod2 = r3.Norm2(r3.Sub(outer, inner))
	w.along = r3.Dot(r3.Sub(outer, c), upright.unit) / math.Sqrt(w.upright2)
	w.steerR2 = r3.Norm2(lever)
	w.steerSide = sign(r3.Dot(r3.Cross(upright.unit, r3.Sub(inner, foot)), lever))
	return ok
}

// ride solves the wishbone where it was measured, turns the lower axis so that
// a positive angle lifts the wheel, and finds how far it reaches.
func (b *builder) ride(w *wishbone) {
	var j joints
	w.at(0, &j)
	if j.failed != closed {
		e := j.failed.end(0)
		b.faults.Add(e.at, deadCentreOf(j.failed))
		return
	}
	wheel := b.at["/wheel"]
	w.wheelZ, w.wheel = wheel.Z, fix(wheel, &j)
	w.at(0, &j)
	if math.Abs(j.per) < deadCentre*math.Sqrt(j.speed2) || j.speed2 == 0 {
		b.faults.Add("/wheel", wheelNotLifted)
		return
	}
	// Which pivot of the lower arm is named first must change nothing.
	if j.per < 0 {
		w.lower.unit = r3.Scale(-1, w.lower.unit)
		w.forward = r3.Scale(-1, w.forward)
		j.per = -j.per
	}
	w.slope = 1 / j.per
	var lowBy, highBy closure
	w.low, lowBy = w.march(-1)
	w.high, highBy = w.march(+1)
	w.ends = [2]end{lowBy.end(w.low.z), highBy.end(w.high.z)}
}

// deadCentreOf gives the code of a wishbone that doesn't close at ride.
func deadCentreOf(c closure) fault.Code {
	if c == rodOpen {
		return rodDeadCentre
	}
	return armsDeadCentre
}

func sign(x float64) float64 {
	if x < 0 {
		return -1
	}
	return 1
}
