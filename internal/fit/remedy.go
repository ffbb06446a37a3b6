package fit

import (
	"cmp"
	"math"
	"slices"

	"midstroke/internal/catalog"
	"midstroke/internal/measure"
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
		case a.adapters > 0:
			return a.adds.Abs(), t.isAdapterRemedy(a)
		case !t.bench.possible(a):
			for _, c := range t.cures(a) {
				if !ok || c.By < by {
					by, ok = c.By, true
				}
			}
		}
		return by, ok
	}
	if t.leastLack(a, p) > remedyMost || a.adapters > 0 || !t.bench.possible(a) {
		return 0, false
	}
	lacks := short.Compression + short.Extension
	if t.kin != nil {
		return t.leastByPoints(short, p.Compressed+a.adds, p.Extended+a.adds, t.maySpare(a, p, lacks))
	}
	if t.heights.helpful() && t.heights.ratio > 1 {
		// Less at the wheel than at the damper: only the remedies tell.
		list := t.remedies(a, p)
		if len(list) == 0 {
			return 0, false
		}
		return list[0].By, true
	}
	if room := t.room(p); room >= 0 && lacks <= remedyMost {
		by, ok = lacks.Up(lacks+room), true
	}
	if giveUp := t.giveUp(short).sum(); t.maySpare(a, p, lacks) && (!ok || giveUp < by) {
		by, ok = giveUp, true
	}
	return by, ok
}

// room is by how much more than is lacking the length at ride may change, both
// needs holding; negative where the stroke holds not both.
func (t *task) room(p *catalog.Point) unit.Length {
	return p.Stroke() - t.needC.Least - t.needE.Least
}

// isAdapterRemedy says whether an arrangement that fits is one by a single
// adapter where none was wanted.
func (t *task) isAdapterRemedy(a *arrangement) bool {
	return a.adapters == 1 && t.limits.NoAdapters && a.adds.Abs() <= remedyMost && t.bench.possible(a)
}

// maySpare says whether so much of the needed travel may be given up.
func (t *task) maySpare(a *arrangement, p *catalog.Point, lacks unit.Length) bool {
	return lacks <= lessTravelMost && p.Compressed+a.adds <= t.value && p.Extended+a.adds >= t.value
}

// giveUp is the travel to be given up each way of what is lacking.
func (t *task) giveUp(short Both) Both {
	return Both{short.Compression.Up(t.needC.Least), short.Extension.Up(t.needE.Least)}
}

func (b Both) sum() unit.Length { return b.Compression + b.Extension }

// remedies lists every single change that would make a damper fit in an
// arrangement where it does not, the least first; none where no single one
// within reach does, or where the damper fits as it is.
//
// With dc = need − margin in compression, positive where short, and de
// likewise, the length at ride must change by a δ in [dc, −de]; there is one
// only where the stroke holds both needs. A linkage is taken at its word
// instead: its real mounts are moved, and the needs reckoned anew.
//
// A size is rounded up to one that is exact as it is written, in millimetres and
// in inches, wherever that still fits: done as written, it must do.
func (t *task) remedies(a *arrangement, p *catalog.Point) []Remedy {
	compressed, extended := p.Compressed+a.adds, p.Extended+a.adds
	short := t.shortfall(compressed, extended)
	if short == (Both{}) {
		switch {
		case a.adapters > 0:
			return t.adapterRemedy(a, compressed, extended)
		case !t.bench.possible(a):
			return t.hardwareRemedies(a, compressed, extended)
		}
		return nil
	}
	var list []Remedy
	if t.kin != nil {
		list = t.mountRemedies(short, compressed, extended)
	} else if room := t.room(p); room >= 0 {
		// Just one way is short: δ is what that way lacks, or up to room more.
		least, sign, move, height := short.Compression, unit.Length(1), MoveMountsApart, RaiseBody
		if short.Extension > 0 {
			least, sign, move, height = short.Extension, -1, MoveMountsTogether, LowerBody
		}
		if least <= remedyMost {
			by := least.Up(least + room)
			list = append(list, t.remedy(move, note.Within("by", by, least, least+room), t.spare(compressed, extended, sign*by)))
		}
		if r, ok := t.heightRemedy(height, sign, least, least+room, compressed, extended); ok {
			list = append(list, r)
		}
	}
	if t.maySpare(a, p, short.sum()) {
		up := t.giveUp(short)
		spare := t.spare(compressed, extended, 0)
		r := t.remedy(LessTravel, note.AtLeast("by", up.sum()),
			Both{max(0, spare.Compression+up.Compression), max(0, spare.Extension+up.Extension)})
		r.Text.Values = append(r.Text.Values,
			note.Within("give_up_compression", up.Compression, short.Compression, t.needC.Least),
			note.Within("give_up_extension", up.Extension, short.Extension, t.needE.Least))
		list = append(list, r)
	}
	sortRemedies(list)
	return list
}

