package wire

import (
	"midstroke/internal/catalog"
	"midstroke/internal/fit"
	"midstroke/internal/linkage"
	"midstroke/internal/measure"
	"midstroke/internal/mount"
	"midstroke/internal/unit"
)

// Edition says which revision of which catalogue an answer was made from.
type Edition struct {
	Name     string
	Revision int
	// Stale says that a newer revision might exist, since the truth behind the
	// snapshot can't be reached.
	Stale bool
	// Currency is the ISO 4217 code of its prices.
	Currency string
}

func (w *writer) edition(e *Edition) {
	w.key("catalog")
	w.open()
	w.text("name", e.Name)
	w.whole("revision", e.Revision)
	w.flag("stale", e.Stale)
	w.close()
}

// AppendFits appends to dst the answer to r as JSON, with its words in the
// language lang where there are such. The same answer gives the same bytes.
func AppendFits(dst []byte, a *fit.Answer, r *FitsRequest, from Edition, lang string) []byte {
	return (*Kept)(nil).AppendFits(dst, a, r, from, lang)
}

// AppendFits does what the function of that name does, the sooner the more
// often the same hardware comes.
func (k *Kept) AppendFits(dst []byte, a *fit.Answer, r *FitsRequest, from Edition, lang string) []byte {
	w := writer{b: dst, units: r.Units, lang: lang, kept: k}
	w.open()
	w.text("outcome", a.Outcome.String())
	w.text("units", r.Units.String())
	w.textOrNull("reference", r.Reference)
	w.edition(&from)
	w.notes("reasons", a.Reasons)
	w.working(a.Working)
	w.required(a.Required)
	w.key("fits")
	w.openList()
	for i := range a.Fits {
		w.fit(&a.Fits[i], &from)
	}
	w.closeList()
	w.key("near_misses")
	w.openList()
	for i := range a.NearMisses {
		w.nearMiss(&a.NearMisses[i])
	}
	w.closeList()
	w.key("ruled_out")
	w.openList()
	for _, c := range a.RuledOut {
		w.open()
		w.text("reason", c.Reason)
		w.whole("count", c.Count)
		w.close()
	}
	w.closeList()
	w.counts(a.Counts)
	w.key("judged")
	w.openList()
	for i := range a.Judged {
		j := &a.Judged[i]
		w.open()
		w.text("code", j.Code)
		w.text("verdict", j.Verdict)
		w.notes("reasons", j.Reasons)
		w.close()
	}
	w.closeList()
	w.notes("cautions", a.Cautions)
	w.close()
	return append(w.b, '\n')
}

func (w *writer) working(m *measure.Working) {
	if m == nil {
		w.null("working_length")
		return
	}
	w.key("working_length")
	w.open()
	w.length("value", m.Value)
	w.length("low", m.Low)
	w.length("high", m.High)
	w.steps("steps", m.Steps)
	w.close()
}

func (w *writer) required(r *fit.Required) {
	if r == nil {
		w.null("required")
		return
	}
	need := func(name string, n fit.Need) {
		w.key(name)
		w.open()
		w.length("least", n.Least)
		w.length("wanted", n.Wanted)
		w.close()
	}
	w.key("required")
	w.open()
	w.text("basis", r.Basis.String())
	need("compression", r.Compression)
	need("extension", r.Extension)
	w.steps("steps", r.Steps)
	w.close()
}

func (w *writer) counts(c *fit.Counts) {
	if c == nil {
		w.null("counts")
		return
	}
	w.key("counts")
	w.open()
	w.whole("dampers", c.Dampers)
	w.whole("fits", c.Fits)
	w.whole("near_misses", c.NearMisses)
	w.whole("ruled_out", c.RuledOut)
	w.close()
}

// mounted names which way up a damper goes.
func mounted(inverted bool) string {
	if inverted {
		return "inverted"
	}
	return "as_listed"
}

func (w *writer) both(name string, b fit.Both) {
	w.key(name)
	w.open()
	w.length("compression", b.Compression)
	w.length("extension", b.Extension)
	w.close()
}

