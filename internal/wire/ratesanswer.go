package wire

import (
	"slices"

	"midstroke/internal/catalog"
	"midstroke/internal/damping"
	"midstroke/internal/note"
	"midstroke/internal/unit"
)

// To how many decimals the figures of spring and damping are told: as many as
// recompute one another.
const (
	ofRatio    = 5
	ofHertz    = 5
	ofRate     = 5 // N/mm
	ofDamping  = 3 // N·s/m
	ofNewtons  = 2 // N
	ofVelocity = 6 // m/s
	ofMass     = 3 // kg
)

// metres is a length from metres.
func metres(m float64) unit.Length {
	const mmPerMetre = 1000
	return unit.FromMm(m * mmPerMetre)
}

var resolvedMembers = members[damping.Resolved]{
	aText("use", func(t *damping.Resolved) string { return t.Use.String() }),
	anObject("ride_hz", targetMembers(ofHertz), func(t *damping.Resolved) *damping.Target { return &t.RideHz }),
	anObject("damping_ratio", targetMembers(ofRatio), func(t *damping.Resolved) *damping.Target { return &t.Ratio }),
	anObject("rebound_over_compression", members[damping.Resolved]{
		aNumber("wanted", ofRatio, func(t *damping.Resolved) float64 { return t.Split }),
		aText("source", func(t *damping.Resolved) string { return t.SplitSource }),
	}, itself),
	anObject("road", members[damping.Resolved]{
		aText("class", func(t *damping.Resolved) string { return t.Class.String() }),
		aFigure("speed", aSpeed, func(t *damping.Resolved) float64 { return t.SpeedKmh }),
		aText("source", func(t *damping.Resolved) string { return t.RoadSource }),
	}, itself),
}

func targetMembers(decimals int) members[damping.Target] {
	return members[damping.Target]{
		allOf(rangeMembers(decimals, 1), func(t *damping.Target) *damping.Range { return &t.Range }),
		aText("source", func(t *damping.Target) string { return t.Source }),
	}
}

var loadMembers = members[damping.LoadAnswer]{
	aText("load", func(l *damping.LoadAnswer) string { return l.Load.String() }),
	aFigure("sprung", aMass, func(l *damping.LoadAnswer) float64 { return l.SprungKg }),
	aLength("sink", func(l *damping.LoadAnswer) unit.Length { return metres(l.Sink) }),
	aNumber("spring_ratio", ofRatio, func(l *damping.LoadAnswer) float64 { return l.SpringRatio }),
	aNumber("damper_ratio", ofRatio, func(l *damping.LoadAnswer) float64 { return l.DamperRatio }),
	aFigure("spring_force", aForce, func(l *damping.LoadAnswer) float64 { return l.SpringForce }),
	aFigure("spring_rate", aRate, func(l *damping.LoadAnswer) float64 { return l.SpringRate }),
	aFigure("wheel_rate", aRate, func(l *damping.LoadAnswer) float64 { return l.WheelRate }),
	aFigure("roll_rate", aRate, func(l *damping.LoadAnswer) float64 { return l.RollRate }),
	aNumber("ride_hz", ofHertz, func(l *damping.LoadAnswer) float64 { return l.RideHz }),
	aNumber("body_hz", ofHertz, func(l *damping.LoadAnswer) float64 { return l.BodyHz }),
	aNumber("hop_hz", ofHertz, func(l *damping.LoadAnswer) float64 { return l.HopHz }),
	aFigure("critical", aDamping, func(l *damping.LoadAnswer) float64 { return l.Critical }),
	aFigure("critical_at_damper", aDamping, func(l *damping.LoadAnswer) float64 { return l.CriticalAtDamper }),
	aNumber("damping_ratio", ofRatio, func(l *damping.LoadAnswer) float64 { return l.Ratio }),
	aNumber("hop_damping_ratio", ofRatio, func(l *damping.LoadAnswer) float64 { return l.HopRatio }),
	aNumberOrNull("damping_ratio_now", ofRatio, func(l *damping.LoadAnswer) float64 { return l.RatioNow }),
	aNumberOrNull("hop_damping_ratio_now", ofRatio, func(l *damping.LoadAnswer) float64 { return l.HopRatioNow }),
	aNumber("comfort_damping_ratio", ofRatio, func(l *damping.LoadAnswer) float64 { return l.ComfortRatio }),
	aFigure("roll_damping", aDamping, func(l *damping.LoadAnswer) float64 { return l.RollDamping }),
	aRangeOrNull("wanted_wheel_rate", aRate, func(l *damping.LoadAnswer) *damping.Range { return &l.WantedWheelRate }),
	aRangeOrNull("wanted_spring_rate", aRate, func(l *damping.LoadAnswer) *damping.Range { return &l.WantedSpringRate }),
}

