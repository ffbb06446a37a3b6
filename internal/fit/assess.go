package fit

import (
	"cmp"
	"slices"

	"midstroke/internal/catalog"
	"midstroke/internal/mount"
	"midstroke/internal/note"
	"midstroke/internal/unit"
)

// The reasons that rule a damper out, in the order in which the first that
// holds counts. A limit is named as in the request.
const (
	reasonEndStyle        note.Code = "end_style"
	reasonMaxBodyDiameter note.Code = "max_body_diameter"
	reasonMaxCompressed   note.Code = "max_compressed"
	reasonConstruction    note.Code = "construction"
	reasonAdjusters       note.Code = "adjusters"
	reasonInStock         note.Code = "in_stock"
	reasonMaxPrice        note.Code = "max_price"
	reasonMounting        note.Code = "mounting"
	reasonAdapters        note.Code = "adapters"
	reasonLoadCarrying    note.Code = "load_carrying"
	reasonDamping         note.Code = "damping"
	reasonLean            note.Code = "lean"
	reasonStrokeTooShort  note.Code = "stroke_too_short"
	reasonTooLong         note.Code = "too_long_compressed"
	reasonTooShort        note.Code = "too_short_extended"
	reasonHardware        note.Code = "hardware"
)

// reasonNames lists every reason that may rule a damper out, in their order.
var reasonNames = [...]note.Code{
	reasonEndStyle, reasonMaxBodyDiameter, reasonMaxCompressed, reasonConstruction, reasonAdjusters,
	reasonInStock, reasonMaxPrice, reasonMounting, reasonAdapters, reasonLoadCarrying, reasonDamping, reasonLean,
	reasonStrokeTooShort, reasonTooLong, reasonTooShort, reasonHardware,
}

// verdict is the result for one damper.
type verdict struct {
	fit     *found  // where it fits
	miss    *missed // where one remedy would make it fit
	reasons []note.Note
}

// ways are all arrangements of two ends: as listed or inverted, and by means. They
// are made once for all dampers that have these ends.
type ways [2][2][]*arrangement

func (t *task) ways(ends ends) *ways {
	w := new(ways)
	all := func(unit.Length) bool { return true }
	for i, inverted := range bothWaysUp {
		for _, by := range [2]means{straight, adapted} {
			t.each(ends, inverted, by, all, func(a *arrangement) { w[i][by] = append(w[i][by], a) })
		}
	}
	return w
}

// match says whether the ends match the vehicle's one way up, by any means.
func (w *ways) match(inverted bool) bool {
	way := &w[asRank(inverted)]
	return len(way[straight])+len(way[adapted]) > 0
}

// assess holds one damper against the task in every arrangement
// there is. It answers explain and codes; search and misses find the same without
// looking at every damper.
func (t *task) assess(w *ways, p *catalog.Point) verdict {
	reasons := t.limitReasons(w, p)
	if len(reasons) > 0 {
		return verdict{reasons: reasons}
	}
	var v verdict
	var nearest lengths
	for i, inverted := range bothWaysUp {
		if !t.allowsWayUp(p.Traits, inverted) {
			continue
		}
		for _, arrangements := range w[i] {
			for _, a := range arrangements {
				if a.adapters == 0 || !t.limits.NoAdapters {
					t.assessFit(&v, a, p)
					nearest.consider(t, a, p)
				}
				t.assessMiss(&v, a, p)
			}
		}
	}
	switch {
	case v.fit != nil:
		v.miss = nil
	case nearest.known:
		v.reasons = nearest.reasons(t, p)
	default:
		v.reasons = []note.Note{note.New(reasonAdapters)}
	}
	return v
}

func (t *task) assessFit(v *verdict, a *arrangement, p *catalog.Point) {
	grade, fits := gradeIn(&a.windows, p)
	if !fits || !t.bolting.possible(a) {
		return
	}
	f := found{rank: t.rankOf(a, p, grade), arrangement: a, point: p}
	if v.fit == nil || f.rank.compare(&v.fit.rank) < 0 {
		v.fit = &f
	}
}

func (t *task) assessMiss(v *verdict, a *arrangement, p *catalog.Point) {
	if a.adapters > 0 && !t.limits.NoAdapters {
		return
	}
	by, ok := t.leastRemedy(a, p)
	if !ok {
		return
	}
	m := missed{
		missRank:    missRank{by: by, adapters: a.adapters, inverted: asRank(a.inverted), damper: p.Damper, place: a.place},
		arrangement: a, point: p,
	}
	if v.miss == nil || m.missRank.compare(&v.miss.missRank) < 0 {
		v.miss = &m
	}
}

