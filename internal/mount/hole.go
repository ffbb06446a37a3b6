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

// metricHoles are ISO 273's fine, medium and coarse series in mm, as fastener
// suppliers print them; M18 and M22 are from an older list that agrees on the
// others. (Older tables give M12 14/15, M14 16/17 and M16 18/19 for medium and
// coarse.) The rows are those of metricSizes.
func metricHole(row int) [3]float64 {
	return [len(metricSizes)][3]float64{
		{6.4, 6.6, 7}, {8.4, 9, 10}, {10.5, 11, 12}, {13, 13.5, 14.5}, {15, 15.5, 16.5},
		{17, 17.5, 18.5}, {19, 20, 21}, {21, 22, 24}, {23, 24, 26}, {25, 26, 28},
	}[row]
}

// inchHoles are ASME B18.2.8-1999's close, normal and loose holes in 1/64 in,
// zeros for 9/16 in, which it hasn't: loose as Machinery's Handbook, 31st ed., p.
// 1741, prints it, close and normal from a chart that agrees with it. Many charts print 33/64, 17/32 and
// 35/64 for 1/2 in, which isn't that standard. The rows are those of inchSizes.
func inchHole(row int) [3]unit.Length {
	return [len(inchSizes)][3]unit.Length{
		{17, 18, 19}, {21, 22, 23}, {25, 26, 27}, {29, 30, 31}, {34, 36, 39},
		{}, {42, 44, 47}, {50, 52, 58}, {58, 60, 66}, {66, 70, 74},
	}[row]
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
	switch {
	case !b.Threaded():
		return nil
	case b.Thread.Inch():
		row, ok := inchSize(b.Diameter)
		if !ok || inchHole(row)[0] == 0 {
			return nil
		}
		h := inchHole(row)
		return &Hole{Standard: "ASME B18.2.8", Fits: [3]HoleFit{
			{"close", h[0] * unit.Inch / 64}, {"normal", h[1] * unit.Inch / 64}, {"loose", h[2] * unit.Inch / 64},
		}}
	}
	row, ok := metricSizeOf(b.Diameter)
	if !ok {
		return nil
	}
	h := metricHole(row)
	return &Hole{Standard: "ISO 273", Fits: [3]HoleFit{
		{"fine", unit.FromMm(h[0])}, {"medium", unit.FromMm(h[1])}, {"coarse", unit.FromMm(h[2])},
	}}
}