var wantedMembers = members[damping.Wanted]{
	aFigure("at_wheel", aDamping, func(w *damping.Wanted) float64 { return w.AtWheel }),
	aFigure("friction", aDamping, func(w *damping.Wanted) float64 { return w.FrictionAtWheel }),
	aRange("at_damper", aDamping, func(w *damping.Wanted) *damping.Range { return &w.AtDamper }),
	aRange("compression", aDamping, func(w *damping.Wanted) *damping.Range { return &w.Compression }),
	aRange("rebound", aDamping, func(w *damping.Wanted) *damping.Range { return &w.Rebound }),
	aFigure("velocity", aVelocity, func(w *damping.Wanted) float64 { return w.Velocity }),
	aList("forces", members[damping.WantedForce]{
		aText("motion", func(f *damping.WantedForce) string { return string(f.Motion) }),
		aFigure("velocity", aVelocity, func(f *damping.WantedForce) float64 { return f.Velocity }),
		aRange("compression", aForce, func(f *damping.WantedForce) *damping.Range { return &f.Compression }),
		aRange("rebound", aForce, func(f *damping.WantedForce) *damping.Range { return &f.Rebound }),
	}, func(w *damping.Wanted) []damping.WantedForce { return w.Forces }),
}

var springMembers = members[damping.SpringAnswer]{
	aFigure("rate", aRate, func(s *damping.SpringAnswer) float64 { return s.Rate * aRate.si }),
	aFigure("least_rate", aRate, func(s *damping.SpringAnswer) float64 { return s.RateLow * aRate.si }),
	aFigure("greatest_rate", aRate, func(s *damping.SpringAnswer) float64 { return s.RateHigh * aRate.si }),
	aNumberOrNull("active_turns", ofRatio, func(s *damping.SpringAnswer) float64 { return s.Active }),
	aNumberOrNull("index", ofRatio, func(s *damping.SpringAnswer) float64 { return s.Index }),
	aLengthOrNull("free_length", func(s *damping.SpringAnswer) unit.Length { return unit.FromMm(s.Free) }),
	aLengthOrNull("solid_length", func(s *damping.SpringAnswer) unit.Length { return unit.FromMm(s.Solid) }),
	aList("loads", members[damping.SpringLoad]{
		aText("load", func(l *damping.SpringLoad) string { return l.Load.String() }),
		allOf(underLoad, itself[damping.SpringLoad]),
	}, func(s *damping.SpringAnswer) []damping.SpringLoad { return s.Loads }),
	anObjectOrNull("at_bump", underLoad, func(s *damping.SpringAnswer) *damping.SpringLoad { return s.AtBump }),
	anObjectOrNull("at_droop", underLoad, func(s *damping.SpringAnswer) *damping.SpringLoad { return s.AtDroop }),
	aFigureOrNull("solid_stress", aStress, func(s *damping.SpringAnswer) float64 { return s.StressSolid * aStress.si }),
	aLengthOrNull("buckles_at", func(s *damping.SpringAnswer) unit.Length { return unit.FromMm(s.BucklesAt) }),
	aLengthOrNull("wanted_free_length", func(s *damping.SpringAnswer) unit.Length { return unit.FromMm(s.WantedFree) }),
	anObjectOrNull("seats", members[damping.SpringAnswer]{
		aLength("closer_by", func(s *damping.SpringAnswer) unit.Length { return unit.FromMm(s.SeatsCloser) }),
	}, func(s *damping.SpringAnswer) *damping.SpringAnswer {
		if s.WantedFree == 0 || s.Free == 0 {
			return nil
		}
		return s
	}),
}

// underLoad is a spring under a force.
var underLoad = members[damping.SpringLoad]{
	aFigure("force", aForce, func(l *damping.SpringLoad) float64 { return l.Force }),
	aLength("deflection", func(l *damping.SpringLoad) unit.Length { return unit.FromMm(l.Deflection) }),
	aLengthOrNull("length", func(l *damping.SpringLoad) unit.Length { return unit.FromMm(l.Length) }),
	anObjectOrNull("to_bind", members[damping.SpringLoad]{
		aLength("at_spring", func(l *damping.SpringLoad) unit.Length { return unit.FromMm(l.ToBind) }),
		aLengthOrNull("at_wheel", func(l *damping.SpringLoad) unit.Length { return unit.FromMm(l.ToBindAtWheel) }),
	}, func(l *damping.SpringLoad) *damping.SpringLoad {
		if l.ToBind == 0 {
			return nil
		}
		return l
	}),
	aFigureOrNull("stress", aStress, func(l *damping.SpringLoad) float64 { return l.Stress * aStress.si }),
}

