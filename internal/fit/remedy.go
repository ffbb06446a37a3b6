package fit

import (
	"cmp"
	"slices"

	"midstroke/internal/catalog"
	"midstroke/internal/mount"
	"midstroke/internal/note"
	"midstroke/internal/unit"
)

// span is a damper's usable lengths, which are with the adapters of an arrangement
// and with the stop on its rod, and its own tolerance.
type span struct{ compressed, extended, tolerance unit.Length }

// span gives those of a damper whose adapters add a length.
func (t *task) span(adds unit.Length, p *catalog.Point) span {
	return span{p.Compressed + adds + t.rodStop, p.Extended + adds, p.Tolerance}
}

// lacks is what a damper lacks each way for a grade. Below 0 it is what is to
// spare.
func (t *task) lacks(g Grade, s span) Both {
	w := t.usable(g)
	if w.toleranced {
		s.compressed, s.extended = s.compressed+s.tolerance, s.extended-s.tolerance
	}
	return Both{Compression: s.compressed - w.compressedMost, Extension: w.extendedLeast - s.extended}
}

// total is what any remedy must make up of what is lacking each way. Most
// remedies that help one way don't help the other, so it is the sum. With a
// linkage no length changes by more than a mount is moved. Only where the damper
// turns by about a right angle may one move help both ways, and then it makes up
// at least the greater.
func (t *task) total(short Both) unit.Length {
	if t.kinematics != nil && !t.kinematics.plain {
		return max(short.Compression, short.Extension)
	}
	return short.Compression + short.Extension
}

// leastLack bounds leastRemedy from a damper's lengths alone.
func (t *task) leastLack(a *arrangement, p *catalog.Point) unit.Length {
	s := t.span(a.adds, p)
	return t.asRemedy(t.shortfall(s.compressed, s.extended))
}

// asRemedy bounds the remedy for lengths that lack so much.
func (t *task) asRemedy(short Both) unit.Length {
	lacks := t.total(short)
	if t.heights.helpful() && t.heights.ratio > 1 {
		// The wheel moves less than the damper's ends.
		return max(0, lacks.Scale(1/t.heights.ratio)-1)
	}
	return lacks
}

// leastRemedy gives the least that any remedy takes, as Least of the first of
// remedies, without making them.
func (t *task) leastRemedy(a *arrangement, p *catalog.Point) (by unit.Length, ok bool) {
	if t.hasNoStroke(p) {
		return 0, false
	}
	s := t.span(a.adds, p)
	short := t.shortfall(s.compressed, s.extended)
	if short == (Both{}) {
		switch {
		case a.adapters > 0:
			return a.adds.Abs(), t.isAdapterRemedy(a)
		case !t.bolting.possible(a):
			for _, c := range t.cures(a) {
				if !ok || c.By < by {
					by, ok = c.By, true
				}
			}
		}
		return by, ok
	}
	if t.leastLack(a, p) > remedyMost || a.adapters > 0 || !t.bolting.possible(a) {
		return 0, false
	}
	if t.kinematics != nil {
		return t.leastByPoints(short, s)
	}
	consider := func(length unit.Length) {
		if !ok || length < by {
			by, ok = length, true
		}
	}
	if t.room(p) >= 0 {
		way := wayFor(short)
		if m := t.moves(Marginal, way, s); m.least <= remedyMost {
			consider(m.written())
		}
		if t.heights.helpful() {
			if h, may := t.raises(Marginal, way, s); may && h.least <= remedyMost {
				consider(h.written())
			}
		}
	}
	if t.mayGiveUp(s, short) {
		least, _ := t.giveUp(Marginal, s)
		consider(least.up.sum())
	}
	return by, ok
}

// room is by how much more than is lacking the length at ride may change while
// both needs hold; negative where the stroke doesn't hold both.
func (t *task) room(p *catalog.Point) unit.Length {
	return p.Stroke() - t.rodStop - t.needC.Least - t.needE.Least - (t.longer - t.shorter)
}

// hasNoStroke says whether the stop on the rod takes all of a damper's stroke.
func (t *task) hasNoStroke(p *catalog.Point) bool { return p.Stroke() <= t.rodStop }

// isAdapterRemedy says whether an arrangement that fits is one by a single
// adapter where none was wanted.
func (t *task) isAdapterRemedy(a *arrangement) bool {
	return a.adapters == 1 && t.limits.NoAdapters && a.adds.Abs() <= remedyMost && t.bolting.possible(a)
}

func (b Both) sum() unit.Length { return b.Compression + b.Extension }

