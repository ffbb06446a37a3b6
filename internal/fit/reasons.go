package fit

import (
	"cmp"

	"midstroke/internal/catalog"
	"midstroke/internal/mount"
	"midstroke/internal/note"
	"midstroke/internal/unit"
)

// The reasons that rule a damper out. A limit is named as in the request.
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

// exclusion is a rule that excludes dampers whatever their lengths.
type exclusion struct {
	reason note.Code
	holds  func(*task, *ways, *catalog.Point) bool
	// values are what is said of it beside its name; nil where nothing is.
	values func(*task, *catalog.Point) []note.Value
}

// exclusions are in the order in which the first that holds counts.
var exclusions = []exclusion{
	{
		reasonEndStyle,
		func(_ *task, w *ways, p *catalog.Point) bool { return !w.matched(p.Traits) },
		func(t *task, p *catalog.Point) []note.Value {
			return []note.Value{note.Word("upper", t.styleOf(p.Upper)), note.Word("lower", t.styleOf(p.Lower))}
		},
	},
	{
		reasonMaxBodyDiameter,
		func(t *task, _ *ways, p *catalog.Point) bool {
			return t.limits.MaxBodyDiameter != 0 && p.Body > t.limits.MaxBodyDiameter
		},
		func(t *task, p *catalog.Point) []note.Value {
			return []note.Value{note.Size("value", p.Body), note.Size("limit", t.limits.MaxBodyDiameter)}
		},
	},
	{
		reasonMaxCompressed,
		func(t *task, _ *ways, p *catalog.Point) bool {
			return t.limits.MaxCompressed != 0 && p.Compressed > t.limits.MaxCompressed
		},
		func(t *task, p *catalog.Point) []note.Value {
			return []note.Value{note.Size("value", p.Compressed), note.Size("limit", t.limits.MaxCompressed)}
		},
	},
	{
		reasonConstruction,
		func(t *task, _ *ways, p *catalog.Point) bool {
			return t.limits.Construction != 0 && p.Traits.Construction() != t.limits.Construction
		},
		func(t *task, p *catalog.Point) []note.Value {
			return []note.Value{note.Word("value", p.Traits.Construction().String()), note.Word("limit", t.limits.Construction.String())}
		},
	},
	{reasonAdjusters, func(t *task, _ *ways, p *catalog.Point) bool { return !p.Traits.Adjusters().Has(t.limits.Adjusters) }, nil},
	{reasonInStock, func(t *task, _ *ways, p *catalog.Point) bool { return t.limits.InStock && !t.inStock(p) }, nil},
	{
		reasonMaxPrice,
		func(t *task, _ *ways, p *catalog.Point) bool {
			return t.limits.HasMaxPrice && (p.Price == mount.NoPrice || p.Price > t.limits.MaxPrice)
		},
		nil,
	},
	{reasonMounting, func(t *task, w *ways, p *catalog.Point) bool {
		return w.matched(p.Traits) && !t.matchedAsAllowed(w, p.Traits)
	}, nil},
	{
		// Said only beside what excludes the damper with adapters as well.
		reasonAdapters,
		func(t *task, w *ways, p *catalog.Point) bool {
			return t.limits.NoAdapters && !w.matchedBy(straight, p.Traits) && (t.carriesUnasked(p) || !t.admitsDamping(p) || !t.allowsLean(p.Traits))
		},
		nil,
	},
	{reasonLoadCarrying, func(t *task, _ *ways, p *catalog.Point) bool { return t.carriesUnasked(p) }, nil},
	{
		reasonDamping,
		func(t *task, _ *ways, p *catalog.Point) bool { return !t.admitsDamping(p) },
		func(t *task, p *catalog.Point) []note.Value {
			return []note.Value{note.Word("verdict", cmp.Or(t.verdict(p).String(), "not_known"))}
		},
	},
	{
		reasonLean,
		func(t *task, _ *ways, p *catalog.Point) bool { return !t.allowsLean(p.Traits) },
		func(t *task, _ *catalog.Point) []note.Value {
			return []note.Value{note.Num("limit", uprightOnlyPast, "°"), note.Num("lean", roundedDeg(t.lean), "°")}
		},
	},
}

