package wire

import (
	"cmp"

	"midstroke/internal/catalog"
	"midstroke/internal/damping"
	"midstroke/internal/fit"
	"midstroke/internal/linkage"
	"midstroke/internal/measure"
	"midstroke/internal/mount"
	"midstroke/internal/note"
	"midstroke/internal/unit"
)

// Edition says which revision of which catalogue an answer was made from.
type Edition struct {
	Name     string
	Revision int
	// Stale says that a newer revision might exist, since the truth behind the
	// snapshot can't be reached.
	Stale bool
	// Stock is the version of the shop's stock, 0 for none.
	Stock int
	// Currency is the ISO 4217 code of its prices.
	Currency string
	// Serial is the snapshot's, 0 where texts made from it aren't to be kept.
	Serial uint64
}

// EditionOf is the edition of a snapshot that isn't stale.
func EditionOf(s *catalog.Snapshot) Edition {
	return Edition{Name: s.Name(), Revision: s.Revision(), Stock: int(s.StockVersion()), Currency: s.Currency(), Serial: s.Serial()}
}

var editionMembers = members[Edition]{
	aText("name", func(e *Edition) string { return e.Name }),
	aWhole("revision", func(e *Edition) int { return e.Revision }),
	aFlag("stale", func(e *Edition) bool { return e.Stale }),
	onlyJSON(when(aWhole("stock_version", func(e *Edition) int { return e.Stock }), func(e *Edition) bool { return e.Stock != 0 })),
}

// AppendFits appends to dst the answer to r as JSON, with its words in the
// language lang where there are such. The same answer gives the same bytes.
func AppendFits(dst []byte, a *fit.Answer, r *FitsRequest, from Edition, lang string) []byte {
	whole := fitsAnswer{a, r, &from}
	return appendAnswer(whole.writer(dst, lang), fitsMembers, &whole)
}

// fitsAnswer is what the answer to a request for fits is written from.
type fitsAnswer struct {
	*fit.Answer
	request *FitsRequest
	from    *Edition
}

func (a *fitsAnswer) writer(dst []byte, lang string) writer {
	return writer{b: dst, units: a.request.Units, lang: lang, currency: a.from.Currency, serial: a.from.Serial, working: a.request.Fit.Working, damped: a.request.Fit.Corner != nil}
}

var fitsMembers = members[fitsAnswer]{
	aText("outcome", func(a *fitsAnswer) string { return a.Outcome.String() }),
	aText("units", func(a *fitsAnswer) string { return a.request.Units.String() }),
	aTextOrNull("reference", func(a *fitsAnswer) string { return a.request.Reference }),
	anObject("catalog", editionMembers, func(a *fitsAnswer) *Edition { return a.from }),
	reasons(func(a *fitsAnswer) []note.Note { return a.Reasons }),
	anObjectOrNull("working_length", workingMembers, func(a *fitsAnswer) *measure.Working { return a.Working }),
	anObjectOrNull("required", requiredMembers, func(a *fitsAnswer) *fit.Required { return a.Required }),
	whenDamped(anObject("damping", dampersComparedWith, func(a *fitsAnswer) *damping.Rater { return a.Answer.Damping })),
	aList("fits", fitMembers, func(a *fitsAnswer) []fit.Fit { return a.Fits }),
	aFlag("more", func(a *fitsAnswer) bool { return a.More }),
	aList("hardware", members[fit.Hardware]{
		aText("end", func(h *fit.Hardware) string { return h.End }),
		kept(allOf(hardwareMembers, func(h *fit.Hardware) *mount.Result { return h.Result }), hardwareKey),
		whenAsked(aList("working", stepMembers, func(h *fit.Hardware) []note.Step { return h.Working })),
		notes("cautions", func(h *fit.Hardware) []note.Note { return h.OwnCautions }),
	}, func(a *fitsAnswer) []fit.Hardware { return a.Hardware }),
	anObjectOrNull("ask_next", members[fit.AskNext]{
		aText("field", func(n *fit.AskNext) string { return n.Field }),
		aNote(func(n *fit.AskNext) *note.Note { return &n.Note }),
	}, func(a *fitsAnswer) *fit.AskNext { return a.AskNext }),
	aList("near_misses", missMembers, func(a *fitsAnswer) []fit.NearMiss { return a.NearMisses }),
	aList("ruled_out", ruledOutMembers, func(a *fitsAnswer) []fit.Count { return a.RuledOut }),
	anObjectOrNull("counts", countsMembers, func(a *fitsAnswer) *fit.Counts { return a.Counts }),
	aList("judged", judgedMembers, func(a *fitsAnswer) []fit.Judgement { return a.Judged }),
	notes("cautions", func(a *fitsAnswer) []note.Note { return a.Cautions }),
}

