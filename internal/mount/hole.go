package mount

import "midstroke/internal/unit"

// Hole is the clearance hole for a bolt in a bracket. It sizes the bracket's
// holes and never a sleeve's bore, which is judged by Limits.
type Hole struct {
	Standard string // "ISO 273" or "ASME B18.2.8"
	// Fits are three, from the closest to the loosest.
	Fits [3]HoleFit
}

// HoleFit is the hole's diameter for one class of fit: "fine", "medium" and
// "coarse" of ISO 273, "close", "normal" and "loose" of ASME B18.2.8.
type HoleFit struct {
	Name     string
	Diameter unit.Length
}

// The places of a Hole's fits.
const (
	mediumFit = 1
	looseFit  = 2
)

// loosest gives the most play that a hole may leave a bolt, with its source: the
// coarse or loose series of its standard.
func loosest(b Bolt) (most unit.Length, source string) { return play(b, looseFit) }

// clearanceHole gives the hole to make for a bolt: the medium or normal series of
// its standard.
func clearanceHole(b Bolt) unit.Length {
	gap, _ := play(b, mediumFit)
	return b.Diameter + gap
}

// play gives how much larger than a bolt its hole is in a series, with the
// source. A size that its standard leaves out has the play of the next smaller
// one, below the smallest that of the smallest, and a plain pin counts as metric:
// our choice.
func play(b Bolt, fit int) (gap unit.Length, source string) {
	if h := BracketHole(b); h != nil {
		return h.Fits[fit].Diameter - b.Diameter, h.Standard
	}
	for _, of := range CoarseBolts() {
		h := BracketHole(of)
		if h == nil || of.Thread.Inch() != b.Thread.Inch() {
			continue
		}
		if of.Diameter > b.Diameter && gap != 0 {
			break
		}
		gap = h.Fits[fit].Diameter - of.Diameter
	}
	return gap, "our choice"
}

// edgeDistance is the least distance from the centre of a hole to the edge of its
// plate: 1.5 diameters, common practice, no source. (EN 1993-1-8, table 3.3, has
// 1.2 as its least; from memory.)
func edgeDistance(hole unit.Length) unit.Length { return hole.Scale(1.5) }

// BracketHole gives the clearance hole for a bolt, nil for a plain pin and for
// a size that its standard hasn't.
func BracketHole(b Bolt) *Hole {
	size, system := b.Thread.size(), b.Thread.system()
	if size == nil || size.holes[0] == 0 {
		return nil
	}
	h := &Hole{Standard: system.hole}
	for i := range h.Fits {
		h.Fits[i] = HoleFit{system.holeFits[i], size.holes[i]}
	}
	return h
}
