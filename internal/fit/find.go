package fit

import (
	"slices"
	"strconv"

	"midstroke/internal/catalog"
	"midstroke/internal/fault"
	"midstroke/internal/measure"
	"midstroke/internal/note"
)

// Find answers a request from one snapshot. It gives every fault there is, with
// pointers into the request; with a fault the answer is nil. That no damper fits
// is an answer.
func Find(r *Request, s *catalog.Snapshot) (*Answer, fault.List) {
	r = r.settled()
	var faults fault.List
	s = s.At(r.Limits.InStockAt)
	working, k, rater, required := r.asked(&faults)
	named := r.namedDampers(s, &faults)
	r.checkLocation(s, &faults)
	if len(faults) > 0 {
		return nil, faults
	}

	a := &Answer{Required: required, Damping: rater}
	lean, step := r.knownLean(&working, k)
	if step != nil {
		working.Steps = append(working.Steps, *step)
	}
	if working.Value > 0 {
		a.Working = &working
	}
	switch working.Verdict {
	case measure.MeasureAgain:
		a.Outcome, a.Reasons = MeasureAgain, working.Reasons
	case measure.OutsideMethod:
		a.Outcome, a.Reasons = OutsideMethod, working.Reasons
	case measure.Measured:
		scratch := scratches.Get().(*scratch)
		t := r.task(s, &working, required, k, lean, scratch)
		t.valving = newValving(rater, s)
		t.answer(a, r, named)
		scratch.release()
	}
	a.Cautions = r.cautions(a, &working, k)
	a.sortCautions()
	return a, nil
}

// required computes the needed travel by the request's basis.
func (r *Request) required(w *measure.Working, k *kinematics, faults *fault.List) *Required {
	n := r.requiredByBasis(w, k, faults)
	r.limitDroop(n, w, faults)
	r.addRodStopStep(n)
	return n
}

// requiredByBasis is the needed travel before the droop limit is applied.
func (r *Request) requiredByBasis(w *measure.Working, k *kinematics, faults *fault.List) *Required {
	if r.Travel.Basis == ByLinkage {
		return k.need(r)
	}
	if w.Value <= 0 && r.Travel.Basis == Measured {
		return nil
	}
	return r.need(w.Value, faults)
}

// checkLocation finds a location that the stock doesn't have.
func (r *Request) checkLocation(s *catalog.Snapshot, faults *fault.List) {
	if at := r.Limits.InStockAt; at != "" && !s.HasLocation(at) {
		faults.Add("/limits/in_stock_at", unknownLocation, note.Word("location", at))
	}
}

// namedDampers finds the dampers asked about.
func (r *Request) namedDampers(s *catalog.Snapshot, faults *fault.List) []int32 {
	var dampers []int32
	for i, code := range r.Codes {
		place, ok := s.Place(code)
		if !ok {
			faults.Add("/codes/"+strconv.Itoa(i), UnknownCode, note.Word("catalog", s.Name()), note.Word("code", code))
			continue
		}
		dampers = append(dampers, place)
	}
	return dampers
}

func (r *Request) task(s *catalog.Snapshot, w *measure.Working, n *Required, k *kinematics, lean float64, scratch *scratch) *task {
	t := &task{
		bolting:  newBolting(s, site{r.Readings.Upper.Style, r.Upper}, site{r.Readings.Lower.Style, r.Lower}, r.Limits.InStock, scratch),
		snapshot: s,
		value:    w.Value, low: w.Low, high: w.High, shorter: w.Shorter.Length, longer: w.Longer.Length,
		needC: n.Compression, needE: n.Extension, droop: n.droop,
		limits: r.Limits, dampers: r.Dampers, lean: lean, prefer: n.prefer(),
		drivenAt: r.Heights, shift: r.heightShift(k),
		kinematics: k, asked: r.stopsAsked(), rodStop: r.rodStop(), doubt: newDoubt(w, n),
	}
	if r.Prefer != nil {
		t.prefer = *r.Prefer
	}
	t.heights = heights{
		ratio: r.Readings.MotionRatio, tolerance: r.Readings.MotionRatioTolerance,
		delta: w.RideDelta, gaps: 2 * w.GapTolerance, planned: w.PlannedChange, stopsFixed: n.Basis.stopsFixed(),
	}
	t.inTime = t.inTimeFrom()
	t.admitTraits()
	return t
}

