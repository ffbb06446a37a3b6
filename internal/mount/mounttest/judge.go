// Package mounttest judges how ends bolt up by rules that are written apart from
// package mount, without an index: it tries every chain of up to three sleeves and
// every pile of up to three spacers. Tests hold the solver and the search against
// it.
package mounttest

import (
	"cmp"
	"slices"
	"strings"

	"midstroke/internal/mount"
	"midstroke/internal/unit"
)

// Parts are what a shelf holds.
type Parts struct {
	Sleeves  []mount.Sleeve
	Spacers  []mount.Spacer
	Adapters []mount.Adapter
	Limits   mount.Limits
}

// InStock leaves out what isn't in stock.
func (p Parts) InStock() Parts {
	p.Sleeves = kept(p.Sleeves, func(s mount.Sleeve) bool { return s.InStock })
	p.Spacers = kept(p.Spacers, func(s mount.Spacer) bool { return s.InStock })
	p.Adapters = kept(p.Adapters, func(a mount.Adapter) bool { return a.InStock })
	return p
}

func kept[T any](list []T, keep func(T) bool) []T {
	return slices.DeleteFunc(slices.Clone(list), func(v T) bool { return !keep(v) })
}

// Way is one way to bolt an end up. Of a stud, of a bar pin and of an end that is
// left open it is the zero value.
type Way struct {
	Sleeves []mount.Sleeve // from the outermost in
	Gap     unit.Length
	Filled  bool
	Left    unit.Length
	Spacers []mount.Spacer // of one side, by code

	sleeveCodes, spacerCodes string
}

// Money is a sum, and how many parts of it have no price.
type Money struct {
	Unpriced int
	Sum      mount.Price
}

// Add adds a part's price.
func (m Money) Add(p mount.Price) Money {
	if p == mount.NoPrice {
		return Money{m.Unpriced + 1, m.Sum}
	}
	return Money{m.Unpriced, m.Sum + p}
}

func (m Money) compare(n Money) int {
	return cmp.Or(cmp.Compare(m.Unpriced, n.Unpriced), cmp.Compare(m.Sum, n.Sum))
}

// Price is the sum, NoPrice where a part of it has none.
func (m Money) Price() mount.Price {
	if m.Unpriced > 0 {
		return mount.NoPrice
	}
	return m.Sum
}

// Parts counts the sleeves, and the spacers of both sides.
func (w *Way) Parts() int { return len(w.Sleeves) + 2*len(w.Spacers) }

// Cost is the price of those parts.
func (w *Way) Cost() Money {
	m := Money{}
	for _, s := range w.Sleeves {
		m = m.Add(s.Price)
	}
	for _, s := range w.Spacers {
		m = m.Add(s.Price).Add(s.Price)
	}
	return m
}

// compare orders ways as the contract does. All of them leave little enough over.
func (w *Way) compare(v *Way) int {
	return cmp.Or(
		cmp.Compare(len(w.Sleeves), len(v.Sleeves)),
		cmp.Compare(w.Gap, v.Gap),
		cmp.Compare(len(w.Spacers), len(v.Spacers)),
		cmp.Compare(w.Left, v.Left),
		w.Cost().compare(v.Cost()),
		strings.Compare(w.sleeveCodes, v.sleeveCodes),
		strings.Compare(w.spacerCodes, v.spacerCodes),
	)
}

// Best gives the best way to bolt an end up with the parts; nil where there is
// none.
func Best(end mount.End, bracket mount.Bracket, parts Parts) *Way {
	switch end.Style {
	case mount.Eye:
		return eye(end, bracket, parts)
	case mount.Stud:
		return only(stud(end, bracket))
	case mount.BarPin:
		return only(barPin(end, bracket))
	case mount.NoStyle, mount.Fork, mount.SpindleStrut:
	}
	return nil
}

func only(possible bool) *Way {
	if possible {
		return &Way{}
	}
	return nil
}

