package mount

import (
	"midstroke/internal/fault"
	"midstroke/internal/note"
	"midstroke/internal/unit"
)

var barPinMethod = method{
	style:  BarPin,
	planes: []Plane{BarCentre, SeatFace},
	rubber: true,
	boltUp: (*Shelf).barPin,
	// The spacings may differ by half of both slots together.
	mates: func(_ *Limits, from, end *End) bool {
		return (from.HoleSpacing == 0 || end.HoleSpacing != 0 && (from.HoleSpacing-end.HoleSpacing).Abs() <= (from.Slot+end.Slot)/2) &&
			(from.Hole == 0 || from.Hole == end.Hole)
	},
	check: func(e *End, faults *fault.List) {
		if e.HoleSpacing > 0 && e.Hole >= e.HoleSpacing {
			faults.Add("/hole", holesOverlap)
		}
		if e.HoleSpacing > 0 && e.Slot >= e.HoleSpacing {
			faults.Add("/slot", slotTooLong)
		}
	},
	needs: func(b *Bracket, faults *fault.List) {
		if b.HoleSpacing == 0 {
			faults.Add("/bracket/hole_spacing", spacingMissing)
		}
	},
}

// pinFit is what can be judged of a bar pin on a bracket's two holes.
type pinFit struct {
	// off is the bracket's spacing less the pin's, and slack how far it may be
	// off either way.
	off, slack   unit.Length
	spacingKnown bool
	// gap is the pin's hole less the bolt, most the largest gap that is allowed,
	// and source where that limit is from.
	gap, most unit.Length
	source    string
	gapKnown  bool
}

// fitPin holds a bar pin's holes against the bracket's. Slots let the spacing
// be off by half their play either way; on top of that each of the two bolts
// may lie to one side in its hole by half the clearance there, so together they
// give the whole of it. The clearance in the bracket's own holes isn't counted:
// they may be threaded. Nor is play beyond what a clearance hole may have: a joint
// that loose doesn't hold.
func fitPin(end *End, bracket *Bracket) pinFit {
	f := pinFit{slack: end.Slot / 2}
	if end.Hole != 0 && bracket.Bolt.Diameter != 0 {
		f.gap, f.gapKnown = end.Hole-bracket.Bolt.Diameter, true
		f.most, f.source = loosest(bracket.Bolt)
		f.slack += min(max(0, f.gap), f.most)
	}
	if end.HoleSpacing != 0 && bracket.HoleSpacing != 0 {
		f.off, f.spacingKnown = bracket.HoleSpacing-end.HoleSpacing, true
	}
	return f
}

func (f *pinFit) possible() bool {
	return (!f.spacingKnown || f.off.Abs() <= f.slack) && (!f.gapKnown || between(f.gap, 0, f.most))
}

// barPin bolts a bar pin up. It takes no parts from the shelf.
func (s *Shelf) barPin(end *End, bracket *Bracket, opts *Options) Result {
	f := fitPin(end, bracket)
	r := Result{Possible: f.possible()}
	r.Open = r.Possible && !(f.spacingKnown && f.gapKnown)
	if opts.Detail {
		f.detail(s, end, bracket, opts, &r)
	}
	return r
}

// detail says why a bar pin doesn't go onto the bracket, and shows the
// arithmetic.
func (f *pinFit) detail(s *Shelf, end *End, bracket *Bracket, opts *Options, r *Result) {
	defer r.settle()
	if r.Open {
		r.reason("bar_pin_left_open")
	}
	bolt := note.Size("bolt", bracket.Bolt.Diameter)
	if f.gapKnown {
		hole := note.Size("hole", end.Hole)
		most := note.Size("most", f.most)
		r.step("bolt_in_bar_pin", note.Size("gap", f.gap), f.source, hole, bolt, most)
		switch {
		case f.gap < 0:
			r.reason("bolt_larger_than_pin_hole", note.Size("by", -f.gap), bolt, hole)
		case f.gap > f.most:
			r.reason("pin_hole_loose_on_bolt", note.Size("by", f.gap-f.most), bolt, hole, most)
		}
	}
	if f.spacingKnown {
		pin, holes := note.Size("pin", end.HoleSpacing), note.Size("bracket", bracket.HoleSpacing)
		r.step("hole_spacing_off", note.Size("off", f.off.Abs()), "", pin, holes)
		r.step("hole_spacing_slack", note.Size("slack", f.slack), "our choice",
			note.Size("half_slot", end.Slot/2), note.Size("clearance", f.slack-end.Slot/2))
		if f.off.Abs() > f.slack {
			r.reason("hole_spacing_differs", note.Size("by", f.off.Abs()-f.slack), pin, holes, note.Size("slack", f.slack))
		}
	}
	if !r.Possible {
		s.nearestBolt(r, bracket, func(b *Bracket) bool {
			other := fitPin(end, b)
			return other.possible()
		})
		if by := f.off.Abs() - f.slack; f.spacingKnown && by > 0 {
			r.cure(MoveHoles, by, by+2*f.slack)
			if f.off > 0 {
				moved := &r.Cures[len(r.Cures)-1]
				moved.By, moved.Note.Code = -moved.By, "cure_move_holes_together"
			}
		}
	}
	r.addBolt(bracket, joint{washer: bracket.Washer}, opts)
	if opts.Load > 0 {
		r.caution("bar_pin_bolts_are_pulled")
	}
	r.caution("tighten_at_ride_height")
	r.complete(true, need{"hole_spacing", bracket.HoleSpacing != 0}, need{"bolt", bracket.Bolt.Diameter != 0})
}
