package contract

import (
	"encoding/json"
	"errors"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"github.com/getkin/kin-openapi/openapi3"
	"github.com/getkin/kin-openapi/openapi3filter"
	"github.com/getkin/kin-openapi/routers"

	"midstroke/api"
)

// Side is the half of an exchange that differs.
type Side string

// The two sides.
const (
	Request Side = "request"
	Answer  Side = "answer"
)

// Difference is one way in which an exchange isn't as the document says.
type Difference struct {
	Side   Side
	Method string
	// Path is the document's, with names in braces; "" where it has none.
	Path   string
	Status int
	// Parameter names the parameter at fault, "" where it is the body or a
	// header field.
	Parameter string
	// Pointer is the place in the body or in the parameter's value, as RFC 6901
	// writes it. Names that aren't the document's are written as "*".
	Pointer string
	// Reason is what the document says, in its own words.
	Reason string
	// Refused is set on a request that the service refused as well.
	Refused bool
}

// found collects the differences of one exchange.
type found struct {
	checker  *Checker
	exchange *Exchange
	path     string
	list     []Difference
}

func (f *found) add(side Side, d Difference) {
	d.Side, d.Method, d.Path, d.Status = side, method(f.exchange.Request.Method), f.path, f.exchange.Status
	d.Refused = side == Request && f.exchange.Refused()
	if !slices.Contains(f.list, d) {
		f.list = append(f.list, d)
	}
}

// method is a method of HTTP; one that a caller made up isn't repeated.
func method(sent string) string {
	switch sent {
	case http.MethodGet, http.MethodHead, http.MethodPost, http.MethodPut, http.MethodPatch, http.MethodDelete, http.MethodOptions:
		return sent
	}
	return "*"
}

// addUnknownRoute is about a path, or a method on a path, that isn't in the
// document.
func (f *found) addUnknownRoute(side Side) {
	if r := f.exchange.Request; r.Method != http.MethodOptions && !PageLoads(r.URL.Path) {
		f.add(side, Difference{Reason: "the contract has no such path and method"})
	}
}

// checkParameterNames finds parameters of the query that the operation doesn't
// have, which the library lets pass. The pages take what they are given.
func (f *found) checkParameterNames(route *routers.Route) {
	if !strings.HasPrefix(route.Path, "/v1/") {
		return
	}
	for name := range f.exchange.Request.URL.Query() {
		if known := route.Operation.Parameters.GetByInAndName(openapi3.ParameterInQuery, name); known == nil && !f.checker.keyNames[name] {
			f.add(Request, Difference{Parameter: "*", Reason: "the contract has no such parameter"})
		}
	}
}

// addRequest takes apart what the library says of a request.
func (f *found) addRequest(err error) {
	switch e := err.(type) { //nolint:errorlint // each kind has a place of its own in the tree
	case nil:
	case openapi3.MultiError:
		for _, one := range e {
			f.addRequest(one)
		}
	case *openapi3filter.RequestError:
		name := ""
		if e.Parameter != nil {
			name = e.Parameter.Name
		}
		if f.addSchemaErrors(Request, name, e.Err) {
			return
		}
		f.add(Request, Difference{Parameter: name, Reason: requestReason(e)})
	default:
		f.add(Request, Difference{Reason: "the contract refuses it"})
	}
}

// requestReason words an error that no schema found. The library's own words
// may repeat what was sent.
func requestReason(e *openapi3filter.RequestError) string {
	switch {
	case errors.Is(e.Err, openapi3filter.ErrInvalidRequired):
		return "required"
	case errors.Is(e.Err, openapi3filter.ErrInvalidEmptyValue):
		return "may not be empty"
	case e.RequestBody != nil && e.Err == nil:
		return "the contract has no such media type"
	}
	return "can't be read as the contract's schema says"
}

// addAnswer takes apart what the library says of an answer. Its words name
// header fields, statuses and media types, which are the service's own.
func (f *found) addAnswer(err error) {
	if err == nil {
		return
	}
	var e *openapi3filter.ResponseError
	if !errors.As(err, &e) {
		f.add(Answer, Difference{Reason: "the contract has no such answer"})
		return
	}
	if strings.HasPrefix(e.Reason, "response body") && f.addSchemaErrors(Answer, "", e.Err) {
		return
	}
	f.add(Answer, Difference{Reason: e.Reason})
}

