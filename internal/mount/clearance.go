package mount

import "midstroke/internal/unit"

// Clearances that lists don't set. All are common practice, no source.
const (
	// SpacerGapMost is how much larger than the bolt a spacer's bore may be. A
	// spacer only bears along the bolt, but a looser one hangs off centre.
	SpacerGapMost = 2 * unit.Millimetre
	// SpigotGapMost is how much larger than the spigot of a stud's bushing the
	// frame's hole may be.
	SpigotGapMost = 2 * unit.Millimetre
	// LeastWall is the thinnest wall of a sleeve that is offered as a cure. The
	// bolt's preload crushes a thinner one.
	LeastWall = 1 * unit.Millimetre
)

// SameSize is how far apart two sizes may be to have one name: half of a
// thousandth of an inch, to which sizes are written. 14 mm is written 0.551 in
// and is the same size; the nearest sizes of the two systems, 5/16 in and 8 mm,
// are five times as far apart.
const SameSize = unit.Inch / 2000

// contact is how a part sits in a hole.
type contact struct {
	// gap is the hole less the part. The true size of a nominal hole isn't known,
	// so its gap counts as the largest that is allowed where gaps are compared.
	gap unit.Length
	ok  bool
}

// judge compares the hole less the part with the limits. A nominal hole has the
// name of the part that it is for and takes that size alone.
func judge(hole unit.Length, nominal bool, part, least, most unit.Length) contact {
	if nominal {
		return contact{gap: most, ok: sameSize(hole, part)}
	}
	gap := hole - part
	return contact{gap: gap, ok: least <= gap && gap <= most}
}

func sameSize(a, b unit.Length) bool { return (a - b).Abs() <= SameSize }

// sleeveIn judges a sleeve in a bushing or in another sleeve.
func (l *Limits) sleeveIn(hole unit.Length, nominal bool, outer unit.Length) contact {
	return judge(hole, nominal, outer, l.SleeveGapLeast, l.SleeveGapMost)
}

// boltIn judges a bolt in a sleeve, or straight in a bushing.
func (l *Limits) boltIn(hole unit.Length, nominal bool, bolt unit.Length) contact {
	return judge(hole, nominal, bolt, l.BoltGapLeast, l.BoltGapMost)
}

// boltBores are the bores, actual and nominal, that may take the bolt.
func (l *Limits) boltBores(bolt unit.Length) interval {
	return interval{bolt + min(-SameSize, l.BoltGapLeast), bolt + max(SameSize, l.BoltGapMost)}
}

// bearingBore is the largest bore of a spacer that bears on a tube's end: half way
// through its wall (our choice). A larger one would slip over the tube, and the
// bracket would clamp nothing.
//
// Lists give spacers by the bolt, so a bore of the bolt's own size passes.
func bearingBore(outer, bore unit.Length) unit.Length { return (outer + bore) / 2 }

// bearing finds the largest bore of a spacer that bears on the sleeve that the bracket
// clamps: the longest, and of several the one that lets the spacer be largest.
type bearing struct{ longest, bore unit.Length }

func (b *bearing) add(length, outer, bore unit.Length) {
	switch bears := bearingBore(outer, bore); {
	case length > b.longest:
		*b = bearing{length, bears}
	case length == b.longest:
		b.bore = max(b.bore, bears)
	}
}

// most has no bound without a sleeve: what a bushing straight on the bolt has around it
// isn't listed.
func (b *bearing) most() unit.Length {
	if b.longest == 0 {
		return anyLength
	}
	return b.bore
}

func between(l, least, most unit.Length) bool { return least <= l && l <= most }