var workingMembers = members[measure.Working]{
	aLength("value", func(m *measure.Working) unit.Length { return m.Value }),
	aLength("low", func(m *measure.Working) unit.Length { return m.Low }),
	aLength("high", func(m *measure.Working) unit.Length { return m.High }),
	aLength("shorter", func(m *measure.Working) unit.Length { return m.Shorter.Length }),
	aLength("longer", func(m *measure.Working) unit.Length { return m.Longer.Length }),
	aList("steps", stepMembers, func(m *measure.Working) []note.Step { return m.Steps }),
}

var needMembers = members[fit.Need]{
	aLength("least", func(n *fit.Need) unit.Length { return n.Least }),
	aLength("wanted", func(n *fit.Need) unit.Length { return n.Wanted }),
	aLength("least_worst", func(n *fit.Need) unit.Length { return n.LeastWorst }),
	aLength("wanted_worst", func(n *fit.Need) unit.Length { return n.WantedWorst }),
}

var requiredMembers = members[fit.Required]{
	aText("basis", func(r *fit.Required) string { return r.Basis.String() }),
	anObject("compression", needMembers, func(r *fit.Required) *fit.Need { return &r.Compression }),
	anObject("extension", needMembers, func(r *fit.Required) *fit.Need { return &r.Extension }),
	aList("steps", stepMembers, func(r *fit.Required) []note.Step { return r.Steps }),
}

var ruledOutMembers = members[fit.Count]{
	aText("reason", func(c *fit.Count) string { return string(c.Reason) }),
	aWhole("count", func(c *fit.Count) int { return c.Count }),
}

var countsMembers = members[fit.Counts]{
	aWhole("dampers", func(c *fit.Counts) int { return c.Dampers }),
	aWhole("fits", func(c *fit.Counts) int { return c.Fits }),
	aWhole("near_misses", func(c *fit.Counts) int { return c.NearMisses }),
	aWhole("ruled_out", func(c *fit.Counts) int { return c.RuledOut }),
}

var judgedMembers = members[fit.Judgement]{
	aText("code", func(j *fit.Judgement) string { return j.Code }),
	aText("verdict", func(j *fit.Judgement) string { return j.Verdict }),
	reasons(func(j *fit.Judgement) []note.Note { return j.Reasons }),
}

// bothMembers are those of a length each way.
var bothMembers = members[fit.Both]{
	aLength("compression", func(b *fit.Both) unit.Length { return b.Compression }),
	aLength("extension", func(b *fit.Both) unit.Length { return b.Extension }),
}

// mounted names which way up a damper goes.
func mounted(inverted bool) string {
	if inverted {
		return "inverted"
	}
	return "as_listed"
}

