package httpapi

import (
	"bytes"
	"embed"
	"fmt"
	"html/template"
	"sync"

	"github.com/labstack/echo/v4"

	"midstroke/api"
	"midstroke/internal/note"
	"midstroke/internal/table"
)

//go:embed docs/reference.html docs/catalogue.html docs/page.css docs/*/*.html docs/*/*.json
var docsFiles embed.FS

// The pages of the documents load nothing, and have their style within.
const cspPlain = "default-src 'none'; style-src 'unsafe-inline'; img-src data:; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"

// documents are the texts that never change while the process runs.
type documents struct {
	yaml, json      *fixed
	reference       *fixed
	catalogue       *fixed            // in English, as the contract is
	problems, codes map[string]*fixed // by language
}

// contractJSON is converted once: the contract is built in.
var contractJSON = sync.OnceValues(api.JSON)

func loadDocuments(languages []string) (*documents, error) {
	d := &documents{yaml: newFixed(api.YAML)}
	raw, err := contractJSON()
	if err != nil {
		return nil, err
	}
	d.json = newFixed(raw)
	if d.reference, err = referencePage(); err != nil {
		return nil, err
	}
	if d.catalogue, err = cataloguePage(); err != nil {
		return nil, err
	}
	if d.problems, err = problemPages(languages); err != nil {
		return nil, err
	}
	d.codes, err = codePages(languages)
	return d, err
}

// problemPages makes the page that explains the problems in each language.
func problemPages(languages []string) (map[string]*fixed, error) {
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
func pages(name string, languages []string, content func(lang string) (any, error)) (map[string]*fixed, error) {
	made := make(map[string]*fixed, len(languages))
	for _, lang := range languages {
		items, err := content(lang)
		if err != nil {
			return nil, err
		}
		if made[lang], err = filled("docs/"+lang+"/"+name, items); err != nil {
			return nil, err
		}
	}
	return made, nil
}

// cataloguePage makes the page about the files of a catalogue.
func cataloguePage() (*fixed, error) { return filled("docs/catalogue.html", table.Sheets()) }

// filled makes a page from a template, with the style of all pages.
func filled(name string, items any) (*fixed, error) {
	style, err := docsFiles.ReadFile("docs/page.css")
	if err != nil {
		return nil, err
	}
	page, err := template.ParseFS(docsFiles, name)
	if err != nil {
		return nil, err
	}
	var b bytes.Buffer
	if err := page.Execute(&b, struct {
		Style template.CSS
		Items any
	}{template.CSS(style), items}); err != nil {
		return nil, fmt.Errorf("the page %s: %w", name, err)
	}
	return newFixed(b.Bytes()), nil
}

func (h *Handler) openapiYAML(c echo.Context) error {
	return send(c, representation{contentType: typeYAML, vary: "Origin", fixed: h.docs.yaml})
}

func (h *Handler) openapiJSON(c echo.Context) error {
	return send(c, representation{contentType: typeJSON, vary: "Origin", fixed: h.docs.json})
}

func (h *Handler) reference(c echo.Context) error {
	return page(c, representation{language: "en", fixed: h.docs.reference})
}

func (h *Handler) cataloguePage(c echo.Context) error {
	return page(c, representation{language: "en", fixed: h.docs.catalogue})
}

func (h *Handler) problemsPage(c echo.Context) error {
	return h.translatedPage(c, h.docs.problems)
}

// translatedPage sends a page in the language that the request asks for.
func (h *Handler) translatedPage(c echo.Context, inLanguage map[string]*fixed) error {
	language := h.language(c.Request())
	return page(c, representation{language: language, vary: "Accept-Language", fixed: inLanguage[language]})
}

func page(c echo.Context, rep representation) error {
	header := c.Response().Header()
	header.Set("Content-Security-Policy", cspPlain)
	header.Set("Referrer-Policy", "no-referrer")
	rep.contentType = contentTypeOf(typeHTML)
	return send(c, rep)
}

// metricsPage writes the metrics for a monitoring system to scrape.
func (h *Handler) metricsPage(c echo.Context) error {
	c.Response().Header().Set("Cache-Control", "no-store")
	h.metrics.handler().ServeHTTP(c.Response(), c.Request())
	return nil
}
