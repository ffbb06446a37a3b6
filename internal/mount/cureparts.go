package mount

import (
	"midstroke/internal/note"
	"midstroke/internal/unit"
)

// cureBySleeve offers one sleeve from the bore straight to the bolt. There is
// none where it would have no wall, and none helps a bushing that is wider than
// the opening.
func (w *eyeSearch) cureBySleeve(r *Result) {
	if w.bracket.Opening != 0 && w.end.Width > w.bracket.Opening {
		return
	}
	l, bore, bolt := &w.limits, w.end.Bore, w.nesting.bolt
	most := WantedSleeve{
		OuterLeast: bore - l.SleeveGapMost, OuterMost: bore - l.SleeveGapLeast,
		BoreLeast: bolt + l.BoltGapLeast, BoreMost: bolt + l.BoltGapMost,
	}
	if w.end.BoreIs == Nominal {
		most.OuterLeast, most.OuterMost = bore-SameSize, bore+SameSize
	}
	if !most.leaveWall() {
		return
	}
	most.LengthLeast, most.LengthMost = w.sleeveLengths(bearingBore(most.OuterLeast, most.BoreLeast))
	want, ok := most.written()
	if !ok {
		return
	}
	code := note.Code("cure_add_sleeve")
	switch {
	case want.LengthMost == 0 && want.LengthLeast == 0:
		code = "cure_add_sleeve_any_length"
	case want.LengthMost == 0:
		code, most.LengthMost = "cure_add_sleeve_length_from", unit.MaxLength
	}
	values := within("outer", want.OuterLeast, want.OuterMost, most.OuterLeast, most.OuterMost)
	values = append(values, within("bore", want.BoreLeast, want.BoreMost, most.BoreLeast, most.BoreMost)...)
	values = append(values, within("length", want.LengthLeast, want.LengthMost, most.LengthLeast, most.LengthMost)...)
	r.Cures = append(r.Cures, Cure{Kind: AddSleeve, Sleeve: &want, Note: note.New(code, values...)})
}

// within gives the ends of a range for words, which may put any length from
// least to most for them.
func within(name string, from, to, least, most unit.Length) []note.Value {
	return []note.Value{note.SizeWithin(name+"_least", from, least, most), note.SizeWithin(name+"_most", to, least, most)}
}

// leaveWall narrows the ranges of the outer diameter and of the bore so that
// every choice from them has a wall of LeastWall. Each range gives up the same
// share of itself. It is false where what is left can't be made: a range that is
// narrower than a thousandth of an inch may hold no size that is written so.
func (s *WantedSleeve) leaveWall() bool {
	const narrowest = unit.Inch / 1000
	lacks := 2*LeastWall - (s.OuterLeast - s.BoreMost)
	if lacks <= 0 {
		return true
	}
	outer, bore := s.OuterMost-s.OuterLeast, s.BoreMost-s.BoreLeast
	if lacks > outer+bore {
		return false
	}
	ofOuter := lacks.Scale(float64(outer) / float64(outer+bore))
	s.OuterLeast += ofOuter
	s.BoreMost -= lacks - ofOuter
	return s.OuterMost-s.OuterLeast >= narrowest && s.BoreMost-s.BoreLeast >= narrowest
}

// sleeveLengths gives the lengths of a sleeve that the bracket clamps; most is 0
// where there is no bound. Where the rest of the opening can be filled, the
// sleeve is as wide as the bushing, or shorter by the part of the allowed gap
// that spacers can leave unused. Else it fills the opening alone. No spacer has a larger
// bore than the given one, which bears on the thinnest such sleeve.
func (w *eyeSearch) sleeveLengths(bore unit.Length) (least, most unit.Length) {
	width, opening := w.end.Width, w.bracket.Opening
	if opening == 0 {
		return width, 0
	}
	least = max(w.nesting.least, 0)
	if width != 0 {
		if unused := w.limits.LeftOverMost - w.leastLeftOver(opening, width, bore); unused >= 0 {
			shortest := max(least, width-unused)
			if _, _, ok := inward(shortest, width); ok {
				return shortest, width
			}
		}
	}
	return max(least, opening-w.limits.LeftOverMost), opening
}

// written narrows the sizes to those that are written exactly in both systems;
// false where a range holds none.
func (s WantedSleeve) written() (WantedSleeve, bool) {
	var outer, bore, length bool
	s.OuterLeast, s.OuterMost, outer = inward(s.OuterLeast, s.OuterMost)
	s.BoreLeast, s.BoreMost, bore = inward(s.BoreLeast, s.BoreMost)
	if s.LengthMost == 0 {
		s.LengthLeast, length = s.LengthLeast.Up(unit.MaxLength), true
	} else {
		s.LengthLeast, s.LengthMost, length = inward(s.LengthLeast, s.LengthMost)
	}
	return s, outer && bore && length
}

// cureBySpacer offers one spacer on each side that fills a gap.
func (w *eyeSearch) cureBySpacer(r *Result, gap unit.Length) {
	bolt := w.nesting.bolt
	most := WantedSpacer{
		BoreLeast: bolt, BoreMost: min(bolt+SpacerGapMost, r.spacerBore()),
		ThicknessLeast: (gap - w.limits.LeftOverMost + 1) / 2, ThicknessMost: gap / 2,
	}
	want, ok := most.written()
	if !ok {
		return
	}
	values := within("thickness", want.ThicknessLeast, want.ThicknessMost, most.ThicknessLeast, most.ThicknessMost)
	values = append(values, within("bore", want.BoreLeast, want.BoreMost, most.BoreLeast, most.BoreMost)...)
	r.Cures = append(r.Cures, Cure{Kind: AddSpacer, Spacer: &want, Note: note.New("cure_add_spacer", values...)})
}

// written is as for a sleeve.
func (s WantedSpacer) written() (WantedSpacer, bool) {
	var bore, thickness bool
	s.BoreLeast, s.BoreMost, bore = inward(s.BoreLeast, s.BoreMost)
	s.ThicknessLeast, s.ThicknessMost, thickness = inward(s.ThicknessLeast, s.ThicknessMost)
	return s, bore && thickness
}