var fitMembers = members[fit.Fit]{
	aWhole("rank", func(f *fit.Fit) int { return f.Rank }),
	aText("grade", func(f *fit.Fit) string { return f.Grade.String() }),
	aText("mounted", func(f *fit.Fit) string { return mounted(f.Inverted) }),
	kept(anObject("damper", damperMembers, func(f *fit.Fit) *catalog.Damper { return f.Damper }), func(w *writer, f *fit.Fit) textKey { return w.damperKey(f.Place) }),
	anObject("effective", members[fit.Fit]{
		aLength("compressed", func(f *fit.Fit) unit.Length { return f.Compressed }),
		aLength("extended", func(f *fit.Fit) unit.Length { return f.Extended }),
		aLength("stroke", func(f *fit.Fit) unit.Length { return f.Stroke() }),
	}, itself),
	anObject("travel", bothMembers, func(f *fit.Fit) *fit.Both { return &f.Travel }),
	anObject("margin", bothMembers, func(f *fit.Fit) *fit.Both { return &f.Margin }),
	anObject("worst_case", members[fit.Fit]{
		anObject("margin", bothMembers, func(f *fit.Fit) *fit.Both { return &f.Worst }),
		aNumber("likelihood", decimals, func(f *fit.Fit) float64 { return f.Likelihood }),
	}, itself),
	onlyJSON(anObjectOrNull("at_heights", heightsMembers, func(f *fit.Fit) *fit.AtHeights { return f.AtHeights })),
	aNumber("ride_position", decimals, func(f *fit.Fit) float64 { return f.RidePosition }),
	whenDamped(anObjectOrNull("damping", briefRating, func(f *fit.Fit) *damping.Brief { return f.Damping })),
	anObject("upper", fitEndMembers, func(f *fit.Fit) *fit.End { return &f.Upper }),
	anObject("lower", fitEndMembers, func(f *fit.Fit) *fit.End { return &f.Lower }),
	aWhole("parts", func(f *fit.Fit) int { return f.Parts }),
	aPrice(func(f *fit.Fit) *mount.Price { return &f.Damper.Price }),
	as(inCells("pick_list", pickMembers, (*fit.Fit).PickList, (*writer).pickLine), (*writer).pickList),
	anObject("total", members[fit.Total]{
		plain("amount", textKind, func(t *fit.Total) mount.Price { return t.Amount }, (*writer).appendAmount),
		currencyMember[fit.Total](),
		aFlag("complete", func(t *fit.Total) bool { return t.Complete }),
	}, func(f *fit.Fit) *fit.Total { return &f.Total }),
	anObjectOrNull("stops", stopsMembers, func(f *fit.Fit) *fit.Stops { return f.Stops }),
	aList("clearance", members[fit.Clearance]{
		aText("name", func(c *fit.Clearance) string { return c.Name }),
		allOf(gapMembers, func(c *fit.Clearance) *linkage.Gap { return &c.Gap }),
	}, func(f *fit.Fit) []fit.Clearance { return f.Clearances }),
	notes("notes", func(f *fit.Fit) []note.Note { return f.Notes }),
}

// fitEndMembers point to an end's hardware and say it in one line.
var fitEndMembers = members[fit.End]{
	onlyJSON(aWhole("hardware", func(e *fit.End) int { return e.Place })),
	aFlag("complete", func(e *fit.End) bool { return e.Complete }),
	plainValue("text", shape{kind: textKind}, (*writer).summary),
}

var heightsMembers = members[fit.AtHeights]{
	anObject("lowest", bothMembers, func(h *fit.AtHeights) *fit.Both { return &h.Lowest }),
	anObject("highest", bothMembers, func(h *fit.AtHeights) *fit.Both { return &h.Highest }),
}

var pickMembers = members[fit.Pick]{
	aText("kind", func(p *fit.Pick) string { return string(p.Kind) }),
	aTextOrNull("code", func(p *fit.Pick) string { return p.Code }),
	plainValue("text", shape{kind: textKind}, func(w *writer, p *fit.Pick) {
		if p.Listed() {
			w.appendText(cmp.Or(p.Description, p.Code))
		} else {
			w.noteText(&p.Order)
		}
	}),
	when(aText("standard", func(p *fit.Pick) string { return p.Standard }), func(p *fit.Pick) bool { return !p.Listed() }),
	aWhole("quantity", func(p *fit.Pick) int { return p.Quantity }),
	when(orNull("in_stock", flagKind, func(p *fit.Pick) *bool {
		if p.Listed() {
			return &p.InStock
		}
		return nil
	}, func(w *writer, yes *bool) { w.appendFlag(*yes) }), priced),
	onlyJSON(when(aList("stock", members[catalog.Level]{
		aText("location", func(l *catalog.Level) string { return l.Location }),
		aWhole("quantity", func(l *catalog.Level) int { return l.Quantity }),
	}, func(p *fit.Pick) []catalog.Level { return p.Levels }), func(p *fit.Pick) bool { return len(p.Levels) > 0 })),
	when(anAmount("each", func(p *fit.Pick) mount.Price { return p.Each }), priced),
	when(anAmount("amount", (*fit.Pick).Amount), priced),
}