func eye(end mount.End, bracket mount.Bracket, parts Parts) *Way {
	if bracket.Opening != 0 && end.Width > bracket.Opening {
		return nil
	}
	if end.Bore == 0 || bracket.Bolt.Diameter == 0 {
		return &Way{} // left open
	}
	s := &search{end: end, bracket: bracket, parts: parts}
	if gap, ok := gap(end.Bore, end.BoreIs, bracket.Bolt.Diameter, parts.Limits.BoltGapLeast, parts.Limits.BoltGapMost); ok {
		s.consider(Way{Gap: gap}, end.Width)
	}
	s.nest(nil, end.Bore, end.BoreIs, 0, 0)
	return s.best
}

// gap is the gap of a part in a hole as it is ranked, and whether it is within the
// limits.
func gap(hole unit.Length, is mount.BoreIs, part, least, most unit.Length) (unit.Length, bool) {
	if is == mount.Nominal {
		// The same name, written to a thousandth of an inch.
		return most, hole-part <= 12_700 && part-hole <= 12_700
	}
	return hole - part, hole-part >= least && hole-part <= most
}

type search struct {
	end     mount.End
	bracket mount.Bracket
	parts   Parts
	best    *Way
}

func (s *search) nest(chain []mount.Sleeve, hole unit.Length, is mount.BoreIs, so, longest unit.Length) {
	l := &s.parts.Limits
	for _, tube := range s.parts.Sleeves {
		g, ok := gap(hole, is, tube.Outer, l.SleeveGapLeast, l.SleeveGapMost)
		if !ok || tube.Outer <= tube.Bore || s.end.Width != 0 && tube.Length < s.end.Width-l.LeftOverMost {
			continue
		}
		longer, reach := append(chain, tube), max(longest, tube.Length)
		if last, ok := gap(tube.Bore, tube.BoreIs, s.bracket.Bolt.Diameter, l.BoltGapLeast, l.BoltGapMost); ok {
			s.consider(Way{Sleeves: longer, Gap: so + g + last}, reach)
		}
		if len(longer) < 3 {
			s.nest(longer, tube.Bore, tube.BoreIs, so+g, reach)
		}
	}
}

// consider fills the opening beside a clamped length in every way.
func (s *search) consider(w Way, clamped unit.Length) {
	var codes []string
	for _, tube := range w.Sleeves {
		codes = append(codes, tube.Code)
	}
	w.Sleeves, w.sleeveCodes = slices.Clone(w.Sleeves), strings.Join(codes, " ")
	opening := s.bracket.Opening
	switch {
	case opening == 0 || clamped == 0:
		s.keep(w)
		return
	case clamped > opening:
		return
	}
	EveryPile(s.parts.Spacers, s.bracket.Bolt.Diameter, func(side []mount.Spacer) {
		v := w
		v.Filled, v.Left = true, opening-clamped
		if !bears(side, w.Sleeves, clamped) {
			return
		}
		codes := []string{}
		for _, spacer := range side {
			v.Left -= 2 * spacer.Thickness
			codes = append(codes, spacer.Code)
		}
		if v.Left < 0 || v.Left > s.parts.Limits.LeftOverMost {
			return
		}
		v.Spacers, v.spacerCodes = slices.Clone(side), strings.Join(codes, " ")
		s.keep(v)
	})
}

// bears says whether every spacer of a side bears on a sleeve of the clamped length:
// its bore ends within the inner half of that sleeve's wall (our choice).
func bears(side []mount.Spacer, sleeves []mount.Sleeve, clamped unit.Length) bool {
	if len(sleeves) == 0 {
		return true // the bushing's own tube isn't listed
	}
	for _, spacer := range side {
		on := slices.ContainsFunc(sleeves, func(tube mount.Sleeve) bool {
			return tube.Length == clamped && 2*spacer.Bore <= tube.Outer+tube.Bore
		})
		if !on {
			return false
		}
	}
	return true
}

func (s *search) keep(w Way) {
	if s.best == nil || w.compare(s.best) < 0 {
		s.best = &w
	}
}

