package httpapi

import (
	"errors"
	"slices"

	"github.com/labstack/echo/v4"

	"midstroke/internal/fault"
	"midstroke/internal/fit"
	"midstroke/internal/wire"
)

// postFits answers POST /v1/fits.
func (h *Handler) postFits(c echo.Context) error {
	s := h.scratch()
	defer h.release(s)
	q, err := parseQuery(c.Request().URL.RawQuery)
	if err != nil {
		return err
	}
	show, rest, shown := wire.ReadShow(q.values)
	shown = append(shown, unknownParameters(rest)...)
	media, err := fitsMedia(c, show)
	if err != nil {
		return err
	}
	if err := readBody(c.Response().Writer, c.Request(), &s.in); err != nil {
		return err
	}
	request, err := wire.ReadFits(s.in.Bytes())
	if err := together(shown, err); err != nil {
		return err
	}
	return h.fits(c, s, &request, show, media)
}

// getFits answers GET and HEAD of /v1/fits: the same in flat names.
func (h *Handler) getFits(c echo.Context) error {
	s := h.scratch()
	defer h.release(s)
	q, err := parseQuery(c.Request().URL.RawQuery)
	if err != nil {
		return err
	}
	show, rest, shown := wire.ReadShow(q.values)
	media, err := fitsMedia(c, show)
	if err != nil {
		return err
	}
	request, err := wire.ReadFitsQuery(rest)
	if err := together(shown, err); err != nil {
		return err
	}
	return h.fits(c, s, &request, show, media)
}

// fits finds and writes the answer to a request that has been read.
func (h *Handler) fits(c echo.Context, s *scratch, request *wire.FitsRequest, show wire.Show, media string) error {
	where := inBody
	if request.Flat() {
		where = inQuery
	}
	request.Fit.Top = max(request.Fit.Top, show.Rank) // enough of them for the rank that is picked
	now, err := h.hold(c, named{request.Catalog, request.Revision, where})
	if err != nil {
		return err
	}
	answer, found := fit.Find(&request.Fit, now.Snapshot)
	if len(found) > 0 {
		return request.Place(found)
	}
	language := h.language(c.Request())
	rep := representation{contentType: contentTypeOf(media), language: language, vary: varyAnswer}
	switch media {
	case typeCSV:
		s.out = wire.AppendFitsCSV(s.out, answer, request, now.edition(), language)
	case typeText:
		value, err := wire.PickFits(answer, request, now.edition(), language, show)
		if err != nil {
			return err
		}
		s.out = append(s.out, value...)
	default:
		s.out = wire.AppendFits(s.out, answer, request, now.edition(), language)
	}
	rep.body = s.out
	return send(c, rep)
}

// fitsMedia picks how fits are written: as the query says, else as Accept
// does.
func fitsMedia(c echo.Context, show wire.Show) (string, error) {
	switch show.Format {
	case wire.JSON:
		return typeJSON, nil
	case wire.CSV:
		return typeCSV, nil
	case wire.Text:
		return typeText, nil
	case wire.Unstated:
	}
	return accepted(c, typeCSV)
}

// together joins the faults of how an answer is to be shown with those of what
// is asked. What isn't JSON at all comes first.
func together(shown fault.List, err error) error {
	var refused *wire.Refused
	switch {
	case len(shown) == 0:
		return err
	case err == nil:
		return shown
	case errors.As(err, &refused):
		return &wire.Refused{Faults: slices.Concat(shown, refused.Faults), Units: refused.Units}
	}
	return err
}
