package fit

import (
	"midstroke/internal/catalog"
	"midstroke/internal/mount"
	"midstroke/internal/unit"
)

// task is a request prepared for comparison with dampers.
type task struct {
	bolting  *bolting
	snapshot *catalog.Snapshot

	// value is the working length, low and high its bounds, and shorter and
	// longer the means of the two sides: each side must fit.
	value, low, high unit.Length
	shorter, longer  unit.Length
	needC, needE     Need
	droop            droopNeed

	limits  Limits
	dampers int                 // that the pick list is for
	traits  [2]catalog.TraitSet // that the limits admit, as listed and inverted
	lean    float64             // degrees from upright, negative where not known
	prefer  Ratio
	heights heights
	// drivenAt is the range of ride heights and shift what it does to the
	// damper's length.
	drivenAt   Heights
	shift      heightShift
	kinematics *kinematics // nil without a linkage
	asked      stopsAsked
	// rodStop is the height that a stop on the damper's rod still has when it is
	// solid: every damper's shortest usable length is longer by that.
	rodStop unit.Length
	// inTime is the least compression travel with which the bump stop asked about is
	// solid in time, where only a motion ratio is known.
	inTime unit.Length

	doubt doubt

	// valving judges dampers by their force tables, nil where the request has no
	// corner.
	valving *valving
}

// heights is what a change of ride height does, where that is known.
type heights struct {
	// ratio is damper travel over wheel travel, 0 where not known, and tolerance
	// its half-width.
	ratio, tolerance float64
	// delta is how much higher than at ride height the body stood while
	// measuring, gaps by how much that may be wrong, and planned by how much the
	// body is to be raised.
	delta, gaps, planned unit.Length
	// stopsFixed says that the needed travel was computed to stops that stay
	// where they are. Raising the body then adds as much to one need as to the
	// length, and cures nothing.
	stopsFixed bool
}

// helpful says whether a change of ride height can cure anything.
func (h heights) helpful() bool { return h.ratio > 0 && !h.stopsFixed }

// window is the lengths that one grade of fit admits: compressed at most, extended
// at least, each with the damper's own tolerance against it where toleranced.
type window struct {
	compressedMost, extendedLeast unit.Length
	// strokeOver is less than the stroke of any damper that is admitted.
	strokeOver unit.Length
	toleranced bool
}

// usable gives the window of a grade for a damper's usable lengths, which are with
// its adapters and with the stop on its rod. Each window lies within those of all
// later grades.
func (t *task) usable(grade Grade) window {
	switch grade {
	case Clear:
		return window{compressedMost: t.low - t.needC.WantedWorst, extendedLeast: t.high + t.needE.WantedWorst, toleranced: true}
	case Tight:
		return window{compressedMost: t.low - t.needC.LeastWorst, extendedLeast: t.high + t.needE.LeastWorst, toleranced: true}
	case Marginal, notServed:
	}
	return window{compressedMost: t.shorter - t.needC.Least, extendedLeast: t.longer + t.needE.Least}
}

// window gives the window of a grade for the lengths as listed, in an arrangement
// that adds a length.
func (t *task) window(grade Grade, adds unit.Length) window {
	w := t.usable(grade)
	w.compressedMost -= adds + t.rodStop
	w.extendedLeast -= adds
	w.strokeOver = t.rodStop
	return w
}

// windows gives the window of every grade.
func (t *task) windows(adds unit.Length) (all [grades]window) {
	for g := range all {
		all[g] = t.window(Grade(g), adds)
	}
	return all
}

// strokeLeast is the least stroke of any damper in the window.
func (w *window) strokeLeast() unit.Length { return w.extendedLeast - w.compressedMost }

// admits says whether a damper lies in the window.
func (w *window) admits(p *catalog.Point) bool {
	c, e := p.Compressed, p.Extended
	if w.toleranced {
		c, e = c+p.Tolerance, e-p.Tolerance
	}
	return c <= w.compressedMost && e >= w.extendedLeast && p.Stroke() > w.strokeOver
}

// mayAdmit says whether any damper in the box may lie in the window.
func (w *window) mayAdmit(b *catalog.Box) bool {
	c, e := b.CompressedLeast, b.ExtendedMost
	if w.toleranced {
		c, e = c+b.ToleranceLeast, e-b.ToleranceLeast
	}
	return c <= w.compressedMost && e >= w.extendedLeast
}

// admitsAll says whether every damper in the box lies in the window of a grade
// without tolerances.
func (w *window) admitsAll(b *catalog.Box) bool {
	return !w.toleranced && b.CompressedMost <= w.compressedMost && b.ExtendedLeast >= w.extendedLeast && b.StrokeLeast > w.strokeOver
}

// admitTraits computes which traits the limits admit, as listed and inverted.
func (t *task) admitTraits() {
	l := &t.limits
	allows := func(traits catalog.Traits) bool {
		return (l.Construction == 0 || traits.Construction() == l.Construction) &&
			traits.Adjusters().Has(l.Adjusters) && (!l.InStock || t.snapshot.StockMoves() || traits.InStock()) &&
			(l.admitsLoad() || !carriesLoad(traits.Adjusters())) && t.allowsLean(traits)
	}
	for i, inverted := range bothWaysUp {
		t.traits[i] = catalog.SetOfTraits(func(traits catalog.Traits) bool {
			return allows(traits) && t.allowsWayUp(traits, inverted)
		})
	}
}

var bothWaysUp = [2]bool{false, true}

// allowsWayUp says whether a damper may be mounted as listed, or inverted.
func (t *task) allowsWayUp(traits catalog.Traits, inverted bool) bool {
	if inverted {
		return traits.Invertible() && !needsUpright(traits) && t.limits.Mounting != AsListed
	}
	return t.limits.Mounting != Inverted
}

// allows says whether the limits admit a damper one way up.
func (t *task) allows(p *catalog.Point, inverted bool) bool {
	l := &t.limits
	return t.traits[asRank(inverted)].Has(p.Traits) &&
		(l.MaxBodyDiameter == 0 || p.Body <= l.MaxBodyDiameter) &&
		(l.MaxCompressed == 0 || p.Compressed <= l.MaxCompressed) &&
		(!l.HasMaxPrice || p.Price != mount.NoPrice && p.Price <= l.MaxPrice) &&
		t.admitsDamping(p) &&
		(!l.InStock || t.inStock(p))
}

// inStock says whether as many of a damper as the request is for are in stock.
func (t *task) inStock(p *catalog.Point) bool {
	if !t.snapshot.StockMoves() {
		return p.Traits.InStock()
	}
	return t.snapshot.InStock(t.snapshot.Dampers()[p.Damper].Code, p.Traits.InStock(), max(1, t.dampers))
}

// mayAllow says whether the limits may admit any damper of the box one way up.
func (t *task) mayAllow(b *catalog.Box, inverted bool) bool {
	l := &t.limits
	return t.traits[asRank(inverted)].Meets(&b.Traits) &&
		(l.MaxBodyDiameter == 0 || b.BodyLeast <= l.MaxBodyDiameter) &&
		(l.MaxCompressed == 0 || b.CompressedLeast <= l.MaxCompressed) &&
		(!l.HasMaxPrice || b.PriceLeast <= l.MaxPrice) && t.mayDamp(b)
}

// shortfall is what the least travel lacks each way for a damper of those usable
// lengths, 0 where it holds.
func (t *task) shortfall(compressed, extended unit.Length) Both {
	return Both{
		Compression: max(0, t.needC.Least-(t.shorter-compressed)),
		Extension:   max(0, t.needE.Least-(extended-t.longer)),
	}
}
