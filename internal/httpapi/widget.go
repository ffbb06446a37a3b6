package httpapi

import (
	"net/http"

	"github.com/labstack/echo/v4"

	"midstroke/internal/widget"
)

// cspPages lets the counter page and the sheet load what is served here and
// nothing else.
const cspPages = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"

// How long what browsers load may be kept. A path that names its version never
// changes; the web component's fixed path is asked again after five minutes,
// so that a shop's visitors get a new version soon and don't wait for a round
// trip on each page.
const (
	cacheForEver = "public, max-age=31536000, immutable"
	cacheShortly = "public, max-age=300"
)

// widgetRoutes adds the web component, the counter page and the sheet.
func (h *Handler) widgetRoutes(get func(path string, handle echo.HandlerFunc)) {
	get("/", h.webPage(h.widget.Counter))
	get("/sheet", h.webPage(h.widget.Sheet))
	get("/batch", h.webPage(h.widget.Batch))
	get(widget.ScriptPath, loaded(h.widget.Script, cacheShortly))
	get(widget.VersionPath(":hash"), h.widgetVersion())
	get(widget.ManifestPath, loaded(h.widget.Manifest, cacheRevalidate))
	for path, file := range h.widget.Beside {
		get(path, loaded(file, cacheRevalidate))
	}
}

// widgetVersion sends the web component by its version. A version that isn't
// this service's leads to the newest: a page that names one of yesterday goes
// on working, unless it also names that one's integrity, which the browser
// then holds it to.
func (h *Handler) widgetVersion() echo.HandlerFunc {
	present := loaded(h.widget.Script, cacheForEver)
	return func(c echo.Context) error {
		if c.Param("hash") != h.widget.Hash {
			c.Response().Header().Set("Cache-Control", "no-store")
			return c.Redirect(http.StatusFound, widget.ScriptPath)
		}
		return present(c)
	}
}

func (h *Handler) webPage(file widget.File) echo.HandlerFunc {
	send := loaded(file, cacheRevalidate)
	return func(c echo.Context) error {
		header := c.Response().Header()
		header.Set("Content-Security-Policy", cspPages)
		header.Set("Referrer-Policy", "no-referrer")
		return send(c)
	}
}

// loaded sends a file of the pages.
func loaded(file widget.File, cache string) echo.HandlerFunc {
	body := newFixed(file.Body)
	return func(c echo.Context) error {
		return send(c, representation{contentType: file.ContentType, vary: "Origin", cache: cache, fixed: body})
	}
}
