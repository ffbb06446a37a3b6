package fit

import (
	"midstroke/internal/catalog"
	"midstroke/internal/mount"
	"midstroke/internal/unit"
)

// task is a request made ready to be held against dampers.
type task struct {
	bench    *bench
	snapshot *catalog.Snapshot

	value, low, high unit.Length // the working length and its bounds
	needC, needE     Need

	limits  Limits
	traits  [2]catalog.TraitSet // that the limits admit, as listed and inverted
	lean    float64
	prefer  Ratio
	heights heights
	kin     *kinematics // nil without a linkage
	asked   stopsAsked

	// uncertainty is the working length's standard uncertainty, mm.
	uncertainty float64
}

// heights is what a change of ride height does, where that is known.
type heights struct {
	// ratio is damper travel over wheel travel, 0 where not known.
	ratio float64
	// planned is what the body is to be raised by already.
	planned unit.Length
	// stopsStay says that the needed travel was reckoned to stops that stay
	// where they are: then raising the body adds to the one need what it adds
	// to the length, and helps nothing.
	stopsStay bool
}

// helpful says whether a change of ride height can cure anything.
func (h heights) helpful() bool { return h.ratio > 0 && !h.stopsStay }

// window is the lengths of the dampers that one grade of fit admits in an
// arrangement: compressed at most, extended at least, each with the damper's
// own tolerance against it where strict.
type window struct {
	compressedMost, extendedLeast unit.Length
	toleranced                    bool
}

// window gives the window of a grade for an arrangement that adds a length:
// Clear is the wanted travel with everything against it, Tight the least
// travel at the working length.
func (t *task) window(grade Grade, adds unit.Length) window {
	if grade == Clear {
		return window{
			compressedMost: t.low - t.needC.Wanted - adds,
			extendedLeast:  t.high + t.needE.Wanted - adds,
			toleranced:     true,
		}
	}
	return window{
		compressedMost: t.value - t.needC.Least - adds,
		extendedLeast:  t.value + t.needE.Least - adds,
	}
}

// strokeLeast is the least stroke of any damper in the window.
func (w *window) strokeLeast() unit.Length { return w.extendedLeast - w.compressedMost }

// admits says whether a damper lies in the window.
func (w *window) admits(p *catalog.Point) bool {
	c, e := p.Compressed, p.Extended
	if w.toleranced {
		c, e = c+p.Tolerance, e-p.Tolerance
	}
	return c <= w.compressedMost && e >= w.extendedLeast
}

// mayAdmit says whether any damper in the box may lie in the window.
func (w *window) mayAdmit(b *catalog.Box) bool {
	c, e := b.CompressedLeast, b.ExtendedMost
	if w.toleranced {
		c, e = c+b.ToleranceLeast, e-b.ToleranceLeast
	}
	return c <= w.compressedMost && e >= w.extendedLeast
}

// uprightOnlyPast is the angle from upright past which a twin-tube damper
// without gas draws its gas space into the valve: common practice.
const uprightOnlyPast = 45

// allowsLean says whether a damper of that construction works at the angle.
func (t *task) allowsLean(traits catalog.Traits) bool {
	return t.lean <= uprightOnlyPast || traits.Gas() || traits.Construction() != catalog.TwinTube
}

// admitTraits works out which traits the limits admit, as listed and the other
// way up.
func (t *task) admitTraits() {
	l := &t.limits
	allows := func(traits catalog.Traits) bool {
		return (l.Construction == 0 || traits.Construction() == l.Construction) &&
			traits.Adjusters().Has(l.Adjusters) && (!l.InStock || traits.InStock()) && t.allowsLean(traits)
	}
	for i, inverted := range bothWaysUp {
		t.traits[i] = catalog.SetOfTraits(func(traits catalog.Traits) bool {
			return allows(traits) && t.allowsWayUp(traits, inverted)
		})
	}
}

var bothWaysUp = [2]bool{false, true}

// allowsWayUp says whether a damper may be mounted the one way up.
func (t *task) allowsWayUp(traits catalog.Traits, inverted bool) bool {
	if inverted {
		return traits.Invertible() && t.limits.Mounting != AsListed
	}
	return t.limits.Mounting != Inverted
}

// allows says whether the limits admit a damper the one way up.
func (t *task) allows(p *catalog.Point, inverted bool) bool {
	l := &t.limits
	return t.traits[asRank(inverted)].Has(p.Traits) &&
		(l.MaxBodyDiameter == 0 || p.Body <= l.MaxBodyDiameter) &&
		(l.MaxCompressed == 0 || p.Compressed <= l.MaxCompressed) &&
		(!l.HasMaxPrice || p.Price != mount.NoPrice && p.Price <= l.MaxPrice)
}

// mayAllow says whether the limits may admit any damper of the box the one way
// up.
func (t *task) mayAllow(b *catalog.Box, inverted bool) bool {
	l := &t.limits
	return t.traits[asRank(inverted)].Meets(&b.Traits) &&
		(l.MaxBodyDiameter == 0 || b.BodyLeast <= l.MaxBodyDiameter) &&
		(l.MaxCompressed == 0 || b.CompressedLeast <= l.MaxCompressed) &&
		(!l.HasMaxPrice || b.PriceLeast <= l.MaxPrice)
}

// shortfall is what the least travel lacks each way for a damper of those
// effective lengths, nought where it holds.
func (t *task) shortfall(compressed, extended unit.Length) Both {
	return Both{
		Compression: max(0, t.needC.Least-(t.value-compressed)),
		Extension:   max(0, t.needE.Least-(extended-t.value)),
	}
}
