package mount

import (
	"midstroke/internal/note"
	"midstroke/internal/unit"
)

// detail adds to the quick answer why it is so, what would cure it, the bolt,
// the working and the cautions.
func (w *eyeSearch) detail(opts *Options, r *Result) {
	switch {
	case !r.Possible:
		w.diagnose(r)
	case w.bracket.Bolt.Diameter == 0:
		r.reason("no_bolt_given")
	case w.end.Bore == 0:
		r.reason("bore_not_listed")
	}
	if len(r.Sleeves) > 0 || r.Possible && !r.Open {
		w.explain(r)
	}
	r.addBolt(w.bracket, w.joint(r), opts)
	r.caution("tighten_at_ride_height")
	bolt := w.bracket.Bolt
	pin := bolt.Diameter != 0 && !bolt.Threaded()
	r.complete(r.Spacers != nil && (pin || r.Bolt != nil && r.Bolt.Length != 0),
		need{"bolt", bolt.Diameter != 0}, need{"opening", w.bracket.Opening != 0}, need{"plate", pin || w.bracket.Plate != 0})
}

// joint is what the bracket's bolt passes through. The plates stand as far
// apart as the opening, or where that wasn't given as what they clamp.
func (w *eyeSearch) joint(r *Result) joint {
	j := joint{planes: 1, plates: 1, between: w.bracket.Opening, plate: w.bracket.Plate, washer: w.bracket.Washer, tube: w.clampedTube(r)}
	if j.between == 0 {
		j.between = w.clamped(r)
	}
	switch w.bracket.Shear {
	case SingleShear:
	case DoubleShear:
		j.planes, j.plates = 2, 2
	case NoShear:
		// Each the safe way: a bolt held in one plate is the weaker, and one long
		// enough for two plates is long enough for one.
		j.plates, j.assumed = 2, true
	}
	return j
}

// clamped is the length that the bracket clamps: the longest sleeve's, or the
// bushing's own; 0 where it isn't known.
func (w *eyeSearch) clamped(r *Result) unit.Length {
	if len(r.Sleeves) == 0 {
		return w.end.Width
	}
	var longest unit.Length
	for i := range r.Sleeves {
		longest = max(longest, r.Sleeves[i].Sleeve.Length)
	}
	return longest
}

// spacerBore is the largest bore of a spacer that bears on what the bracket clamps.
func (r *Result) spacerBore() unit.Length {
	var on bearing
	for i := range r.Sleeves {
		s := &r.Sleeves[i].Sleeve
		on.add(s.Length, s.Outer, s.Bore)
	}
	return on.most()
}

// clampedTube is the face of the tube that the bracket clamps: the longest sleeve,
// of several the innermost; without sleeves the bushing's own tube, whose wall
// isn't listed.
func (w *eyeSearch) clampedTube(r *Result) tubeFace {
	if len(r.Sleeves) == 0 {
		if !r.Possible || r.Open {
			return tubeFace{}
		}
		return tubeFace{bore: w.end.Bore}
	}
	longest := &r.Sleeves[0].Sleeve
	for i := range r.Sleeves {
		if s := &r.Sleeves[i].Sleeve; s.Length >= longest.Length {
			longest = s
		}
	}
	return tubeFace{code: longest.Code, outer: longest.Outer, bore: longest.Bore}
}

// explain writes the arithmetic of sleeves and spacers.
func (w *eyeSearch) explain(r *Result) {
	l := &w.limits
	const source = "common practice"
	nominal := func(bore unit.Length) { r.caution("nominal_bore", note.Size("bore", bore)) }
	limits := func(least, most unit.Length) []note.Value {
		return []note.Value{note.Size("least", least), note.Size("most", most)}
	}
	if len(r.Sleeves) == 0 {
		if w.end.BoreIs == Nominal {
			nominal(w.end.Bore)
		} else {
			r.step("bushing_on_bolt", note.Size("gap", w.end.Bore-w.nesting.bolt), source,
				append(limits(l.BoltGapLeast, l.BoltGapMost), note.Size("bore", w.end.Bore), note.Size("bolt", w.nesting.bolt))...)
		}
	}
	for i := range r.Sleeves {
		u := &r.Sleeves[i]
		if u.OutsideIs == Nominal {
			nominal(u.Sleeve.Outer)
		} else {
			code, hole := note.Code("sleeve_in_bushing"), w.end.Bore
			if i > 0 {
				code, hole = "sleeve_in_sleeve", r.Sleeves[i-1].Sleeve.Bore
			}
			r.step(code, note.Size("gap", u.GapOutside), source, append(limits(l.SleeveGapLeast, l.SleeveGapMost),
				note.Word("code", u.Sleeve.Code), note.Size("bore", hole), note.Size("outer", u.Sleeve.Outer))...)
		}
		if i < len(r.Sleeves)-1 {
			continue
		}
		if u.InsideIs == Nominal {
			nominal(u.Sleeve.Bore)
		} else {
			r.step("sleeve_on_bolt", note.Size("gap", u.GapInside), source, append(limits(l.BoltGapLeast, l.BoltGapMost),
				note.Word("code", u.Sleeve.Code), note.Size("bore", u.Sleeve.Bore), note.Size("bolt", w.nesting.bolt))...)
		}
	}
	w.explainWidth(r)
}

// explainWidth writes the arithmetic along the bolt.
func (w *eyeSearch) explainWidth(r *Result) {
	clamped := w.clamped(r)
	if w.end.Width == 0 {
		r.caution("width_not_listed")
	}
	if clamped == 0 {
		return
	}
	if len(r.Sleeves) > 0 {
		r.step("clamped_length", note.Size("clamped", clamped), "common practice", note.Size("width", w.end.Width))
	}
	if r.Spacers == nil {
		if w.bracket.Opening == 0 {
			r.caution("opening_not_given")
		}
		return
	}
	gap := w.bracket.Opening - clamped
	r.step("opening_gap", note.Size("gap", gap), "", note.Size("opening", w.bracket.Opening), note.Size("clamped", clamped))
	for _, u := range r.Spacers.EachSide {
		both := unit.Length(2*u.Quantity) * u.Spacer.Thickness
		gap -= both
		r.step("spacers_each_side", note.Size("gap", gap), "",
			note.Num("quantity", float64(u.Quantity), ""), note.Word("code", u.Spacer.Code),
			note.Size("thickness", u.Spacer.Thickness), note.Size("both", both))
	}
	if r.Possible && r.Spacers.LeftOver > 0 {
		r.step("bracket_drawn_in", note.Size("left_over", r.Spacers.LeftOver), "common practice", note.Size("most", w.limits.LeftOverMost))
	}
}
