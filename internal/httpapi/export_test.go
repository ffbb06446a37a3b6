package httpapi

import (
	"maps"
	"slices"

	"github.com/labstack/echo/v4"
)

// Routes lists what the router knows, as "METHOD /path/{param}".
func (h *Handler) Routes() []string {
	set := map[string]bool{}
	for _, r := range h.router.Routes() {
		set[r.Method+" "+bracedPath(r.Path)] = true
	}
	return slices.Sorted(maps.Keys(set))
}

// bracedPath writes the router's :param as OpenAPI writes it.
func bracedPath(path string) string {
	var b []byte
	for i := 0; i < len(path); i++ {
		if path[i] != ':' {
			b = append(b, path[i])
			continue
		}
		end := i + 1
		for end < len(path) && path[end] != '/' {
			end++
		}
		b = append(b, '{')
		b = append(b, path[i+1:end]...)
		b = append(b, '}')
		i = end - 1
	}
	return string(b)
}

// AddBroken adds a route whose handler panics.
func (h *Handler) AddBroken(path string) {
	h.router.GET(path, func(echo.Context) error { panic("broken on purpose") })
}