// heightRemedy is the change of the body's height, up where sign is 1, that
// changes the length at ride by least to most. None is offered that would have to
// be measured again once done: one that with what is planned already goes beyond
// what a single motion ratio is good for.
func (t *task) heightRemedy(kind RemedyKind, sign, least, most, compressed, extended unit.Length) (Remedy, bool) {
	if !t.heights.helpful() {
		return Remedy{}, false
	}
	atWheel := unit.Length(math.Ceil(float64(least) / t.heights.ratio))
	mostAtWheel := unit.Length(math.Floor(float64(most) / t.heights.ratio))
	by := atWheel.Up(mostAtWheel)
	spare := t.spare(compressed, extended, sign*max(by.Scale(t.heights.ratio), least))
	if by > remedyMost || spare.Compression < 0 || spare.Extension < 0 ||
		(t.heights.planned+sign*by).Abs() > measure.ConstantRatioLimit {
		return Remedy{}, false
	}
	return t.remedy(kind, note.Within("by", by, atWheel, max(by, mostAtWheel)), spare), true
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
func (t *task) remedy(kind RemedyKind, by note.Value, spare Both) Remedy {
	return Remedy{Kind: kind, By: by.Length, Margin: spare, Text: note.New(string(kind),
		by, note.Len("compression", spare.Compression), note.Len("extension", spare.Extension))}
}

func sortRemedies(list []Remedy) {
	order := [...]RemedyKind{MoveMountsApart, MoveMountsTogether, RaiseBody, LowerBody, AddAdapter, AddSleeve, OpenBracket, LessTravel}
	slices.SortStableFunc(list, func(a, b Remedy) int {
		return cmp.Or(cmp.Compare(a.By, b.By), cmp.Compare(slices.Index(order[:], a.Kind), slices.Index(order[:], b.Kind)))
	})
}

// cures gives the single changes of which each makes an arrangement bolt up where
// just one end doesn't.
func (t *task) cures(a *arrangement) []*mount.Cure {
	upper, lower := t.bench.solve(a.upper), t.bench.solve(a.lower)
	if upper.possible == lower.possible {
		return nil
	}
	failed := upper
	if upper.possible {
		failed = lower
	}
	var cures []*mount.Cure
	all := t.bench.inFull(failed).Cures
	for i := range all {
		c := &all[i]
		if c.Alone && (c.Kind == mount.AddSleeve || c.Kind == mount.OpenBracket) && c.By <= remedyMost {
			cures = append(cures, c)
		}
	}
	return cures
}

// hardwareRemedies are the cures of an arrangement whose lengths fit.
func (t *task) hardwareRemedies(a *arrangement, compressed, extended unit.Length) []Remedy {
	var list []Remedy
	for _, c := range t.cures(a) {
		kind := AddSleeve
		if c.Kind == mount.OpenBracket {
			kind = OpenBracket
		}
		list = append(list, Remedy{Kind: kind, By: c.By, Margin: t.spare(compressed, extended, 0), Text: c.Note})
	}
	sortRemedies(list)
	return list
}

// adapterRemedy is the adapter of an arrangement that fits with it.
func (t *task) adapterRemedy(a *arrangement, compressed, extended unit.Length) []Remedy {
	if !t.isAdapterRemedy(a) {
		return nil
	}
	at, adapter := "upper", a.upper.adapter
	if adapter == nil {
		at, adapter = "lower", a.lower.adapter
	}
	r := t.remedy(AddAdapter, note.Len("by", a.adds.Abs()), t.spare(compressed, extended, 0))
	r.Text.Values = append(r.Text.Values, note.Word("adapter", adapter.Code), note.Word("end", at))
	return []Remedy{r}
}
