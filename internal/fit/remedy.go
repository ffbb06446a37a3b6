package fit

import (
	"cmp"
	"math"
	"slices"

	"midstroke/internal/catalog"
	"midstroke/internal/mount"
	"midstroke/internal/note"
	"midstroke/internal/unit"
)

// total is what any remedy must make up of what is lacking each way. Most
// remedies that mend one way mend nothing of the other, so that it is the sum.
// With a linkage no length changes by more than a mount is moved; and only where
// the damper turns by a right angle or so might one move mend both ways, of
// which it then makes up at least the greater.
func (t *task) total(short Both) unit.Length {
	if t.kin != nil && !t.kin.plain {
		return max(short.Compression, short.Extension)
	}
	return short.Compression + short.Extension
}

// leastLack bounds leastRemedy from a damper's lengths alone.
func (t *task) leastLack(a *arrangement, p *catalog.Point) unit.Length {
	lacks := t.total(t.shortfall(p.Compressed+a.adds, p.Extended+a.adds))
	if t.heights.helpful() && t.heights.ratio > 1 {
		return max(0, lacks.Scale(1/t.heights.ratio)-1)
	}
	return lacks
}

// leastRemedy gives the size of the first of remedies, without making them.
func (t *task) leastRemedy(a *arrangement, p *catalog.Point) (by unit.Length, ok bool) {
	short := t.shortfall(p.Compressed+a.adds, p.Extended+a.adds)
	if short == (Both{}) {
		switch {
		case !t.bench.possible(a):
			if c := t.cure(a); c != nil {
				return c.By, c.By <= remedyMost
			}
			return 0, false
		case a.adapters > 0 && t.limits.NoAdapters:
			return a.adds.Abs(), a.adds.Abs() <= remedyMost
		}
		return 0, false
	}
	if t.total(short) > remedyMost || a.adapters > 0 || !t.bench.possible(a) {
		return 0, false
	}
	lacks := short.Compression + short.Extension
	if t.kin != nil {
		return t.leastByPoints(short, p.Compressed+a.adds, p.Extended+a.adds, t.maySpare(a, p, lacks))
	}
	if p.Stroke() < t.needC.Least+t.needE.Least {
		return lacks, t.maySpare(a, p, lacks)
	}
	if t.heights.helpful() && t.heights.ratio > 1 {
		// Less at the wheel than at the damper: only the remedies tell.
		return t.remedies(a, p)[0].By, true
	}
	return lacks, true
}

// maySpare says whether so much of the needed travel may be given up.
func (t *task) maySpare(a *arrangement, p *catalog.Point, lacks unit.Length) bool {
	return lacks <= lessTravelMost && p.Compressed+a.adds <= t.value && p.Extended+a.adds >= t.value
}

// remedies lists every single change that would make a damper fit in an
// arrangement where it does not, the least first; none where no single one
// within reach does, or where the damper fits as it is.
//
// With dc = need − margin in compression, positive where short, and de
// likewise, the length at ride must change by a δ in [dc, −de]; there is one
// only where the stroke holds both needs. A linkage is taken at its word
// instead: its real mounts are moved, and the needs reckoned anew.
func (t *task) remedies(a *arrangement, p *catalog.Point) []Remedy {
	compressed, extended := p.Compressed+a.adds, p.Extended+a.adds
	short := t.shortfall(compressed, extended)
	if short == (Both{}) {
		switch {
		case !t.bench.possible(a):
			return t.hardwareRemedy(a, compressed, extended)
		case a.adapters > 0 && t.limits.NoAdapters:
			return []Remedy{t.remedy(AddAdapter, a.adds.Abs(), t.spare(compressed, extended, 0))}
		}
		return nil
	}
	var list []Remedy
	if t.kin != nil {
		list = t.mountRemedies(short, compressed, extended)
	} else if p.Stroke() >= t.needC.Least+t.needE.Least {
		// Just one way is short: δ is what that way lacks.
		delta, move, height := short.Compression, MoveMountsApart, RaiseBody
		if short.Extension > 0 {
			delta, move, height = -short.Extension, MoveMountsTogether, LowerBody
		}
		if delta.Abs() <= remedyMost {
			list = append(list, t.remedy(move, delta.Abs(), t.spare(compressed, extended, delta)))
		}
		if r, ok := t.heightRemedy(height, delta, compressed, extended); ok {
			list = append(list, r)
		}
	}
	if giveUp := short.Compression + short.Extension; t.maySpare(a, p, giveUp) {
		spare := t.spare(compressed, extended, 0)
		r := t.remedy(LessTravel, giveUp, Both{max(0, spare.Compression), max(0, spare.Extension)})
		r.Text.Values = append(r.Text.Values,
			note.Len("give_up_compression", short.Compression), note.Len("give_up_extension", short.Extension))
		list = append(list, r)
	}
	sortRemedies(list)
	return list
}