// answer fills in what was found.
func (t *task) answer(a *Answer, r *Request, named []int32) {
	var fits []found
	var misses []missed
	if len(r.Codes) > 0 {
		fits, misses = t.judge(a, named)
	} else {
		fits = t.search(r.Top + 1)
		if r.Explain {
			counts, ruledOut := t.explain()
			a.Counts, a.RuledOut = &counts, ruledOut
		}
	}
	a.More = len(fits) > r.Top
	fits = fits[:min(r.Top, len(fits))]
	wanted := r.nearMisses(len(fits))
	if len(r.Codes) == 0 && (wanted > 0 || len(fits) == 0) {
		misses = t.misses(max(1, wanted))
	}
	a.Fits = make([]Fit, 0, len(fits))
	lists := pickLists{snapshot: t.snapshot, dampers: r.Dampers}
	for i := range fits {
		f := t.present(&fits[i])
		f.Rank = i + 1
		lists.fill(&f)
		a.Fits = append(a.Fits, f)
	}
	a.listHardware(r.Working)
	a.AskNext = a.askNext()
	a.Outcome = Fits
	if len(fits) == 0 {
		a.Outcome = NoFit
		a.Reasons = append(a.Reasons, t.whyNone(len(misses) > 0))
	}
	a.NearMisses = make([]NearMiss, 0, len(misses))
	for i := range misses[:min(wanted, len(misses))] {
		a.NearMisses = append(a.NearMisses, t.presentMiss(&misses[i]))
	}
}

// nearMisses is how many near misses to list beside so many fits.
func (r *Request) nearMisses(fits int) int {
	if r.NearMisses != nil {
		return *r.NearMisses
	}
	return r.Top - fits
}

// whyNone says why there is no fit.
func (t *task) whyNone(near bool) note.Note {
	values := []note.Value{
		note.AtMost("compressed_most", t.shorter-t.needC.Least-t.rodStop), note.AtLeast("extended_least", t.longer+t.needE.Least),
	}
	if near {
		return note.New("no_fit_but_near", values...)
	}
	return note.New("no_fit", values...)
}

// present computes everything that an answer says of a found fit.
func (t *task) present(f *found) Fit {
	d := &t.snapshot.Dampers()[f.damper]
	arr := f.arrangement
	out := Fit{
		Grade: f.grade, Inverted: arr.inverted, Damper: d, Place: f.damper,
		Compressed: d.Compressed + arr.adds + t.rodStop, Extended: d.Extended + arr.adds,
		Parts: int(t.bolting.parts(arr)),
		Upper: End{Result: t.bolting.inFull(arr.upper)}, Lower: End{Result: t.bolting.inFull(arr.lower)},
	}
	out.Damping = t.brief(f.damper)
	out.Travel = Both{t.shorter - out.Compressed, out.Extended - t.longer}
	out.Margin = t.spare(out.Compressed, out.Extended, 0)
	out.Worst = Both{
		Compression: t.low - (out.Compressed + d.LengthTolerance) - t.needC.LeastWorst,
		Extension:   (out.Extended - d.LengthTolerance) - t.high - t.needE.LeastWorst,
	}
	out.AtHeights = t.atHeights(&out)
	out.Likelihood = t.likelihood(out.Compressed, out.Extended, d.LengthTolerance)
	out.RidePosition = float64(t.value-out.Compressed) / float64(out.Stroke())
	var atStops []note.Note
	out.Stops, atStops = t.stops(&out)
	var small []note.Note
	out.Clearances, small = t.clearances(d, arr)
	out.Notes = slices.Concat(notes(&out), t.onRodStop(&out), atStops, small)
	return out
}

func (t *task) presentMiss(m *missed) NearMiss {
	arr := m.arrangement
	s := t.span(arr.adds, m.point)
	return NearMiss{
		Damper: &t.snapshot.Dampers()[m.damper], Place: m.damper, Inverted: arr.inverted,
		ShortBy:  t.shortfall(s.compressed, s.extended),
		Travel:   Both{t.shorter - s.compressed, s.extended - t.longer},
		Remedies: t.remedies(arr, m.point), Damping: t.brief(m.damper),
	}
}
