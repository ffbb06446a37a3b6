package httpapi

import (
	"bytes"
	"context"

	"github.com/labstack/echo/v4"

	"midstroke/internal/batch"
	"midstroke/internal/coverage"
	"midstroke/internal/drawing"
	"midstroke/internal/enum"
	"midstroke/internal/fault"
	"midstroke/internal/fit"
	"midstroke/internal/form"
	"midstroke/internal/limit"
	"midstroke/internal/unit"
	"midstroke/internal/wire"
)

// notWithMost is of a share beside a number of dampers.
const notWithMost fault.Code = "not_together.most_share"

const (
	// usualShare is what the set of dampers is to serve, unless the request says.
	usualShare = 0.9
	// coverageWork is how many steps the search for a better set takes at most, which is
	// about a second.
	coverageWork = 100_000_000
	// coverageStep is what a step of the choice costs, in rows. The turn is given to others
	// after each.
	coverageStep = 32
	mostChosen   = 10_000
	mostCovering = 1_000
)

var gradeNames = enum.Names[fit.Grade]{fit.Clear: "clear", fit.Tight: "tight", fit.Marginal: "marginal"}

// coverageQuery is what the query of POST /v1/coverage says.
type coverageQuery struct {
	batchQuery
	share float64
	most  int // 0 where a share is wanted
	worst fit.Grade
	media string
}

func readCoverageQuery(c echo.Context, q *query) (r coverageQuery, err error) {
	r.batchQuery = readBatchQuery(q)
	return r, r.readAim(c, q)
}

// readAim reads what is to be served, and how it is told.
func (r *coverageQuery) readAim(c echo.Context, q *query) (err error) {
	r.share, r.worst = usualShare, fit.Marginal
	if most, ok := form.Param(q.Query, "most", form.Whole(1, mostChosen)); ok {
		r.most = most
	}
	if share, ok := form.Param(q.Query, "share", form.Number(form.Span{Least: 0, Most: 1})); ok {
		if r.share = share; r.most > 0 {
			q.Fail("share", notWithMost)
		}
	}
	if grade, ok := form.Param(q.Query, "grade", form.Named(gradeNames)); ok {
		r.worst = grade
	}
	q.errorsAsText()
	if err := q.close(); err != nil {
		return err
	}
	r.media, err = accepted(c, typeCSV, typeSVG)
	return err
}

// postCoverage answers POST /v1/coverage: which of many requests a catalogue serves.
func (h *Handler) postCoverage(c echo.Context) error {
	q, err := parseQuery(c.Request().URL.RawQuery)
	if err != nil {
		return err
	}
	asked, err := readCoverageQuery(c, q)
	if err != nil {
		return err
	}
	file, rows, err := h.receiveRows(c, mostBatchRows, mostBatch)
	if err != nil {
		return err
	}
	defer file.close()
	if err := h.charged(c, rows/rowsPerToken); err != nil {
		return err
	}
	now, err := h.hold(c, asked.named)
	if err != nil {
		return err
	}
	config := h.rowsConfig(c, &asked.batchQuery, now)
	config.Own = []string{batch.WeightColumn}
	b, err := batch.Open(file.table(), config)
	if err != nil {
		return rowsProblem(err)
	}
	defer func() { _ = b.Close() }() // it was only read
	demands, err := b.Demands(c.Request().Context(), asked.worst)
	if err != nil {
		return h.orTurnedAway(c, err)
	}
	return h.answerCoverage(c, &asked, demands, now)
}

// answerCoverage chooses what to stock for demands, and sends it.
func (h *Handler) answerCoverage(c echo.Context, asked *coverageQuery, demands *batch.Demands, now held) error {
	language := h.language(c.Request())
	answer := &wire.Coverage{Units: demands.Units, From: now.edition()}
	steps := turnSteps{turns: h.limits.turns[batches], ctx: c.Request().Context(), who: payer(c)}
	if steps.next() {
		fillCoverage(answer, demands, asked, now, steps.next)
	}
	if err := steps.end(); err != nil {
		return h.orTurnedAway(c, err)
	}
	rep := representation{contentType: contentTypeOf(asked.media), language: language, vary: varyAnswer}
	switch asked.media {
	case typeCSV:
		rep.body = wire.AppendCoverageCSV(nil, answer)
	case typeSVG:
		var picture bytes.Buffer
		if err := drawing.HeatMap(&picture, &answer.Gaps, answer.Units, language); err != nil {
			return err
		}
		rep.body = picture.Bytes()
	default:
		rep.body = wire.AppendCoverage(nil, answer)
	}
	return send(c, rep)
}

// turnSteps is long work in steps, each of which waits for its turn.
type turnSteps struct {
	turns *limit.Turns
	ctx   context.Context
	who   string
	held  bool
	err   error
}

// next gives the turn to others and waits for it again. It is false where the work isn't to
// go on.
func (t *turnSteps) next() bool {
	if t.held {
		t.turns.Done()
	}
	t.err = t.turns.Take(t.ctx, t.who, coverageStep)
	t.held = t.err == nil
	return t.held
}

// end gives the turn back, and says why the work didn't come to its end.
func (t *turnSteps) end() error {
	if t.held {
		t.turns.Done()
	}
	return t.err
}

// fillCoverage computes the answer.
func fillCoverage(a *wire.Coverage, d *batch.Demands, asked *coverageQuery, now held, pause func() bool) {
	effort := coverage.Effort{Work: coverageWork, Pause: pause}
	if a.Units == unit.Unset {
		a.Units = unit.Millimetres
	}
	a.Rows, a.Unclear, a.Faulty = d.Rows, d.Unclear, d.Faulty
	a.Share, a.Gaps = coverage.ShareOf(d.Demands), coverage.MapOf(d.Points, a.Units)
	for _, e := range d.Ends {
		a.Ends = append(a.Ends, wire.CoveredEnds(e))
	}
	for _, f := range d.Faults {
		a.Faults = append(a.Faults, wire.CoverageFault{Line: f.Line, Codes: f.Codes, Text: f.Text})
	}
	dampers := now.Snapshot.Dampers()
	alone := coverage.EachAlone(d.Demands)
	a.More = len(alone) > mostCovering
	for _, one := range alone[:min(len(alone), mostCovering)] {
		a.Dampers = append(a.Dampers, wire.CoveringDamper{Code: dampers[one.Damper].Code, InStock: dampers[one.Damper].InStock, Serves: one.Serves, Only: one.Only})
	}
	if asked.most > 0 {
		a.Most = asked.most
		a.Set = coverage.Best(d.Demands, asked.most, effort)
	} else {
		a.Wanted = coverage.Part(a.Share.Total, asked.share)
		a.Set = coverage.Smallest(d.Demands, a.Wanted, effort)
	}
	for _, one := range a.Set.Chosen {
		damper := &dampers[one.Damper]
		a.Chosen = append(a.Chosen, wire.ChosenDamper{Code: damper.Code, InStock: damper.InStock, Adds: one.Adds})
		if !damper.InStock {
			a.Order = append(a.Order, damper.Code)
		}
	}
}