// addSchemaErrors adds the innermost of the errors that schemas found, and says
// whether there was any.
func (f *found) addSchemaErrors(side Side, parameter string, err error) bool {
	leaves := schemaErrors(nil, err)
	for _, leaf := range leaves {
		f.add(side, Difference{Parameter: parameter, Pointer: f.checker.pointer(leaf), Reason: reason(leaf)})
	}
	return len(leaves) > 0
}

// schemaErrors appends the schema errors within err that have no other inside.
func schemaErrors(list []*openapi3.SchemaError, err error) []*openapi3.SchemaError {
	switch e := err.(type) { //nolint:errorlint // the tree is walked as it is
	case *openapi3.SchemaError:
		inner := schemaErrors(nil, e.Origin)
		if e.SchemaField == "oneOf" {
			inner = nearestForm(e.Origin)
		}
		if len(inner) > 0 {
			return append(list, inner...)
		}
		return append(list, e)
	case openapi3.MultiError:
		for _, one := range e {
			list = schemaErrors(list, one)
		}
	case interface{ Unwrap() error }:
		list = schemaErrors(list, e.Unwrap())
	}
	return list
}

// nearestForm gives the errors of those forms of a oneOf that have the fewest:
// the one that was most likely meant.
func nearestForm(err error) []*openapi3.SchemaError {
	for err != nil {
		forms, several := err.(openapi3.MultiError) //nolint:errorlint // the tree is walked as it is
		if !several {
			err = errors.Unwrap(err)
			continue
		}
		var nearest []*openapi3.SchemaError
		least := 0
		for _, form := range forms {
			switch errs := schemaErrors(nil, form); {
			case least == 0 || len(errs) < least:
				nearest, least = errs, len(errs)
			case len(errs) == least:
				nearest = append(nearest, errs...)
			}
		}
		return nearest
	}
	return nil
}

// pointer is the place of an error. A member's name is shown only if it is the
// document's: any other is the caller's own text.
func (c *Checker) pointer(e *openapi3.SchemaError) string {
	var b strings.Builder
	for _, step := range e.JSONPointer() {
		if _, err := strconv.Atoi(step); err != nil && !c.members[step] {
			step = "*"
		}
		b.WriteString("/" + strings.NewReplacer("~", "~0", "/", "~1").Replace(step))
	}
	return b.String()
}

// reason gives the keyword that was broken with what the schema says for it.
func reason(e *openapi3.SchemaError) string {
	switch {
	case e.SchemaField == "":
		return "the schema refuses it"
	case e.SchemaField == "required":
		return "required" + missing(e)
	case e.SchemaField == "properties" || e.SchemaField == "additionalProperties":
		return "the contract has no such member"
	}
	raw, err := json.Marshal(e.Schema)
	var keywords map[string]json.RawMessage
	if err != nil || json.Unmarshal(raw, &keywords) != nil {
		return e.SchemaField
	}
	const enough = 200
	says := string(keywords[e.SchemaField])
	if says == "" || len(says) > enough {
		return e.SchemaField
	}
	return e.SchemaField + " " + says
}

// missing lists the required members that an object doesn't have, where the
// place isn't that of one of them.
func missing(e *openapi3.SchemaError) string {
	object, isObject := e.Value.(map[string]any)
	if !isObject || e.Schema == nil {
		return ""
	}
	var names []string
	for _, name := range e.Schema.Required {
		if _, given := object[name]; !given {
			names = append(names, name)
		}
	}
	place := e.JSONPointer()
	if len(names) == 0 || len(place) > 0 && slices.Contains(names, place[len(place)-1]) {
		return ""
	}
	return " " + strings.Join(names, ", ")
}

// memberNames collects the names of all members in the document's schemas.
func memberNames() (map[string]bool, error) {
	raw, err := api.JSON()
	if err != nil {
		return nil, err
	}
	var document any
	if err := json.Unmarshal(raw, &document); err != nil {
		return nil, err
	}
	names := map[string]bool{}
	var walk func(node any)
	walk = func(node any) {
		switch node := node.(type) {
		case map[string]any:
			if members, ok := node["properties"].(map[string]any); ok {
				for name := range members {
					names[name] = true
				}
			}
			for _, value := range node {
				walk(value)
			}
		case []any:
			for _, value := range node {
				walk(value)
			}
		}
	}
	walk(document)
	return names, nil
}