// limitReasons lists what rules a damper out before any length is looked at,
// in the order in which the first counts.
func (t *task) limitReasons(w *ways, p *catalog.Point) []note.Note {
	var reasons []note.Note
	add := func(holds bool, reason note.Code, values ...note.Value) {
		if holds {
			reasons = append(reasons, note.New(reason, values...))
		}
	}
	l := &t.limits
	invertible := p.Traits.Invertible()
	matched := w.match(false) || invertible && w.match(true)
	add(!matched, reasonEndStyle, note.Word("upper", t.styleOf(p.Upper)), note.Word("lower", t.styleOf(p.Lower)))
	add(l.MaxBodyDiameter != 0 && p.Body > l.MaxBodyDiameter, reasonMaxBodyDiameter, note.Size("value", p.Body), note.Size("limit", l.MaxBodyDiameter))
	add(l.MaxCompressed != 0 && p.Compressed > l.MaxCompressed, reasonMaxCompressed, note.Size("value", p.Compressed), note.Size("limit", l.MaxCompressed))
	built := p.Traits.Construction()
	add(l.Construction != 0 && built != l.Construction, reasonConstruction, note.Word("value", built.String()), note.Word("limit", l.Construction.String()))
	add(!p.Traits.Adjusters().Has(l.Adjusters), reasonAdjusters)
	add(l.InStock && !t.inStock(p), reasonInStock)
	add(l.HasMaxPrice && (p.Price == mount.NoPrice || p.Price > l.MaxPrice), reasonMaxPrice)
	if matched {
		wayUp := t.allowsWayUp(p.Traits, false) && w.match(false) || t.allowsWayUp(p.Traits, true) && w.match(true)
		add(!wayUp, reasonMounting)
	}
	carries := carriesLoad(p.Traits.Adjusters()) && !l.admitsLoad()
	leans := !t.allowsLean(p.Traits)
	damps := t.admitsDamping(p)
	if carries || leans || !damps {
		add(l.NoAdapters && len(w[0][straight]) == 0 && !(invertible && len(w[1][straight]) > 0), reasonAdapters)
		add(carries, reasonLoadCarrying)
		add(!damps, reasonDamping, note.Word("verdict", cmp.Or(t.verdict(p).String(), "not_known")))
		add(leans, reasonLean, note.Num("limit", uprightOnlyPast, "°"), note.Num("lean", roundedDeg(t.lean), "°"))
	}
	return reasons
}

// lengths is what a damper lacks in the arrangement where it lacks least, of those
// that the limits admit.
type lengths struct {
	known    bool
	possible bool
	short    Both
}

func (n *lengths) consider(t *task, a *arrangement, p *catalog.Point) {
	s := t.span(a.adds, p)
	short := t.shortfall(s.compressed, s.extended)
	sum := short.Compression + short.Extension
	best := n.short.Compression + n.short.Extension
	if !n.known || sum < best || sum == best && !n.possible && t.bolting.possible(a) {
		*n = lengths{known: true, possible: t.bolting.possible(a), short: short}
	}
}

// reasons lists what is wrong with the lengths and the hardware.
func (n *lengths) reasons(t *task, p *catalog.Point) []note.Note {
	var reasons []note.Note
	if room := t.room(p); room < 0 || t.hasNoStroke(p) {
		reasons = append(reasons, note.New(reasonStrokeTooShort, note.AtLeast("by", max(1, -room))))
	}
	if n.short.Compression > 0 {
		reasons = append(reasons, note.New(reasonTooLong, note.AtLeast("by", n.short.Compression)))
	}
	if n.short.Extension > 0 {
		reasons = append(reasons, note.New(reasonTooShort, note.AtLeast("by", n.short.Extension)))
	}
	if !n.possible {
		reasons = append(reasons, note.New(reasonHardware))
	}
	return reasons
}

// explain counts every damper of the catalogue.
func (t *task) explain() (Counts, []Count) {
	var total Counts
	byReason := map[note.Code]int{}
	trees := t.snapshot.Index().Trees()
	for i := range trees {
		var w *ways
		var of ends
		before := t.bolting.scratch.arrangements.used
		for _, p := range byEnds(trees[i].Points()) {
			if w == nil || endsOf(p) != of {
				// Only counts are kept, so the next ends reuse the room of the last.
				t.bolting.scratch.arrangements.used = before
				of = endsOf(p)
				w = t.ways(of)
			}
			v := t.assess(w, p)
			t.count(&v, &total, byReason)
		}
		t.bolting.scratch.arrangements.used = before
	}
	return total, inOrder(byReason)
}

// byEnds lists points so that those of the same two ends follow each other.
func byEnds(points []catalog.Point) []*catalog.Point {
	list := make([]*catalog.Point, len(points))
	for i := range points {
		list[i] = &points[i]
	}
	slices.SortFunc(list, func(a, b *catalog.Point) int {
		return cmp.Or(cmp.Compare(a.Upper, b.Upper), cmp.Compare(a.Lower, b.Lower))
	})
	return list
}

func (t *task) styleOf(end int32) string { return t.snapshot.Index().End(end).Style.String() }

func (t *task) count(v *verdict, total *Counts, byReason map[note.Code]int) {
	total.Dampers++
	switch {
	case v.fit != nil:
		total.Fits++
	case v.miss != nil:
		total.NearMisses++
	default:
		total.RuledOut++
		byReason[v.reasons[0].Code]++
	}
}

func inOrder(byReason map[note.Code]int) []Count {
	var counts []Count
	for _, reason := range reasonNames {
		if n := byReason[reason]; n > 0 {
			counts = append(counts, Count{Reason: reason, Count: n})
		}
	}
	return counts
}