// priced says whether a line has a price, or could have one of its own: a nut and
// a washer go with their bolt.
func priced(p *fit.Pick) bool { return p.Kind != fit.PickNut && p.Kind != fit.PickWasher }

var stopsMembers = members[fit.Stops]{
	orNull("bump", lengthKind, func(s *fit.Stops) *unit.Length { return s.Bump }, (*writer).appendLengthAt),
	orNull("droop", lengthKind, func(s *fit.Stops) *unit.Length { return s.Droop }, (*writer).appendLengthAt),
	anObjectOrNull("bump_stop", bumpStopMembers, func(s *fit.Stops) *linkage.BumpStopFit { return s.BumpStop }),
	anObjectOrNull("strap", strapMembers, func(s *fit.Stops) *linkage.StrapFit { return s.Strap }),
}

var bumpStopMembers = members[linkage.BumpStopFit]{
	aLength("solid_at", func(f *linkage.BumpStopFit) unit.Length { return f.SolidAt }),
	aFlag("in_time", func(f *linkage.BumpStopFit) bool { return f.InTime }),
	aLength("gap", func(f *linkage.BumpStopFit) unit.Length { return f.Gap }),
	aLength("height", func(f *linkage.BumpStopFit) unit.Length { return f.Height }),
	whenAsked(aList("working", stepMembers, func(f *linkage.BumpStopFit) []note.Step { return f.Steps })),
}

var strapMembers = members[linkage.StrapFit]{
	aLength("length", func(f *linkage.StrapFit) unit.Length { return f.Length }),
	whenAsked(aList("working", stepMembers, func(f *linkage.StrapFit) []note.Step { return f.Steps })),
}

var missMembers = members[fit.NearMiss]{
	kept(anObject("damper", damperMembers, func(m *fit.NearMiss) *catalog.Damper { return m.Damper }), func(w *writer, m *fit.NearMiss) textKey { return w.damperKey(m.Place) }),
	aText("mounted", func(m *fit.NearMiss) string { return mounted(m.Inverted) }),
	anObject("short_by", bothMembers, func(m *fit.NearMiss) *fit.Both { return &m.ShortBy }),
	anObject("travel", bothMembers, func(m *fit.NearMiss) *fit.Both { return &m.Travel }),
	whenDamped(anObjectOrNull("damping", briefRating, func(m *fit.NearMiss) *damping.Brief { return m.Damping })),
	aList("remedies", remedyMembers, func(m *fit.NearMiss) []fit.Remedy { return m.Remedies }),
}

var remedyMembers = members[fit.Remedy]{
	aText("kind", func(r *fit.Remedy) string { return string(r.Kind) }),
	aLength("by", func(r *fit.Remedy) unit.Length { return r.By }),
	aLength("least", func(r *fit.Remedy) unit.Length { return r.Least }),
	aText("grade", func(r *fit.Remedy) string { return r.Grade.String() }),
	anObject("margin", bothMembers, func(r *fit.Remedy) *fit.Both { return &r.Margin }),
	anObjectOrNull("move", moveMembers, func(r *fit.Remedy) *fit.PointMove { return r.Move }),
	aNote(func(r *fit.Remedy) *note.Note { return &r.Text }),
}

var moveMembers = members[fit.PointMove]{
	aText("point", func(m *fit.PointMove) string { return m.Point }),
	aListOf("vector", lengthKind, func(m *fit.PointMove) []unit.Length { return m.Vector[:] }, (*writer).appendLength),
	aNumber("motion_ratio", decimals, func(m *fit.PointMove) float64 { return m.MotionRatio }),
}
