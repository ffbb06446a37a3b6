package httpapi

import (
	"bytes"
	"compress/gzip"
	"embed"
	"fmt"
	"html/template"
	"io"
	"sync"

	"github.com/labstack/echo/v4"

	"midstroke/api"
)

//go:embed docs/reference.html docs/start.js docs/reference.js.gz docs/problems.html
var docsFiles embed.FS

// The pages load what is served here and nothing else. The viewer of the
// reference writes style elements and attributes of its own.
const (
	cspPlain     = "default-src 'none'; style-src 'unsafe-inline'; img-src data:; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
	cspReference = "default-src 'none'; script-src 'self'; style-src 'unsafe-inline'; img-src 'self' data: blob:; font-src data:; connect-src 'self'; worker-src blob:; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
)

// documents are the texts that never change while the process runs.
type documents struct {
	yaml, json         []byte
	reference, startJS []byte
	viewerZipped       []byte
	problems           []byte
}

// contractJSON is converted once: the contract is built in.
var contractJSON = sync.OnceValues(api.JSON)

func loadDocuments() (*documents, error) {
	d := &documents{yaml: api.YAML}
	var err error
	if d.json, err = contractJSON(); err != nil {
		return nil, err
	}
	for name, to := range map[string]*[]byte{
		"reference.html": &d.reference, "start.js": &d.startJS, "reference.js.gz": &d.viewerZipped,
	} {
		if *to, err = docsFiles.ReadFile("docs/" + name); err != nil {
			return nil, err
		}
	}
	page, err := template.ParseFS(docsFiles, "docs/problems.html")
	if err != nil {
		return nil, err
	}
	var b bytes.Buffer
	if err := page.Execute(&b, kinds[:]); err != nil {
		return nil, fmt.Errorf("the page of problems: %w", err)
	}
	d.problems = b.Bytes()
	return d, nil
}

func (h *Handler) openapiYAML(c echo.Context) error {
	return send(c, representation{contentType: typeYAML, vary: "Origin", body: h.docs.yaml})
}

func (h *Handler) openapiJSON(c echo.Context) error {
	return send(c, representation{contentType: typeJSON, vary: "Origin", body: h.docs.json})
}

func (h *Handler) reference(c echo.Context) error {
	return page(c, cspReference, h.docs.reference)
}

func (h *Handler) problemsPage(c echo.Context) error {
	return page(c, cspPlain, h.docs.problems)
}

func page(c echo.Context, csp string, body []byte) error {
	header := c.Response().Header()
	header.Set("Content-Security-Policy", csp)
	header.Set("Referrer-Policy", "no-referrer")
	return send(c, representation{contentType: contentTypeOf(typeHTML), language: "en", body: body})
}

func (h *Handler) startScript(c echo.Context) error {
	return send(c, representation{contentType: contentTypeOf(typeScript), body: h.docs.startJS})
}

// viewerScript sends the viewer as it is kept, compressed, to whoever reads
// that, and unpacks it for the rest.
func (h *Handler) viewerScript(c echo.Context) error {
	rep := representation{contentType: contentTypeOf(typeScript), vary: "Accept-Encoding", body: h.docs.viewerZipped}
	if acceptsGzip(c.Request().Header.Get("Accept-Encoding")) {
		c.Response().Header().Set("Content-Encoding", "gzip")
		return send(c, rep)
	}
	unzipped, err := gzip.NewReader(bytes.NewReader(h.docs.viewerZipped))
	if err != nil {
		return err
	}
	if rep.body, err = io.ReadAll(unzipped); err != nil {
		return err
	}
	return send(c, rep)
}

// acceptsGzip reads an Accept-Encoding field (RFC 9110 section 12.5.3).
func acceptsGzip(field string) bool {
	whatever := false
	for _, coding := range acceptRanges(field) {
		switch coding.value {
		case "gzip":
			return coding.quality > 0
		case "*":
			whatever = coding.quality > 0
		}
	}
	return whatever
}

// metricsPage writes the metrics for a monitoring system to scrape.
func (h *Handler) metricsPage(c echo.Context) error {
	c.Response().Header().Set("Cache-Control", "no-store")
	h.metrics.handler().ServeHTTP(c.Response(), c.Request())
	return nil
}
