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
	"midstroke/internal/note"
)

//go:embed docs/reference.html docs/start.js docs/reference.js.gz docs/page.css docs/*/*.html docs/*/*.json
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
	problems, codes    map[string][]byte // by language
}

// contractJSON is converted once: the contract is built in.
var contractJSON = sync.OnceValues(api.JSON)

func loadDocuments(languages []string) (*documents, error) {
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
	if d.problems, err = problemPages(languages); err != nil {
		return nil, err
	}
	d.codes, err = codePages(languages)
	return d, err
}

// problemPages makes the page that explains the problems in each language.
func problemPages(languages []string) (map[string][]byte, error) {
	type explained struct {
		Name           string
		Status         int
		Title, Meaning string
	}
	return pages("problems.html", languages, func(lang string) (any, error) {
		all := make([]explained, len(kinds))
		for i, k := range kinds {
			all[i] = explained{string(k.name), k.status, note.ProblemTitle(lang, string(k.name)), note.ProblemMeaning(lang, string(k.name))}
		}
		return all, nil
	})
}

// pages makes a page in each language from that language's template.
func pages(name string, languages []string, content func(lang string) (any, error)) (map[string][]byte, error) {
	style, err := docsFiles.ReadFile("docs/page.css")
	if err != nil {
		return nil, err
	}
	made := make(map[string][]byte, len(languages))
	for _, lang := range languages {
		page, err := template.ParseFS(docsFiles, "docs/"+lang+"/"+name)
		if err != nil {
			return nil, err
		}
		items, err := content(lang)
		if err != nil {
			return nil, err
		}
		var b bytes.Buffer
		if err := page.Execute(&b, struct {
			Style template.CSS
			Items any
		}{template.CSS(style), items}); err != nil {
			return nil, fmt.Errorf("the page %s in %s: %w", name, lang, err)
		}
		made[lang] = b.Bytes()
	}
	return made, nil
}

func (h *Handler) openapiYAML(c echo.Context) error {
	return send(c, representation{contentType: typeYAML, vary: "Origin", body: h.docs.yaml})
}

func (h *Handler) openapiJSON(c echo.Context) error {
	return send(c, representation{contentType: typeJSON, vary: "Origin", body: h.docs.json})
}

func (h *Handler) reference(c echo.Context) error {
	return page(c, cspReference, representation{language: "en", body: h.docs.reference})
}

func (h *Handler) problemsPage(c echo.Context) error {
	return h.translatedPage(c, h.docs.problems)
}

// translatedPage sends a page in the language that the request asks for.
func (h *Handler) translatedPage(c echo.Context, inLanguage map[string][]byte) error {
	language := h.language(c.Request())
	return page(c, cspPlain, representation{language: language, vary: "Accept-Language", body: inLanguage[language]})
}

func page(c echo.Context, csp string, rep representation) error {
	header := c.Response().Header()
	header.Set("Content-Security-Policy", csp)
	header.Set("Referrer-Policy", "no-referrer")
	rep.contentType = contentTypeOf(typeHTML)
	return send(c, rep)
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
