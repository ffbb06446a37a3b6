package httpapi

import (
	"slices"
	"strconv"

	"github.com/labstack/echo/v4"

	"midstroke/internal/catalog"
	"midstroke/internal/damping"
	"midstroke/internal/drawing"
	"midstroke/internal/fault"
	"midstroke/internal/fit"
	"midstroke/internal/form"
	"midstroke/internal/note"
	"midstroke/internal/wire"
)

// postRates answers POST /v1/rates: the figures as JSON, the dampers as CSV, or a
// drawing.
func (h *Handler) postRates(c echo.Context) error {
	s := h.scratch()
	defer h.release(s)
	q, err := parseQuery(c.Request().URL.RawQuery)
	if err != nil {
		return err
	}
	picture, _ := form.Param(q.Query, "drawing", form.Named(wire.Pictures)) // forces where none is asked for
	width, _ := form.Param(q.Query, "drawing_width", form.Named(wire.PictureWidths))
	q.errorsAsText()
	if err := q.close(); err != nil {
		return err
	}
	media, err := accepted(c, typeCSV, typeSVG)
	if err != nil {
		return err
	}
	if err := readBody(c.Response().Writer, c.Request(), &s.in); err != nil {
		return err
	}
	request, err := wire.ReadRates(s.in.Bytes())
	if err != nil {
		return err
	}
	now, err := h.hold(c, named{catalog: request.Catalog, revision: request.Revision, where: inBody})
	if err != nil {
		return err
	}
	language := h.language(c.Request())
	cost := ratesCost(&request, now.Snapshot)
	if err := h.inTurn(c, laneOf(cost), cost, func() (err error) {
		s.out, err = appendRates(s.out, &request, now, media, wire.Show{Picture: picture, Width: width}, language)
		return err
	}); err != nil {
		return err
	}
	return send(c, representation{contentType: contentTypeOf(media), language: language, vary: varyAnswer, body: s.out})
}

// ratesCost is what an answer costs: that of a fit for some hundred different force
// tables, or for each so many dampers that are put in order.
func ratesCost(r *wire.RatesRequest, s *catalog.Snapshot) int {
	const tables, dampers = 100, 10_000
	if len(r.Codes) > 0 {
		return 1
	}
	return 1 + len(s.ForceTables())/tables + len(s.Dampers())/dampers
}

// appendRates works out an answer and appends it as it is to be shown.
func appendRates(dst []byte, request *wire.RatesRequest, now held, media string, show wire.Show, language string) ([]byte, error) {
	places, faults := placesOf(request.Codes, now.Snapshot)
	answer, found := request.Question.Answer()
	if faults = append(faults, found...); len(faults) > 0 {
		return dst, request.Place(faults)
	}
	rater, found := damping.NewRater(&request.Question)
	if len(found) > 0 {
		return dst, request.Place(found)
	}
	whole := wire.RatesAnswer{Answer: &answer}
	if len(places) > 0 {
		whole.Covering = now.Snapshot.CoveringOf(rater, places)
	} else {
		whole.Covering = now.Snapshot.Covering(rater, request.Top)
	}
	answer.Cautions = append(answer.Cautions, beyondTables(whole.Covering.Dampers)...)
	answer.Cautions = append(answer.Cautions, damping.GasNeverSettles(unrated(whole.Covering.Dampers))...)
	switch media {
	case typeCSV:
		return wire.AppendRatesCSV(dst, &whole, request, now.edition(), language), nil
	case typeSVG:
		d := drawing.Damping{Rater: rater, Candidates: candidates(whole.Covering.Dampers), Units: request.Units, Lang: language, Narrow: show.Width == wire.Narrow}
		return appendDrawing(dst, show.Picture, d)
	}
	return wire.AppendRates(dst, &whole, request, now.edition(), language), nil
}

// beyondTables warns where the force table of a listed damper ends below the velocities
// on the road.
func beyondTables(rated []catalog.Rated) []note.Note {
	damper, part := "", 0.0
	for i := range rated {
		if r := rated[i].Rating; r != nil && r.Start().Beyond > part {
			damper, part = rated[i].Damper.Code, r.Start().Beyond
		}
	}
	return damping.BeyondTables(damper, part)
}

// unrated are the listed dampers with a force table that nothing is told of.
func unrated(rated []catalog.Rated) (codes []string) {
	for i := range rated {
		if one := &rated[i]; one.Rating == nil && len(one.Damper.ForceTable().Curves) > 0 {
			codes = append(codes, one.Damper.Code)
		}
	}
	return codes
}

// candidates are the dampers of a picture: those with a force table.
func candidates(rated []catalog.Rated) []damping.Candidate {
	var list []damping.Candidate
	for i := range rated {
		if one := &rated[i]; one.Rating != nil {
			table := one.Damper.ForceTable()
			list = append(list, damping.Candidate{Name: one.Damper.Code, Table: &table, Rating: one.Rating})
		}
	}
	return list
}

// placesOf finds dampers by their codes, each once.
func placesOf(codes []string, s *catalog.Snapshot) (places []int32, faults fault.List) {
	for i, code := range codes {
		place, ok := s.Place(code)
		if !ok {
			faults.Add("/codes/"+strconv.Itoa(i), fit.UnknownCode, note.Word("catalog", s.Name()), note.Word("code", code))
			continue
		}
		if !slices.Contains(places, place) {
			places = append(places, place)
		}
	}
	return places, faults
}
