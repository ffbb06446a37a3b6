package demo

import (
	"midstroke/internal/mount"
	"midstroke/internal/unit"
)

// ends are the ends that dampers of a series have, by style.
type ends map[mount.Style][]mount.End

// Bores and widths stand as often as they should be drawn: in inches the
// 3/4 in bushing is the common one (common practice, no source).
func inchEnds() ends {
	threeQuarters, fiveEighths := inches(0, 48), inches(0, 40)
	return ends{
		mount.Eye: {
			{Bore: threeQuarters, Width: inches(1, 32)},
			{Bore: threeQuarters, Width: inches(1, 32)},
			{Bore: threeQuarters, Width: inches(1, 16)},
			{Bore: threeQuarters, Width: inches(1, 24)},
			{Bore: fiveEighths, Width: inches(1, 16)},
			{Bore: fiveEighths, Width: inches(1, 32)},
			{Bore: inches(0, 32), BoreIs: mount.Nominal, Width: inches(1, 16)},
			{Bore: inches(0, 41), Width: inches(1, 32)},
		},
		mount.Stud: {
			{Thread: inchThread(inches(0, 24), 24), UsableLength: inches(1, 24), Spigot: inches(0, 48)},
			{Thread: inchThread(inches(0, 24), 16), UsableLength: inches(1, 32), Spigot: inches(0, 48)},
			{Thread: inchThread(inches(0, 28), 20), UsableLength: inches(1, 40), Spigot: inches(0, 56)},
			{Thread: inchThread(inches(0, 32), 20), UsableLength: inches(1, 48), Spigot: inches(0, 60)},
			{Thread: inchThread(inches(0, 32), 13), UsableLength: inches(2, 0), Spigot: inches(1, 0)},
		},
		mount.BarPin: {
			{HoleSpacing: inches(2, 8), Slot: inches(0, 8), Hole: inches(0, 26)},
			{HoleSpacing: inches(2, 32), Slot: inches(0, 16), Hole: inches(0, 30)},
			{HoleSpacing: inches(3, 0), Slot: inches(0, 16), Hole: inches(0, 30)},
			{HoleSpacing: inches(3, 24), Hole: inches(0, 34)},
		},
	}
}

func metricEnds() ends {
	return ends{
		mount.Eye: {
			{Bore: 16 * mm, Width: 32 * mm},
			{Bore: 16 * mm, Width: 36 * mm},
			{Bore: 16 * mm, Width: 40 * mm},
			{Bore: 20 * mm, Width: 40 * mm},
			{Bore: 20 * mm, Width: 46 * mm},
			{Bore: 10200 * um, Width: 32 * mm},
			{Bore: 12200 * um, Width: 36 * mm},
			{Bore: 14 * mm, BoreIs: mount.Nominal, Width: 40 * mm},
		},
		mount.Stud: {
			{Thread: metricThread(10*mm, 1250*um), UsableLength: 36 * mm, Spigot: 18 * mm},
			{Thread: metricThread(10*mm, 1*mm), UsableLength: 38 * mm, Spigot: 18 * mm},
			{Thread: metricThread(12*mm, 1250*um), UsableLength: 42 * mm, Spigot: 22 * mm},
			{Thread: metricThread(12*mm, 1500*um), UsableLength: 45 * mm, Spigot: 22 * mm},
			{Thread: metricThread(14*mm, 1500*um), UsableLength: 50 * mm, Spigot: 25 * mm},
		},
		mount.BarPin: {
			{HoleSpacing: 54 * mm, Slot: 4 * mm, Hole: 10500 * um},
			{HoleSpacing: 62 * mm, Slot: 6 * mm, Hole: 10500 * um},
			{HoleSpacing: 70 * mm, Slot: 6 * mm, Hole: 13 * mm},
			{HoleSpacing: 84 * mm, Hole: 13500 * um},
		},
	}
}

func inchThread(diameter unit.Length, perInch uint8) mount.Thread {
	return mount.Thread{Diameter: diameter, Pitch: (unit.Inch + unit.Length(perInch)/2) / unit.Length(perInch), PerInch: perInch}
}

func metricThread(diameter, pitch unit.Length) mount.Thread {
	return mount.Thread{Diameter: diameter, Pitch: pitch}
}

// end draws an end of a style.
func (s *series) end(d draw, style mount.Style) mount.End {
	e := pick(d, s.ends[style])
	e.Style = style
	return e
}

// endRoom is the length from an end's reference point to the body or rod.
func endRoom(e mount.End) unit.Length {
	switch e.Style {
	case mount.Eye:
		return e.Bore/2 + eyeRing + neck
	case mount.Stud:
		return studShoulder
	case mount.BarPin:
		return barPinRing + neck
	case mount.NoStyle, mount.Fork, mount.SpindleStrut:
	}
	panic("demo: no damper of the demo has a " + e.Style.String() + " end")
}

// pair is the styles of a damper's two ends.
type pair struct{ upper, lower mount.Style }

// weighted are all pairs with how often in fifty each should be met. Two eyes
// and a stud over an eye are the everyday ones.
var weighted = []struct {
	pair
	weight int
}{
	{pair{mount.Eye, mount.Eye}, 12}, {pair{mount.Eye, mount.Stud}, 3}, {pair{mount.Eye, mount.BarPin}, 5},
	{pair{mount.Stud, mount.Eye}, 11}, {pair{mount.Stud, mount.Stud}, 6}, {pair{mount.Stud, mount.BarPin}, 4},
	{pair{mount.BarPin, mount.Eye}, 4}, {pair{mount.BarPin, mount.Stud}, 2}, {pair{mount.BarPin, mount.BarPin}, 3},
}

// pairs lists each pair once, and common each as often as its weight.
func pairs() (once, common []pair) {
	for _, p := range weighted {
		once = append(once, p.pair)
		for range p.weight {
			common = append(common, p.pair)
		}
	}
	return once, common
}
