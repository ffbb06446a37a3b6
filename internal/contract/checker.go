// Package contract checks requests and their answers against the OpenAPI document, in
// the tests of package httpapi and in a service that runs with --check-contract. It
// reports where something differs and what the document says there, but never a
// caller's own values.
package contract

import (
	"context"
	"net/http"
	"net/url"
	"strings"

	"github.com/getkin/kin-openapi/openapi3"
	"github.com/getkin/kin-openapi/openapi3filter"
	"github.com/getkin/kin-openapi/routers"

	"midstroke/api"
)

// Checker compares exchanges with the document. It is safe for concurrent use.
type Checker struct {
	document *openapi3.T
	// keyNames are the parameters of the query that may hold a key.
	keyNames map[string]bool
	// members are the names that the document's schemas give to members.
	members map[string]bool
	// shortcut spares most bodies the library's check.
	shortcut shortcut
}

// New makes a Checker. It fails only where the document, which is built in,
// can't be read.
func New() (*Checker, error) {
	registerDecoders()
	document, err := api.Load()
	if err != nil {
		return nil, err
	}
	members, err := memberNames()
	if err != nil {
		return nil, err
	}
	shortcut, err := newShortcut(document)
	if err != nil {
		return nil, err
	}
	c := &Checker{document: document, keyNames: map[string]bool{}, members: members, shortcut: shortcut}
	for _, scheme := range document.Components.SecuritySchemes {
		if scheme.Value.In == openapi3.ParameterInQuery {
			c.keyNames[scheme.Value.Name] = true
		}
	}
	return c, nil
}

// Exchange is a request and its answer.
type Exchange struct {
	Request *http.Request
	// RequestBody is the body. The one in Request isn't read. Nil means that the body
	// isn't known and isn't checked.
	RequestBody []byte
	Status      int
	Header      http.Header
	// Body is that of the answer; nil where it isn't known, and then it isn't
	// checked.
	Body []byte
}

// Refused says whether the service answered the request with a fault.
func (e *Exchange) Refused() bool {
	asText := e.Request.URL.Query().Get("errors") == "text" && mediaType(e.Header) == "text/plain"
	return e.Status >= http.StatusMultipleChoices || asText
}

// CheckRequest gives the differences between a request and the document.
func (c *Checker) CheckRequest(e *Exchange) []Difference {
	input, found := c.prepare(e)
	if input == nil {
		if e.Status == http.StatusNotFound || e.Status == http.StatusMethodNotAllowed {
			found.addUnknownRoute(Request)
		}
		return found.list
	}
	if c.shortcut.passesRequest(input, e.RequestBody) {
		input.Options.ExcludeRequestBody = true
	}
	found.addRequest(openapi3filter.ValidateRequest(context.Background(), input))
	found.checkParameterNames(input.Route)
	return found.list
}

// CheckAnswer gives the differences between an answer and the document.
func (c *Checker) CheckAnswer(e *Exchange) []Difference {
	input, found := c.prepare(e)
	if input == nil {
		if e.Status != http.StatusNotFound && e.Status != http.StatusMethodNotAllowed {
			found.addUnknownRoute(Answer)
		}
		return found.list
	}
	answer := &openapi3filter.ResponseValidationInput{
		RequestValidationInput: input, Status: e.Status, Header: e.Header, Options: input.Options,
	}
	body, err := decoded(e.Header, e.Body)
	if err != nil {
		found.add(Answer, Difference{Reason: "the body isn't in its Content-Encoding"})
		return found.list
	}
	answer.SetBodyBytes(body)
	if c.shortcut.passesAnswer(answer, body) {
		answer.Options.ExcludeResponseBody = true
	}
	found.addAnswer(openapi3filter.ValidateResponse(context.Background(), answer))
	return found.list
}

// prepare gives what the library takes; nil where the document has no such
// operation.
func (c *Checker) prepare(e *Exchange) (*openapi3filter.RequestValidationInput, *found) {
	found := &found{checker: c, exchange: e}
	route, params := c.route(e.Request)
	if route == nil {
		return nil, found
	}
	found.path = route.Path
	return &openapi3filter.RequestValidationInput{
		Request: withBody(e.Request, e.RequestBody), PathParams: params, Route: route,
		Options: &openapi3filter.Options{
			MultiError: true, SkipSettingDefaults: true, IncludeResponseStatus: true,
			AuthenticationFunc: openapi3filter.NoopAuthenticationFunc,
			ExcludeRequestBody: e.RequestBody == nil, ExcludeResponseBody: e.Body == nil,
		},
	}, found
}

// route finds the operation of a request, nil where there is none. Where the
// document has no HEAD, it is what RFC 9110 makes of GET.
func (c *Checker) route(r *http.Request) (*routers.Route, map[string]string) {
	for path, item := range c.document.Paths.Map() {
		params, ok := match(path, r.URL.EscapedPath())
		if !ok {
			continue
		}
		operation := item.GetOperation(r.Method)
		if operation == nil && r.Method == http.MethodHead {
			operation = item.Get
		}
		if operation != nil {
			return &routers.Route{Spec: c.document, Path: path, PathItem: item, Method: r.Method, Operation: operation}, params
		}
	}
	return nil, nil
}

// match compares a path, in which values are still escaped, with one of the
// document's, and gives the values of the names in braces.
func match(template, path string) (map[string]string, bool) {
	want, got := strings.Split(template, "/"), strings.Split(path, "/")
	if len(want) != len(got) {
		return nil, false
	}
	params := map[string]string{}
	for i, segment := range want {
		if name, ok := strings.CutPrefix(segment, "{"); ok && got[i] != "" {
			value, err := url.PathUnescape(got[i])
			if err != nil {
				value = got[i]
			}
			params[strings.TrimSuffix(name, "}")] = value
		} else if segment != got[i] {
			return nil, false
		}
	}
	return params, true
}

// PageLoads says whether a path is that of a script or a style sheet of the
// service's own pages, which are no part of the contract.
func PageLoads(path string) bool {
	for _, page := range []string{"/widget/counter.", "/widget/sheet.", "/widget/batch."} {
		if strings.HasPrefix(path, page) && (strings.HasSuffix(path, ".js") || strings.HasSuffix(path, ".css")) {
			return true
		}
	}
	return false
}
