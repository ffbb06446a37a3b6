package httpapi

import (
	"github.com/labstack/echo/v4"

	"midstroke/internal/mount"
	"midstroke/internal/wire"
)

// postHardware answers POST /v1/hardware.
func (h *Handler) postHardware(c echo.Context) error {
	s := h.scratch()
	defer h.release(s)
	if err := plainQuery(c); err != nil {
		return err
	}
	if _, err := accepted(c); err != nil {
		return err
	}
	if err := readBody(c.Response().Writer, c.Request(), &s.in); err != nil {
		return err
	}
	request, err := wire.ReadHardware(s.in.Bytes())
	if err != nil {
		return err
	}
	now, err := h.hold(c, named{catalog: request.Catalog, revision: request.Revision, where: inBody})
	if err != nil {
		return err
	}
	language := h.language(c.Request())
	if err := h.inTurn(c, quick, 1, func() error {
		shelf := now.Snapshot.Shelf()
		if p := request.Parts; p != nil {
			// What the caller has on the bench, by the clearances of the
			// catalogue, which the answer names for their sake.
			shelf = mount.NewShelf(p.Sleeves, p.Spacers, p.Adapters, shelf.Limits())
		}
		result := shelf.BoltUpAs(request.End, request.Style, request.Bracket, request.Options)
		s.out = wire.AppendHardware(s.out, &result, &request, now.edition(), language)
		return nil
	}); err != nil {
		return err
	}
	return send(c, representation{contentType: typeJSON, language: language, vary: varyAnswer, body: s.out})
}