// heightRemedy is the change of the body's height that changes the length at
// ride by delta, to the nanometre above what is needed.
func (t *task) heightRemedy(kind RemedyKind, delta, compressed, extended unit.Length) (Remedy, bool) {
	if !t.heights.helpful() {
		return Remedy{}, false
	}
	atWheel := unit.Length(math.Ceil(float64(delta.Abs()) / t.heights.ratio))
	atDamper := max(atWheel.Scale(t.heights.ratio), delta.Abs())
	if delta < 0 {
		atDamper = -atDamper
	}
	spare := t.spare(compressed, extended, atDamper)
	if atWheel > remedyMost || spare.Compression < 0 || spare.Extension < 0 {
		return Remedy{}, false
	}
	return t.remedy(kind, atWheel, spare), true
}

// spare is margin over the least need each way once the length at ride has
// changed by delta.
func (t *task) spare(compressed, extended, delta unit.Length) Both {
	ride := t.value + delta
	return Both{
		Compression: ride - compressed - t.needC.Least,
		Extension:   extended - ride - t.needE.Least,
	}
}

// remedy makes one with its words.
func (t *task) remedy(kind RemedyKind, by unit.Length, spare Both) Remedy {
	return Remedy{Kind: kind, By: by, Margin: spare, Text: note.New(string(kind),
		note.Len("by", by), note.Len("compression", spare.Compression), note.Len("extension", spare.Extension))}
}

func sortRemedies(list []Remedy) {
	order := [...]RemedyKind{MoveMountsApart, MoveMountsTogether, RaiseBody, LowerBody, AddAdapter, AddSleeve, OpenBracket, LessTravel}
	slices.SortStableFunc(list, func(a, b Remedy) int {
		return cmp.Or(cmp.Compare(a.By, b.By), cmp.Compare(slices.Index(order[:], a.Kind), slices.Index(order[:], b.Kind)))
	})
}

// cure gives the one change that makes an arrangement bolt up where just one
// end doesn't and such a change is known; nil otherwise.
func (t *task) cure(a *arrangement) *mount.Cure {
	upper, lower := t.bench.solve(a.upper), t.bench.solve(a.lower)
	if upper.possible == lower.possible {
		return nil
	}
	failed := upper
	if upper.possible {
		failed = lower
	}
	cures := t.bench.inFull(failed).Cures
	for i := range cures {
		c := &cures[i]
		if c.Alone && (c.Kind == mount.AddSleeve || c.Kind == mount.OpenBracket) {
			return c
		}
	}
	return nil
}

// hardwareRemedy gives the cure of an arrangement whose lengths fit.
func (t *task) hardwareRemedy(a *arrangement, compressed, extended unit.Length) []Remedy {
	c := t.cure(a)
	if c == nil || c.By > remedyMost {
		return nil
	}
	kind := AddSleeve
	if c.Kind == mount.OpenBracket {
		kind = OpenBracket
	}
	return []Remedy{{Kind: kind, By: c.By, Margin: t.spare(compressed, extended, 0), Text: c.Note}}
}
