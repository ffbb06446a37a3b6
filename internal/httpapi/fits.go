package httpapi

import (
	"bytes"
	"context"
	"errors"
	"slices"

	"github.com/labstack/echo/v4"
	"go.opentelemetry.io/otel/attribute"

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
	if err := joinFaults(shown, err); err != nil {
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
	if err := joinFaults(shown, err); err != nil {
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
	// The first token was taken before the request was read.
	if err := h.charged(c, fitsTokens(&request.Fit)-1); err != nil {
		return err
	}
	ctx := c.Request().Context()
	done := h.step(ctx, "take the snapshot")
	now, err := h.hold(c, named{catalog: request.Catalog, revision: request.Revision, where: where})
	done()
	if err != nil {
		return err
	}
	now = h.withStock(c, now)
	language := h.language(c.Request())
	rep := representation{contentType: contentTypeOf(media), language: language, vary: varyAnswer}
	key := answerKey{now.Snapshot.Serial(), now.Stale, media, language, c.Request().URL.RawQuery, s.in.String()}
	found, hash, again := h.answers.find(key)
	if found == nil {
		cost := fitsCost(&request.Fit, len(now.Snapshot.Dampers()))
		if err := h.inTurn(c, laneOf(cost), cost, func() (err error) {
			s.out, err = h.appendFits(ctx, s.out, request, now, show, media, language)
			return err
		}); err != nil {
			return err
		}
		if again && len(s.out) <= mostRemembered {
			found = h.answers.remember(hash, key, bytes.Clone(s.out))
		}
	}
	if rep.body = s.out; found != nil {
		rep.body, rep.tag = found.body, found.tag
	}
	return send(c, rep)
}

// appendFits finds an answer and appends it as it is to be shown.
func (h *Handler) appendFits(ctx context.Context, dst []byte, request *wire.FitsRequest, now held, show wire.Show, media, language string) ([]byte, error) {
	done := h.step(ctx, "find the fits", attribute.Int("midstroke.dampers", len(now.Snapshot.Dampers())))
	answer, found := fit.Find(&request.Fit, now.Snapshot)
	done()
	defer h.step(ctx, "write the answer")()
	if len(found) > 0 {
		return dst, request.Place(found)
	}
	switch media {
	case typeCSV:
		return wire.AppendFitsCSV(dst, answer, request, now.edition(), language), nil
	case typeText:
		value, err := wire.PickFits(answer, request, now.edition(), language, show)
		return append(dst, value...), err
	case typeSVG:
		return appendPicture(dst, answer, request, show, language)
	}
	return wire.AppendFits(dst, answer, request, now.edition(), language), nil
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
	case wire.SVG:
		return typeSVG, nil
	case wire.Unstated:
	}
	return accepted(c, typeCSV, typeSVG)
}

// joinFaults adds the faults of the parameters that say how the answer is shown to the
// error of the request itself. An error that isn't a list of faults, such as one of
// JSON syntax, is returned alone.
func joinFaults(shown fault.List, err error) error {
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
