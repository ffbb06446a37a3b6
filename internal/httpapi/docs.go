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

//go:embed docs/reference.html docs/page.css docs/*/*.html docs/*/*.json
var docsFiles embed.FS

// The pages of the documents load nothing, and have their style within.
const cspPlain = "default-src 'none'; style-src 'unsafe-inline'; img-src data:; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"

// The documents never change while the process runs. Each is made when it is first
// asked for, because together they would hold up the start for a third of a second.
var (
	contractYAML = sync.OnceValues(func() (*fixed, error) { return newFixed(api.YAML), nil })
	contractJSON = sync.OnceValues(func() (*fixed, error) {
		raw, err := api.JSON()
		return newFixed(raw), err
	})
	cataloguePage = sync.OnceValues(func() (map[string]*fixed, error) { return cataloguePages(note.Languages()) })
	problemsPage  = sync.OnceValues(func() (map[string]*fixed, error) { return problemPages(note.Languages()) })
	codesPage     = sync.OnceValues(func() (map[string]*fixed, error) { return codePages(note.Languages()) })
)

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

// cataloguePages makes the page that explains the columns of a catalogue's files in each
// language.
func cataloguePages(languages []string) (map[string]*fixed, error) {
	return pages("catalogue.html", languages, func(lang string) (any, error) { return table.Sheets(lang), nil })
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

// document sends what made gives, to pages of every origin.
func document(contentType string, made func() (*fixed, error)) echo.HandlerFunc {
	return func(c echo.Context) error {
		text, err := made()
		if err != nil {
			return err
		}
		return send(c, representation{contentType: contentType, vary: "Origin", fixed: text})
	}
}

// englishPage sends the page that made gives, which is in English as the contract is.
func englishPage(made func() (*fixed, error)) echo.HandlerFunc {
	return func(c echo.Context) error {
		text, err := made()
		if err != nil {
			return err
		}
		return page(c, representation{language: "en", fixed: text})
	}
}

// translatedPage sends a page in the language that the request asks for. made gives it
// by language.
func (h *Handler) translatedPage(made func() (map[string]*fixed, error)) echo.HandlerFunc {
	return func(c echo.Context) error {
		texts, err := made()
		if err != nil {
			return err
		}
		language := h.language(c.Request())
		return page(c, representation{language: language, vary: "Accept-Language", fixed: texts[language]})
	}
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
