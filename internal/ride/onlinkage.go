package ride

import (
	"math"

	"midstroke/internal/fault"
	"midstroke/internal/note"
)

// How far a given ratio may be from the linkage's, since people round it, and its
// change, 1/m: that makes as much over 100 mm of wheel travel (our choice).
const (
	sameRatio       = 0.005
	sameRatioChange = 0.05
)

// PutOnLinkage lets the damper move along a linkage's curve, with its ratio at ride height
// and that one's change, 1/m. One that was given and isn't the linkage's is a fault, with a
// pointer as those of Faults.
func (c *Corner) PutOnLinkage(curve Curve) fault.List {
	var faults fault.List
	_, ratio, change, _ := curve.At(0) // which every linkage reaches
	if given := c.DamperRatio; given != 0 && !(math.Abs(given-ratio) <= sameRatio) {
		faults.Add("/damper_ratio", ratioNotOfLinkage, note.Figure("damper_ratio", given, ""), note.Figure("linkage", ratio, ""))
	}
	if given := c.DamperRatioChange; (given != 0 || c.DamperRatioHeld) && !(math.Abs(given-change) <= sameRatioChange) {
		faults.Add("/damper_ratio_change_per_m", changeNotOfLinkage, note.Figure("damper_ratio_change", given, "1/m"), note.Figure("linkage", change, "1/m"))
	}
	c.DamperRatio, c.DamperRatioChange, c.DamperRatioHeld, c.DamperCurve = ratio, change, false, curve
	return faults
}

// PutSpringOnDamper lets a spring without a ratio move as the damper that it sits on. A
// change of the ratio and a ratio in roll that are given are kept, and with such a change
// the ratio is linear.
func (c *Corner) PutSpringOnDamper() {
	if c.SpringRatio != 0 {
		return
	}
	c.SpringRatio = c.DamperRatio
	if c.SpringRatioChange == 0 && !c.SpringRatioHeld {
		c.SpringRatioChange, c.SpringCurve = c.DamperRatioChange, c.DamperCurve
	}
	if c.SpringRollRatio == 0 {
		c.SpringRollRatio = c.DamperRollRatio
	}
}
