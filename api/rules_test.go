package api_test

import (
	"maps"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/getkin/kin-openapi/openapi3"
	"go.yaml.in/yaml/v3"

	"midstroke/api"
)

// TestGeneratorsTakeIt keeps out what a generator of clients stumbles over. The
// clients in testdata/clients show that they take the rest.
func TestGeneratorsTakeIt(t *testing.T) {
	var root any
	if err := yaml.Unmarshal(api.YAML, &root); err != nil {
		t.Fatal(err)
	}
	everyObject("", root, func(at string, object map[string]any) {
		if strings.Contains(at, "/examples/") || strings.HasSuffix(at, "/properties") || strings.HasSuffix(at, "/example") {
			return // names there are no keywords
		}
		if _, several := object["type"].([]any); several {
			t.Errorf("%s: several types; ogen takes one, and a oneOf of several", at)
		}
		if object["type"] == "number" && object["format"] != "double" {
			t.Errorf("%s: a number without format double; oapi-codegen takes single precision", at)
		}
		for keyword, why := range map[string]string{
			"exclusiveMinimum": "ogen reads it as OpenAPI 3.0 has it; say so under not",
			"exclusiveMaximum": "ogen reads it as OpenAPI 3.0 has it; say so under not",
			"nullable":         "OpenAPI 3.1 has no such keyword",
			"default":          "a generated client sends it; say so in the description",
			"const":            "the library that checks the contract takes a slow way with it; say enum",
			"if":               "the library that checks the contract takes a slow way with it; say not",
		} {
			if _, there := object[keyword]; there {
				t.Errorf("%s: %s: %s", at, keyword, why)
			}
		}
	})
}

// everyObject calls see with every object in a tree and its place.
func everyObject(at string, node any, see func(at string, object map[string]any)) {
	switch node := node.(type) {
	case map[string]any:
		see(at, node)
		for _, name := range slices.Sorted(maps.Keys(node)) {
			everyObject(at+"/"+name, node[name], see)
		}
	case []any:
		for i, item := range node {
			everyObject(at+"/"+strconv.Itoa(i), item, see)
		}
	}
}

// TestNamesAreUnique: a generator makes one type of each component, and drops
// what isn't a letter or a digit.
func TestNamesAreUnique(t *testing.T) {
	var root struct{ Components map[string]map[string]any }
	if err := yaml.Unmarshal(api.YAML, &root); err != nil {
		t.Fatal(err)
	}
	seen := map[string]string{}
	for kind, components := range root.Components {
		if kind == "examples" || kind == "securitySchemes" {
			continue // of which no types are made
		}
		for name := range components {
			plain := strings.ToLower(strings.NewReplacer(".", "", "_", "", "-", "").Replace(name))
			if other := seen[plain]; other != "" {
				t.Errorf("%s and %s/%s have one name", other, kind, name)
			}
			seen[plain] = kind + "/" + name
		}
	}
}

// TestAnswersAreOpen: members may be added to any answer.
func TestAnswersAreOpen(t *testing.T) {
	document := load(t)
	seen := map[*openapi3.Schema]bool{}
	for path, item := range document.Paths.Map() {
		for method, op := range item.Operations() {
			for status, response := range op.Responses.Map() {
				for _, media := range response.Value.Content {
					everySchema(media.Schema, seen, func(s *openapi3.Schema) {
						if s.AdditionalProperties.Has != nil && !*s.AdditionalProperties.Has {
							t.Errorf("%s %s, %s: an object takes no further members: %s %v", method, path, status, s.Description, s.Required)
						}
					})
				}
			}
		}
	}
}

// everySchema calls see once with every schema that a value may hold.
func everySchema(ref *openapi3.SchemaRef, seen map[*openapi3.Schema]bool, see func(*openapi3.Schema)) {
	if ref == nil || ref.Value == nil || seen[ref.Value] {
		return
	}
	s := ref.Value
	seen[s] = true
	see(s)
	for _, p := range s.Properties {
		everySchema(p, seen, see)
	}
	everySchema(s.Items, seen, see)
	everySchema(s.AdditionalProperties.Schema, seen, see)
	for _, parts := range []openapi3.SchemaRefs{s.OneOf, s.AnyOf, s.AllOf} {
		for _, p := range parts {
			everySchema(p, seen, see)
		}
	}
}

// TestStatusesAreDeclared: what may be answered to any request is declared with
// every operation.
func TestStatusesAreDeclared(t *testing.T) {
	document := load(t)
	for path, item := range document.Paths.Map() {
		for method, op := range item.Operations() {
			need := []int{http.StatusMethodNotAllowed, http.StatusRequestHeaderFieldsTooLarge, http.StatusInternalServerError}
			if strings.HasPrefix(path, "/v1/") {
				need = append(need, http.StatusTooManyRequests, http.StatusServiceUnavailable)
			}
			for _, status := range need {
				if op.Responses.Status(status) == nil {
					t.Errorf("%s %s declares no %d", method, path, status)
				}
			}
			if op.Description == "" || op.Summary == "" {
				t.Errorf("%s %s has no summary or no description", method, path)
			}
		}
	}
}
