package httpapi_test

import (
	"encoding/json"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"testing"

	"github.com/getkin/kin-openapi/openapi3"
)

// TestExamplesOfTheContractWork sends every example request of the document
// for real; the harness holds each answer against the document.
func TestExamplesOfTheContractWork(t *testing.T) {
	s := newService(t)
	sent := 0
	for path, item := range s.doc.Paths.Map() {
		for method, op := range item.Operations() {
			if op.RequestBody == nil || strings.Contains(path, "{") || needsKey(op) {
				continue // what needs a shop of its own has tests of its own
			}
			media := op.RequestBody.Value.Content["application/json"]
			bodies := map[string]any{}
			if media.Example != nil {
				bodies["example"] = media.Example
			}
			for name, e := range media.Examples {
				bodies[name] = e.Value.Value
			}
			if len(bodies) == 0 {
				t.Errorf("%s %s has no example", method, path)
			}
			for name, body := range bodies {
				t.Run(op.OperationID+"/"+name, func(t *testing.T) {
					raw, err := json.Marshal(body)
					if err != nil {
						t.Fatal(err)
					}
					for _, accept := range mediaTypes(op) {
						a := s.post(t, path, string(raw), "Accept", accept)
						if fields, _ := body.(map[string]any); path == "/v1/fits" && accept == "image/svg+xml" && fields["corner"] == nil {
							if a.status != http.StatusUnprocessableEntity {
								t.Errorf("as %s without a corner: %d, want 422", accept, a.status)
							}
							continue // a drawing of the damping needs a corner
						}
						if a.status != http.StatusOK || len(a.body) == 0 {
							t.Errorf("as %s: %d: %s", accept, a.status, a.body)
						}
						if got, _, _ := strings.Cut(a.header.Get("Content-Type"), ";"); got != accept {
							t.Errorf("asked for %s, got %s", accept, got)
						}
					}
				})
				sent++
			}
		}
	}
	if sent < 10 {
		t.Errorf("only %d examples were sent", sent)
	}
}

// needsKey says whether an operation is for callers with a key alone.
func needsKey(op *openapi3.Operation) bool {
	return op.Security != nil && !slices.ContainsFunc(*op.Security, func(s openapi3.SecurityRequirement) bool { return len(s) == 0 })
}

// mediaTypes lists those that an operation's success may come in by Accept.
func mediaTypes(op *openapi3.Operation) []string {
	var types []string
	for media := range op.Responses.Status(http.StatusOK).Value.Content {
		if media != "text/plain" { // by format=text alone
			types = append(types, media)
		}
	}
	slices.Sort(types)
	return types
}

// TestExamplesOfParametersWork sends the examples of every parameter, one at
// a time, beside those of the parameters that an operation requires.
func TestExamplesOfParametersWork(t *testing.T) {
	s := newService(t)
	for path, item := range s.doc.Paths.Map() {
		op := item.Get
		if op == nil || strings.Contains(path, "{") || path == "/v1/fits" || needsKey(op) {
			continue
		}
		need := url.Values{}
		for _, p := range op.Parameters {
			if p.Value.In == "query" && p.Value.Required {
				need.Set(p.Value.Name, exampleOf(t, p.Value))
			}
		}
		if a := s.get(t, path+"?"+need.Encode()); a.status != http.StatusOK {
			t.Errorf("GET %s?%s: %d: %.300s", path, need.Encode(), a.status, a.body)
		}
		for _, p := range op.Parameters {
			if p.Value.In != "query" || p.Value.Example == nil && len(p.Value.Examples) == 0 {
				continue
			}
			query := url.Values{}
			for name, values := range need {
				query[name] = values
			}
			query.Set(p.Value.Name, exampleOf(t, p.Value))
			if a := s.get(t, path+"?"+query.Encode()); a.status != http.StatusOK {
				t.Errorf("GET %s?%s: %d: %.300s", path, query.Encode(), a.status, a.body)
			}
		}
	}
}

func exampleOf(t *testing.T, p *openapi3.Parameter) string {
	t.Helper()
	if p.Example != nil {
		return fmt.Sprint(p.Example)
	}
	for _, e := range p.Examples {
		return fmt.Sprint(e.Value.Value)
	}
	if enum := p.Schema.Value.Enum; len(enum) > 0 {
		return fmt.Sprint(enum[0])
	}
	t.Errorf("the required parameter %s has no example", p.Name)
	return ""
}

// TestEveryParameterOfAListIsRead holds the contract's parameters of the lists
// against those that the service knows: each is taken, and where it has a
// schema of its own a value of no meaning is a fault of that very parameter.
func TestEveryParameterOfAListIsRead(t *testing.T) {
	s := newService(t)
	for _, path := range []string{"/v1/dampers", "/v1/sleeves", "/v1/spacers", "/v1/adapters"} {
		var names []string
		for _, p := range s.doc.Paths.Find(path).Get.Parameters {
			if p.Value.In == "query" {
				names = append(names, p.Value.Name)
			}
		}
		p := refused(t, s.get(t, path+"?units=in&no_such_parameter=1"), 422)
		if len(p.Errors) != 1 || p.Errors[0].Parameter != "no_such_parameter" {
			t.Fatalf("%s: %+v", path, p.Errors)
		}
		_, list, _ := strings.Cut(p.Errors[0].Detail, "there are ")
		known := strings.Split(list, ", ")
		slices.Sort(names)
		slices.Sort(known)
		if !slices.Equal(names, known) {
			t.Errorf("%s: the contract has\n%q\nand the service\n%q", path, names, known)
		}
	}
}

func TestDocumentsAreServedAsTheyAre(t *testing.T) {
	s := newService(t)
	yaml := s.get(t, "/openapi.yaml")
	if got := yaml.header.Get("Content-Type"); got != "application/yaml" {
		t.Errorf("openapi.yaml came as %q (RFC 9512)", got)
	}
	loaded, err := openapi3.NewLoader().LoadFromData(s.get(t, "/openapi.json").body)
	if err != nil {
		t.Fatal(err)
	}
	if len(loaded.Paths.Map()) != len(s.doc.Paths.Map()) {
		t.Errorf("openapi.json has %d paths, the contract %d", len(loaded.Paths.Map()), len(s.doc.Paths.Map()))
	}
}