// remedies lists every single change that would make a damper fit in an
// arrangement where it doesn't, the least first; none where no single one within
// reach does, or where the damper fits as it is.
//
// With dc = need − margin in compression, positive where short, and de likewise,
// the length at ride must change by a δ in [dc, −de]. There is one only where the
// stroke holds both needs. With a linkage its real mounts are moved instead, and
// the needs computed anew.
//
// Each remedy has a least amount, which just makes a marginal fit, and one that
// makes the fit clear, or tight where none makes it clear. An amount is rounded up
// to one that is written exactly in millimetres and in inches wherever that still
// fits: carried out as written, it must do what is told of it.
func (t *task) remedies(a *arrangement, p *catalog.Point) []Remedy {
	s := t.span(a.adds, p)
	short := t.shortfall(s.compressed, s.extended)
	if short == (Both{}) {
		switch {
		case a.adapters > 0:
			return t.adapterRemedy(a, s)
		case !t.bolting.possible(a):
			return t.hardwareRemedies(a, s)
		}
		return nil
	}
	var list []Remedy
	add := func(r Remedy, ok bool) {
		if ok {
			list = append(list, r)
		}
	}
	if t.kinematics != nil {
		list = t.mountRemedies(short, s)
	} else if t.room(p) >= 0 {
		way := wayFor(short)
		add(t.moveRemedy(way, s))
		add(t.heightRemedy(way, s))
	}
	if t.mayGiveUp(s, short) {
		list = append(list, t.lessTravel(s))
	}
	sortRemedies(list)
	return list
}

// grade is the best grade that a damper's lengths reach, of those that are fits.
func (t *task) grade(s span) Grade {
	for g := Clear; g < Marginal; g++ {
		if l := t.lacks(g, s); l.Compression <= 0 && l.Extension <= 0 {
			return t.demoted(g, s)
		}
	}
	return Marginal
}

// spare is margin over the least need each way once the length at ride has
// changed by delta.
func (t *task) spare(compressed, extended, delta unit.Length) Both {
	return Both{
		Compression: t.shorter + delta - compressed - t.needC.Least,
		Extension:   extended - t.longer - delta - t.needE.Least,
	}
}

func sortRemedies(list []Remedy) {
	order := [...]RemedyKind{MoveMountsApart, MoveMountsTogether, RaiseBody, LowerBody, AddAdapter, AddSleeve, OpenBracket, LessTravel}
	slices.SortStableFunc(list, func(a, b Remedy) int {
		return cmp.Or(cmp.Compare(a.Least, b.Least), cmp.Compare(slices.Index(order[:], a.Kind), slices.Index(order[:], b.Kind)))
	})
}

// cures gives the single changes of which each makes an arrangement bolt up where
// just one end doesn't.
func (t *task) cures(a *arrangement) []*mount.Cure {
	upper, lower := t.bolting.solve(a.upper), t.bolting.solve(a.lower)
	if upper.possible == lower.possible {
		return nil
	}
	failed := upper
	if upper.possible {
		failed = lower
	}
	return t.bolting.cures(failed)
}

// cures gives the single changes of which each makes an end bolt up that doesn't.
func (b *bolting) cures(failed *option) []*mount.Cure {
	var cures []*mount.Cure
	all := b.inFull(failed).Cures
	for i := range all {
		c := &all[i]
		if c.Alone && (c.Kind == mount.AddSleeve || c.Kind == mount.OpenBracket) && c.By <= remedyMost {
			cures = append(cures, c)
		}
	}
	return cures
}

// hardwareRemedies are the cures of an arrangement whose lengths fit.
func (t *task) hardwareRemedies(a *arrangement, s span) []Remedy {
	var list []Remedy
	for _, c := range t.cures(a) {
		kind := AddSleeve
		if c.Kind == mount.OpenBracket {
			kind = OpenBracket
		}
		list = append(list, Remedy{
			Kind: kind, Least: c.By, By: c.By, Grade: t.grade(s),
			Margin: t.spare(s.compressed, s.extended, 0), Text: c.Note,
		})
	}
	sortRemedies(list)
	return list
}

// adapterRemedy is the adapter of an arrangement that fits with it.
func (t *task) adapterRemedy(a *arrangement, s span) []Remedy {
	if !t.isAdapterRemedy(a) {
		return nil
	}
	at, adapter := "upper", a.upper.adapter
	if adapter == nil {
		at, adapter = "lower", a.lower.adapter
	}
	by, spare := a.adds.Abs(), t.spare(s.compressed, s.extended, 0)
	return []Remedy{{
		Kind: AddAdapter, Least: by, By: by, Grade: t.grade(s), Margin: spare,
		Text: note.New(note.Code(AddAdapter), note.Size("by", by), note.AtMost("compression", spare.Compression), note.AtMost("extension", spare.Extension),
			note.Word("adapter", adapter.Code), note.Word("end", at)),
	}}
}
