package mount

import "midstroke/internal/unit"

// Clearances that lists don't set. All are common practice, no source.
const (
	// SpacerGapMost is by how much a spacer's bore may exceed the bolt: a
	// spacer only bears along the bolt, but a looser one hangs off centre.
	SpacerGapMost = 2 * unit.Millimetre
	// SpigotGapMost is by how much a frame's hole may exceed the spigot of a
	// stud's bushing.
	SpigotGapMost = 2 * unit.Millimetre
	// LeastWall is the thinnest wall of a sleeve that is worth asking for.
	LeastWall = 500 * unit.Micrometre
)

// contact is how a part sits in a hole.
type contact struct {
	// gap is hole less part, for a nominal hole the most that is allowed: its
	// true size isn't known, so where gaps are compared it counts as the
	// loosest.
	gap unit.Length
	ok  bool
}

// judge holds hole less part against the limits. A nominal hole is named by
// the part that it is for, so it takes that very size and nothing else.
func judge(hole unit.Length, nominal bool, part, least, most unit.Length) contact {
	if nominal {
		return contact{gap: most, ok: hole == part}
	}
	gap := hole - part
	return contact{gap: gap, ok: least <= gap && gap <= most}
}

// sleeveIn judges a sleeve in a bushing or in another sleeve.
func (l *Limits) sleeveIn(hole unit.Length, nominal bool, outer unit.Length) contact {
	return judge(hole, nominal, outer, l.SleeveGapLeast, l.SleeveGapMost)
}

// boltIn judges a bolt in a sleeve, or straight in a bushing.
func (l *Limits) boltIn(hole unit.Length, nominal bool, bolt unit.Length) contact {
	return judge(hole, nominal, bolt, l.BoltGapLeast, l.BoltGapMost)
}

// boltBores are the bores that may take the bolt.
func (l *Limits) boltBores(bolt unit.Length) interval {
	return interval{min(bolt, bolt+l.BoltGapLeast), max(bolt, bolt+l.BoltGapMost)}
}

// spacerOn says whether a spacer goes on the bolt. Lists give spacers by the
// bolt, so a bore of the bolt's own size passes.
func spacerOn(bore, bolt unit.Length) bool {
	return bolt <= bore && bore-bolt <= SpacerGapMost
}

// mates says whether an adapter made for an end like from takes the damper's
// end. What from leaves open isn't asked for; what it states must be known of
// the end and agree:
//
//   - an eye's bore may be larger than from's, and its width smaller, by as
//     much as a sleeve's clearance and the left-over limit admit; a bore that
//     either gives as nominal must be equal;
//   - a stud's thread must be the same and its usable length no shorter;
//   - a bar pin's spacing may differ by half of either's slot.
func (l *Limits) mates(from, end *End) bool {
	switch from.Style {
	case Eye:
		return l.boreMates(from, end) &&
			(from.Width == 0 || end.Width != 0 && within(from.Width-end.Width, 0, l.LeftOverMost))
	case Stud:
		return (from.Thread == Thread{} || from.Thread == end.Thread) && from.UsableLength <= end.UsableLength
	case BarPin:
		return (from.HoleSpacing == 0 || end.HoleSpacing != 0 && (from.HoleSpacing-end.HoleSpacing).Abs() <= (from.Slot+end.Slot)/2) &&
			(from.Hole == 0 || from.Hole == end.Hole)
	case NoStyle, Fork, SpindleStrut:
	}
	return false
}

func (l *Limits) boreMates(from, end *End) bool {
	if from.Bore == 0 || from.Bore == end.Bore {
		return true
	}
	return from.BoreIs == Actual && end.BoreIs == Actual &&
		within(end.Bore-from.Bore, l.SleeveGapLeast, l.SleeveGapMost)
}

func within(l, least, most unit.Length) bool { return least <= l && l <= most }
