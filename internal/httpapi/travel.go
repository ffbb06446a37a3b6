package httpapi

import (
	"bytes"

	"github.com/labstack/echo/v4"

	"midstroke/internal/drawing"
	"midstroke/internal/fault"
	"midstroke/internal/linkage"
	"midstroke/internal/wire"
)

// postTravel answers POST /v1/travel: the figures, or a drawing of them.
func (h *Handler) postTravel(c echo.Context) error {
	s := h.scratch()
	defer h.release(s)
	if err := plainQuery(c); err != nil {
		return err
	}
	media, err := accepted(c, typeSVG)
	if err != nil {
		return err
	}
	if err := readBody(c.Response().Writer, c.Request(), &s.in); err != nil {
		return err
	}
	request, err := wire.ReadTravel(s.in.Bytes())
	if err != nil {
		return err
	}
	var travel *linkage.Travel
	if err := h.inTurn(c, quick, 1, func() (err error) {
		travel, err = solve(&request)
		return err
	}); err != nil {
		return err
	}
	language := h.language(c.Request())
	rep := representation{contentType: media, language: language, vary: varyAnswer}
	if media == typeSVG {
		var b bytes.Buffer
		if err := drawing.Travel(&b, travel, request.Units, language); err != nil {
			return err
		}
		rep.body = b.Bytes()
		return send(c, rep)
	}
	s.out = wire.AppendTravel(s.out, travel, &request, language)
	rep.body = s.out
	return send(c, rep)
}

// solve works the linkage out over the range that is asked for.
func solve(request *wire.TravelRequest) (*linkage.Travel, error) {
	l, found := linkage.New(request.Linkage)
	if len(found) > 0 {
		var faults fault.List
		faults.AddUnder("/linkage", found)
		return nil, request.Place(faults)
	}
	travel, found := l.Travel(request.Options)
	if len(found) > 0 {
		return nil, request.Place(found)
	}
	return travel, nil
}