var ratesMembers = members[damping.Answer]{
	anObject("targets", resolvedMembers, func(a *damping.Answer) *damping.Resolved { return &a.Targets }),
	aList("loads", loadMembers, func(a *damping.Answer) []damping.LoadAnswer { return a.Loads }),
	anObject("wanted", wantedMembers, func(a *damping.Answer) *damping.Wanted { return &a.Wanted }),
	anObjectOrNull("spring", springMembers, func(a *damping.Answer) *damping.SpringAnswer { return a.Spring }),
	aList("steps", stepMembers, func(a *damping.Answer) []note.Step { return a.Steps }),
	notes("cautions", func(a *damping.Answer) []note.Note { return a.Cautions }),
}

// RatesAnswer is what the answer to a RatesRequest is written from.
type RatesAnswer struct {
	*damping.Answer
	Covering catalog.Covering

	request *RatesRequest
	from    *Edition
}

// AppendRates appends what a corner wants and which dampers give it as JSON.
func AppendRates(dst []byte, a *RatesAnswer, r *RatesRequest, from Edition, lang string) []byte {
	a.request, a.from = r, &from
	return appendAnswer(a.writer(dst, lang), wholeRates, a)
}

func (a *RatesAnswer) writer(dst []byte, lang string) writer {
	return writer{b: dst, units: a.request.Units, lang: lang, serial: a.from.Serial}
}

var wholeRates = slices.Concat(ratesOrigin, members[RatesAnswer]{
	allOf(ratesMembers, func(a *RatesAnswer) *damping.Answer { return a.Answer }),
	aList("dampers", ratedMembers, func(a *RatesAnswer) []catalog.Rated { return a.Covering.Dampers }),
	aFlag("more", func(a *RatesAnswer) bool { return a.Covering.More }),
	anObject("counts", members[catalog.Covering]{
		aWhole("dampers", func(c *catalog.Covering) int { return c.Judged }),
		aWhole("rated", func(c *catalog.Covering) int { return c.Judged - c.Verdicts[0] }),
		aWhole("soft", func(c *catalog.Covering) int { return c.Verdicts[damping.Soft] }),
		aWhole("in_range", func(c *catalog.Covering) int { return c.Verdicts[damping.InRange] }),
		aWhole("firm", func(c *catalog.Covering) int { return c.Verdicts[damping.Firm] }),
	}, func(a *RatesAnswer) *catalog.Covering { return &a.Covering }),
})

var ratesOrigin = members[RatesAnswer]{
	unitsMember[RatesAnswer](),
	aTextOrNull("reference", func(a *RatesAnswer) string { return a.request.Reference }),
	anObject("catalog", editionMembers, func(a *RatesAnswer) *Edition { return a.from }),
}

var ratedMembers = members[catalog.Rated]{
	anObject("damper", damperMembers, func(r *catalog.Rated) *catalog.Damper { return r.Damper }),
	anObjectOrNull("rating", ratingMembers, func(r *catalog.Rated) *damping.Rating { return r.Rating }),
}

// ratesRow is what a line of the CSV form is made from.
type ratesRow struct {
	*RatesAnswer
	rated *catalog.Rated
}

var ratesColumns = columnsOf(members[ratesRow]{
	allOf(ratedMembers, func(r *ratesRow) *catalog.Rated { return r.rated }),
	allOf(ratesOrigin, func(r *ratesRow) *RatesAnswer { return r.RatesAnswer }),
})

// AppendRatesCSV appends the dampers of an answer by RFC 4180, one a line.
func AppendRatesCSV(dst []byte, a *RatesAnswer, r *RatesRequest, from Edition, lang string) []byte {
	a.request, a.from = r, &from
	w := a.writer(dst, lang)
	w.bare = true
	w.b = appendHeader(w.b, ratesColumns)
	for i := range a.Covering.Dampers {
		appendLine(&w, ratesColumns, &ratesRow{a, &a.Covering.Dampers[i]})
	}
	return w.b
}