// EveryPile calls f with every pile of up to three of the spacers that go on the
// bolt, by code.
func EveryPile(spacers []mount.Spacer, bolt unit.Length, f func([]mount.Spacer)) {
	f(nil)
	fit := kept(spacers, func(p mount.Spacer) bool { return p.Bore >= bolt && p.Bore <= bolt+2*unit.Millimetre })
	slices.SortFunc(fit, func(a, b mount.Spacer) int { return strings.Compare(a.Code, b.Code) })
	for i := range fit {
		f([]mount.Spacer{fit[i]})
		for j := i; j < len(fit); j++ {
			f([]mount.Spacer{fit[i], fit[j]})
			for k := j; k < len(fit); k++ {
				f([]mount.Spacer{fit[i], fit[j], fit[k]})
			}
		}
	}
}

// stud judges a stud by its hole. The stack is judged by hand in the tests of
// package mount, so a frame's thickness isn't looked at here.
func stud(end mount.End, bracket mount.Bracket) bool {
	if bracket.FrameThickness != 0 {
		panic("mounttest: the stack of a stud isn't judged here")
	}
	switch hole := bracket.FrameHole; {
	case hole == 0:
		return true
	case end.Spigot != 0:
		return end.Spigot <= hole && hole <= end.Spigot+2*unit.Millimetre
	default:
		return end.Thread.Diameter <= hole
	}
}

// barPin judges a bar pin. The play that its bolts may have is ISO 273's coarse
// and ASME B18.2.8's loose series, in mm, for the bolts that tests use; another one
// panics.
func barPin(end mount.End, bracket mount.Bracket) bool {
	slack := end.Slot / 2
	if end.Hole != 0 && bracket.Bolt.Diameter != 0 {
		play := end.Hole - bracket.Bolt.Diameter
		hole, ok := loosestHoles[bracket.Bolt.Diameter.Mm()]
		if !ok {
			panic("mounttest: the loosest hole of this bolt isn't known")
		}
		most := unit.FromMm(hole) - bracket.Bolt.Diameter
		if play < 0 || play > most {
			return false
		}
		slack += play
	}
	if end.HoleSpacing == 0 || bracket.HoleSpacing == 0 {
		return true
	}
	off := end.HoleSpacing - bracket.HoleSpacing
	return off <= slack && -off <= slack
}

var loosestHoles = map[float64]float64{
	10: 12, 12: 14.5, 14: 16.5,
	25.4 * 7 / 16: 25.4 * 31 / 64, 25.4 / 2: 25.4 * 39 / 64, 25.4 * 5 / 8: 25.4 * 47 / 64,
}

// Mates says whether an adapter made for an end like from takes an end.
func Mates(from, end mount.End, l mount.Limits) bool {
	if from.Style != end.Style {
		return false
	}
	switch from.Style {
	case mount.Eye:
		nominal := from.BoreIs == mount.Nominal || end.BoreIs == mount.Nominal
		loose := end.Bore - from.Bore
		narrow := from.Width - end.Width
		boreOK := from.Bore == 0 || loose == 0 || nominal && loose <= 12_700 && -loose <= 12_700 ||
			!nominal && loose >= l.SleeveGapLeast && loose <= l.SleeveGapMost
		return boreOK && (from.Width == 0 || end.Width != 0 && narrow >= 0 && narrow <= l.LeftOverMost)
	case mount.Stud:
		return (from.Thread == mount.Thread{} || from.Thread == end.Thread) && end.UsableLength >= from.UsableLength
	case mount.BarPin:
		off := from.HoleSpacing - end.HoleSpacing
		slots := (from.Slot + end.Slot) / 2
		return (from.HoleSpacing == 0 || end.HoleSpacing != 0 && off <= slots && -off <= slots) && (from.Hole == 0 || from.Hole == end.Hole)
	case mount.NoStyle, mount.Fork, mount.SpindleStrut:
	}
	return false
}