func (w *writer) fit(f *fit.Fit, from *Edition) {
	w.open()
	w.whole("rank", f.Rank)
	w.text("grade", f.Grade.String())
	w.text("mounted", mounted(f.Inverted))
	w.key("damper")
	w.open()
	w.damper(f.Damper)
	w.close()
	w.key("effective")
	w.open()
	w.length("compressed", f.Compressed)
	w.length("extended", f.Extended)
	w.close()
	w.both("travel", f.Travel)
	w.both("margin", f.Margin)
	w.key("worst_case")
	w.open()
	w.both("margin", f.Worst)
	w.number("likelihood", f.Likelihood, decimals)
	w.close()
	w.number("ride_position", f.RidePosition, decimals)
	w.key("upper")
	w.open()
	w.hardware(f.Upper)
	w.close()
	w.key("lower")
	w.open()
	w.hardware(f.Lower)
	w.close()
	w.whole("parts", f.Parts)
	w.price("price", f.Damper.Price, from.Currency)
	w.key("pick_list")
	w.openList()
	for _, p := range f.PickList {
		w.open()
		w.text("kind", p.Kind)
		w.text("code", p.Code)
		w.whole("quantity", p.Quantity)
		w.close()
	}
	w.closeList()
	w.stops(f.Stops)
	w.notes("notes", f.Notes)
	w.close()
}

func (w *writer) stops(s *fit.Stops) {
	if s == nil {
		w.null("stops")
		return
	}
	w.key("stops")
	w.open()
	travel := func(name string, l *unit.Length) {
		if l == nil {
			w.null(name)
			return
		}
		w.length(name, *l)
	}
	travel("bump", s.Bump)
	travel("droop", s.Droop)
	w.bumpStop(s.BumpStop)
	w.strap(s.Strap)
	w.close()
}

func (w *writer) bumpStop(f *linkage.BumpStopFit) {
	if f == nil {
		w.null("bump_stop")
		return
	}
	w.key("bump_stop")
	w.open()
	w.length("solid_at", f.SolidAt)
	w.flag("in_time", f.InTime)
	w.length("gap", f.Gap)
	w.length("height", f.Height)
	w.steps("working", f.Steps)
	w.close()
}

func (w *writer) strap(f *linkage.StrapFit) {
	if f == nil {
		w.null("strap")
		return
	}
	w.key("strap")
	w.open()
	w.length("length", f.Length)
	w.steps("working", f.Steps)
	w.close()
}

func (w *writer) nearMiss(m *fit.NearMiss) {
	w.open()
	w.key("damper")
	w.open()
	w.damper(m.Damper)
	w.close()
	w.text("mounted", mounted(m.Inverted))
	w.both("short_by", m.ShortBy)
	w.both("travel", m.Travel)
	w.key("remedies")
	w.openList()
	for i := range m.Remedies {
		w.remedy(&m.Remedies[i])
	}
	w.closeList()
	w.close()
}

func (w *writer) remedy(r *fit.Remedy) {
	w.open()
	w.text("kind", string(r.Kind))
	w.length("by", r.By)
	w.both("margin", r.Margin)
	if r.Move == nil {
		w.null("move")
	} else {
		w.key("move")
		w.open()
		w.text("point", r.Move.Point)
		w.key("vector")
		w.openList()
		for _, l := range r.Move.Vector {
			w.comma()
			w.b = appendLength(w.b, l, w.units)
		}
		w.closeList()
		w.number("motion_ratio", r.Move.MotionRatio, decimals)
		w.close()
	}
	w.note(&r.Text)
	w.close()
}

// damper writes what an answer says of a damper.
func (w *writer) damper(d *catalog.Damper) {
	w.text("code", d.Code)
	w.text("description", d.Description)
	w.text("construction", d.Construction.String())
	w.flag("gas", d.Gas)
	w.adjusters(d.Adjusters)
	w.length("compressed", d.Compressed)
	w.length("extended", d.Extended)
	w.length("stroke", d.Stroke())
	w.lengthOrNull("body_diameter", d.BodyDiameter)
}

func (w *writer) adjusters(a catalog.Adjusters) {
	w.key("adjusters")
	w.openList()
	if a != 0 {
		for _, name := range a.Names() {
			w.string(name)
		}
	}
	w.closeList()
}

// end writes an end's members: its style and, of its measures, those that its
// style has.
func (w *writer) end(name string, e *mount.End) {
	w.key(name)
	w.open()
	w.text("style", e.Style.String())
	switch e.Style {
	case mount.Eye:
		w.lengthOrNull("bore", e.Bore)
		w.text("bore_is", e.BoreIs.String())
		w.lengthOrNull("width", e.Width)
	case mount.Stud:
		w.textOrNull("thread", e.Thread.String())
		w.lengthOrNull("usable_length", e.UsableLength)
		w.lengthOrNull("spigot", e.Spigot)
	case mount.BarPin:
		w.lengthOrNull("hole_spacing", e.HoleSpacing)
		w.length("slot", e.Slot)
		w.lengthOrNull("hole", e.Hole)
	case mount.NoStyle, mount.Fork, mount.SpindleStrut:
	}
	w.close()
}