func (t *task) styleOf(end int32) string { return t.snapshot.Index().End(end).Style.String() }

// carriesUnasked says whether a damper carries load where none that does is asked for.
func (t *task) carriesUnasked(p *catalog.Point) bool {
	return carriesLoad(p.Traits.Adjusters()) && !t.limits.admitsLoad()
}

// excluded gives the first exclusion of a damper; nil where there is none.
func (t *task) excluded(w *ways, p *catalog.Point) *exclusion {
	for i := range exclusions {
		if exclusions[i].holds(t, w, p) {
			return &exclusions[i]
		}
	}
	return nil
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

// shortfall is a reason that lies in a damper's lengths or hardware.
type shortfall struct {
	reason note.Code
	holds  func(*task, *lengths, *catalog.Point) bool
	by     func(*task, *lengths, *catalog.Point) unit.Length // nil where it is no length
}

// shortfalls are in the order in which the first that holds counts.
var shortfalls = []shortfall{
	{
		reasonStrokeTooShort,
		func(t *task, _ *lengths, p *catalog.Point) bool { return t.room(p) < 0 || t.hasNoStroke(p) },
		func(t *task, _ *lengths, p *catalog.Point) unit.Length { return max(1, -t.room(p)) },
	},
	{
		reasonTooLong,
		func(_ *task, n *lengths, _ *catalog.Point) bool { return n.short.Compression > 0 },
		func(_ *task, n *lengths, _ *catalog.Point) unit.Length { return n.short.Compression },
	},
	{
		reasonTooShort,
		func(_ *task, n *lengths, _ *catalog.Point) bool { return n.short.Extension > 0 },
		func(_ *task, n *lengths, _ *catalog.Point) unit.Length { return n.short.Extension },
	},
	{reasonHardware, func(_ *task, n *lengths, _ *catalog.Point) bool { return !n.possible }, nil},
}

// reasons lists everything that keeps a damper from fitting; nothing where it fits.
func (t *task) reasons(v *verdict, w *ways, p *catalog.Point) (reasons []note.Note) {
	add := func(reason note.Code, values ...note.Value) { reasons = append(reasons, note.New(reason, values...)) }
	switch {
	case v.fits:
	case v.excluded != nil:
		for i := range exclusions {
			e := &exclusions[i]
			if !e.holds(t, w, p) {
				continue
			}
			var values []note.Value
			if e.values != nil {
				values = e.values(t, p)
			}
			add(e.reason, values...)
		}
	case !v.nearest.known:
		add(reasonAdapters)
	default:
		for i := range shortfalls {
			switch s := &shortfalls[i]; {
			case !s.holds(t, &v.nearest, p):
			case s.by == nil:
				add(s.reason)
			default:
				add(s.reason, note.AtLeast("by", s.by(t, &v.nearest, p)))
			}
		}
	}
	return reasons
}

// firstReason is the reason that counts, of a damper that neither fits nor nearly.
func (t *task) firstReason(v *verdict, p *catalog.Point) note.Code {
	switch {
	case v.excluded != nil:
		return v.excluded.reason
	case v.nearest.known:
		for i := range shortfalls {
			if shortfalls[i].holds(t, &v.nearest, p) {
				return shortfalls[i].reason
			}
		}
	}
	return reasonAdapters
}

// reasonNames lists every reason that may rule a damper out, in the order in which the
// first that holds counts.
var reasonNames = func() (names []note.Code) {
	for i := range exclusions {
		names = append(names, exclusions[i].reason)
	}
	for i := range shortfalls {
		names = append(names, shortfalls[i].reason)
	}
	return names
}()

func inOrder(byReason map[note.Code]int) []Count {
	var counts []Count
	for _, reason := range reasonNames {
		if n := byReason[reason]; n > 0 {
			counts = append(counts, Count{Reason: reason, Count: n})
		}
	}
	return counts
}
