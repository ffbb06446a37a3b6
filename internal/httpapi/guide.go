package httpapi

import (
	"bytes"
	"strings"

	"github.com/labstack/echo/v4"

	"midstroke/internal/drawing"
	"midstroke/internal/form"
	"midstroke/internal/guide"
	"midstroke/internal/mount"
	"midstroke/internal/wire"
)

// getGuide answers GET /v1/guide: how to measure a pair of ends, or a drawing
// of what the tape is held to. It needs no catalogue.
func (h *Handler) getGuide(c echo.Context) error {
	q, err := parseQuery(c.Request().URL.RawQuery)
	if err != nil {
		return err
	}
	q.readUnits()
	g := q.guide()
	numbered, _ := form.Param(q.Query, "labels", form.Either("beside", "numbered"))
	figure, drawn := q.figure(&g)
	q.errorsAsText()
	if err := q.close(); err != nil {
		return err
	}
	media, err := accepted(c, typeSVG)
	if err != nil {
		return err
	}
	language := h.language(c.Request())
	rep := representation{contentType: media, language: language, vary: varyAnswer}
	if media == typeSVG {
		var b bytes.Buffer
		o := drawing.EndsOptions{Units: q.units, Lang: language, Numbered: numbered}
		if drawn {
			err = drawing.Figure(&b, figure, o)
		} else {
			err = drawing.Ends(&b, &g, o)
		}
		if err != nil {
			return err
		}
		rep.body = b.Bytes()
		return send(c, rep)
	}
	s := h.scratch()
	defer h.release(s)
	s.out = wire.AppendGuide(s.out, &g, q.units, language)
	rep.body = s.out
	return send(c, rep)
}

// guide reads the two ends and asks for their guide. What the core finds wrong
// is told of the parameter, unless it has a fault already.
func (q *query) guide() guide.Guide {
	g, found := guide.For(q.guideEnd("upper"), q.guideEnd("lower"))
	for _, f := range found {
		q.Fail(strings.TrimSuffix(strings.ReplaceAll(f.Pointer[1:], "/", "_"), "_style"), f.Code, f.Values...)
	}
	return g
}

// figure reads which figure's drawing is wanted; false for the drawing of the pair.
func (q *query) figure(g *guide.Guide) (guide.Figure, bool) {
	name, given := form.Param(q.Query, "figure", form.NameOf(guide.Figures()))
	if !given || g.Upper.Style == mount.NoStyle {
		return guide.Figure{}, false
	}
	f, found := g.FigureNamed(name)
	for _, fault := range found {
		q.Fail("figure", fault.Code, fault.Values...)
	}
	return f, len(found) == 0
}

func (q *query) guideEnd(name string) guide.End {
	var e guide.End
	e.Style, _ = form.Param(q.Query, name, form.Named(mount.Styles))
	e.Plane, _ = form.Param(q.Query, name+"_measured_to", form.Named(mount.Planes))
	return e
}
