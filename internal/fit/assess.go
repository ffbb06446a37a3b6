package fit

import (
	"midstroke/internal/catalog"
	"midstroke/internal/mount"
	"midstroke/internal/note"
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
	reasonLean            note.Code = "lean"
	reasonStrokeTooShort  note.Code = "stroke_too_short"
	reasonTooLong         note.Code = "too_long_compressed"
	reasonTooShort        note.Code = "too_short_extended"
	reasonHardware        note.Code = "hardware"
)

// reasonNames lists every reason that may rule a damper out, in their order.
var reasonNames = [...]note.Code{
	reasonEndStyle, reasonMaxBodyDiameter, reasonMaxCompressed, reasonConstruction, reasonAdjusters,
	reasonInStock, reasonMaxPrice, reasonMounting, reasonAdapters, reasonLoadCarrying, reasonLean,
	reasonStrokeTooShort, reasonTooLong, reasonTooShort, reasonHardware,
}

// verdict is the result for one damper.
type verdict struct {
	fit     *found  // where it fits
	miss    *missed // where one remedy would make it fit
	reasons []note.Note
}

// ways are all arrangements of a group: as listed or inverted, and by means. They
// are made once for a group, not for each of its dampers.
type ways [2][2][]*arrangement

func (t *task) ways(g *catalog.Group) *ways {
	w := new(ways)
	for i, inverted := range bothWaysUp {
		for _, by := range [2]means{straight, adapted} {
			t.each(g, inverted, by, func(a *arrangement) { w[i][by] = append(w[i][by], a) })
		}
	}
	return w
}

// match says whether the ends match the vehicle's one way up, by any means.
func (w *ways) match(inverted bool) bool {
	way := &w[asRank(inverted)]
	return len(way[straight])+len(way[adapted]) > 0
}

// assess holds one damper of a group against the task in every arrangement
// there is. It answers explain and codes; search and misses find the same without
// looking at every damper.
func (t *task) assess(w *ways, g *catalog.Group, p *catalog.Point) verdict {
	reasons := t.limitReasons(w, g, p)
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
	grade, fits := a.grade(p)
	if !fits || !t.bench.possible(a) {
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
func (t *task) limitReasons(w *ways, g *catalog.Group, p *catalog.Point) []note.Note {
	var reasons []note.Note
	add := func(holds bool, reason note.Code, values ...note.Value) {
		if holds {
			reasons = append(reasons, note.New(reason, values...))
		}
	}
	l := &t.limits
	invertible := p.Traits.Invertible()
	matched := w.match(false) || invertible && w.match(true)
	add(!matched, reasonEndStyle, note.Word("upper", g.UpperStyle.String()), note.Word("lower", g.LowerStyle.String()))
	add(l.MaxBodyDiameter != 0 && p.Body > l.MaxBodyDiameter, reasonMaxBodyDiameter, note.Len("value", p.Body), note.Len("limit", l.MaxBodyDiameter))
	add(l.MaxCompressed != 0 && p.Compressed > l.MaxCompressed, reasonMaxCompressed, note.Len("value", p.Compressed), note.Len("limit", l.MaxCompressed))
	built := p.Traits.Construction()
	add(l.Construction != 0 && built != l.Construction, reasonConstruction, note.Word("value", built.String()), note.Word("limit", l.Construction.String()))
	add(!p.Traits.Adjusters().Has(l.Adjusters), reasonAdjusters)
	add(l.InStock && !p.Traits.InStock(), reasonInStock)
	add(l.HasMaxPrice && (p.Price == mount.NoPrice || p.Price > l.MaxPrice), reasonMaxPrice)
	if matched {
		wayUp := t.allowsWayUp(p.Traits, false) && w.match(false) || t.allowsWayUp(p.Traits, true) && w.match(true)
		add(!wayUp, reasonMounting)
	}
	carries := carriesLoad(p.Traits.Adjusters()) && !l.admitsLoad()
	leans := !t.allowsLean(p.Traits)
	if carries || leans {
		add(l.NoAdapters && len(w[0][straight]) == 0 && !(invertible && len(w[1][straight]) > 0), reasonAdapters)
		add(carries, reasonLoadCarrying)
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
	s := t.spanOf(a, p)
	short := t.shortfall(s.compressed, s.extended)
	sum := short.Compression + short.Extension
	best := n.short.Compression + n.short.Extension
	if !n.known || sum < best || sum == best && !n.possible && t.bench.possible(a) {
		*n = lengths{known: true, possible: t.bench.possible(a), short: short}
	}
}

// reasons lists what is wrong with the lengths and the hardware.
func (n *lengths) reasons(t *task, p *catalog.Point) []note.Note {
	var reasons []note.Note
	if room := t.room(p); room < 0 || t.strokeless(p) {
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
	groups := t.snapshot.Index().Groups()
	for i := range groups {
		g := &groups[i]
		before := t.bench.scratch.used
		w := t.ways(g)
		for j := range g.Points() {
			v := t.assess(w, g, &g.Points()[j])
			t.count(&v, &total, byReason)
		}
		// Only counts are kept of a group, so the next reuses its room.
		t.bench.scratch.used = before
	}
	return total, inOrder(byReason)
}

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
