package demo

import (
	"midstroke/internal/catalog"
	"midstroke/internal/mount"
	"midstroke/internal/unit"
)

// frame is the cross-section that a damper is built on.
type frame struct {
	body unit.Length // outside diameter
	bore unit.Length // in which the piston runs
	rod  unit.Length // diameter
}

// The dead length of a damper is what its compressed length has beyond the
// stroke: the room of the two ends and of what sits inside the tube. The
// model below is invented but physical; its figures are round numbers chosen
// by us and come from no maker.
//
//	dead = upper end + lower end + guide + piston + bottom + own parts + allowance
//
// Twin tube: own parts is the base valve; the oil that the rod drives out
// goes sideways into the outer tube and costs no length.
//
// Monotube: own parts is the floating piston, its clearance from the piston,
// and the gas column that is left at full compression. The rod drives the
// floating piston down by stroke × (rod/bore)². With isothermal gas whose
// pressure may rise to pressureRise times the charge, p₀h₀ = p₁h₁, the column
// left is stroke × (rod/bore)² / (pressureRise − 1). So a monotube is longer
// than a twin tube of the same stroke, and the more so the longer the stroke.
//
// The allowance is each maker's own: rebound buffer, dust shield, a cup for a
// bump stop.
const (
	pressureRise   = 1.5
	mostAllowance  = 30 * unit.Millimetre
	tubeBottom     = 5 * unit.Millimetre
	pistonsApart   = 5 * unit.Millimetre
	eyeRing        = 10 * unit.Millimetre // bushing and ring beyond the bore's radius
	neck           = 6 * unit.Millimetre  // weld or collar between an end and the body or rod
	studShoulder   = 10 * unit.Millimetre // from the washer's face to the body or rod's collar
	barPinRing     = 22 * unit.Millimetre
	halfMillimetre = unit.Millimetre / 2
)

// deadLength gives the dead length of a damper without its allowance.
func deadLength(c catalog.Construction, f frame, stroke unit.Length, upper, lower mount.End) unit.Length {
	guide := 20*unit.Millimetre + f.body*3/10
	piston := 14*unit.Millimetre + f.body/4
	dead := endRoom(upper) + endRoom(lower) + guide + piston + tubeBottom
	if c == catalog.Monotube {
		displaced := float64(f.rod) * float64(f.rod) / (float64(f.bore) * float64(f.bore))
		floating := 8*unit.Millimetre + f.bore/4
		return dead + floating + pistonsApart + stroke.Scale(displaced/(pressureRise-1))
	}
	baseValve := 10*unit.Millimetre + f.body/5
	return dead + baseValve
}

// roundUp gives the least multiple of step that is at least l.
func roundUp(l, step unit.Length) unit.Length { return (l + step - 1) / step * step }
