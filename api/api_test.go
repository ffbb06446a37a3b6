package api_test

import (
	"bytes"
	"context"
	"encoding/json"
	"testing"

	"github.com/getkin/kin-openapi/openapi3"

	"midstroke/api"
)

// TestContractIsValid holds the document against OpenAPI 3.1, and each of its
// examples against its schema.
func TestContractIsValid(t *testing.T) {
	document := load(t)
	err := document.Validate(context.Background(), openapi3.EnableExamplesValidation(), openapi3.EnableMultiError())
	if err != nil {
		t.Fatal(err)
	}
}

// TestEveryExampleIsUsed: an example that nothing refers to is held against no
// schema.
func TestEveryExampleIsUsed(t *testing.T) {
	document := load(t)
	for name := range document.Components.Examples {
		if !bytes.Contains(api.YAML, []byte("'#/components/examples/"+name+"'")) {
			t.Errorf("the example %s is used nowhere", name)
		}
	}
	for name := range document.Components.Schemas {
		if !bytes.Contains(api.YAML, []byte("#/components/schemas/"+name+"'")) && !bytes.Contains(api.YAML, []byte(`#/components/schemas/`+name+`"`)) {
			t.Errorf("the schema %s is used nowhere", name)
		}
	}
}

// TestRequestsAreClosed: a schema that a body is read by names all of its
// members, so that a slip in a name can't pass unseen.
func TestRequestsAreClosed(t *testing.T) {
	document := load(t)
	seen := map[*openapi3.Schema]bool{}
	var walk func(at string, ref *openapi3.SchemaRef)
	walk = func(at string, ref *openapi3.SchemaRef) {
		if ref == nil || seen[ref.Value] {
			return
		}
		s := ref.Value
		seen[s] = true
		if s.Type.Is("object") && (s.AdditionalProperties.Has == nil || *s.AdditionalProperties.Has) {
			t.Errorf("%s takes members that it doesn't name", at)
		}
		for name, p := range s.Properties {
			walk(at+"/"+name, p)
		}
		walk(at+"/-", s.Items)
		for _, one := range s.OneOf {
			walk(at, one)
		}
	}
	for _, name := range []string{"FitsRequest", "HardwareRequest", "TravelRequest", "RatesRequest", "Samples"} {
		walk(name, document.Components.Schemas[name])
	}
}

// TestJSONIsTheSameDocument compares what the two forms say.
func TestJSONIsTheSameDocument(t *testing.T) {
	raw, err := api.JSON()
	if err != nil {
		t.Fatal(err)
	}
	fromJSON, err := openapi3.NewLoader().LoadFromData(raw)
	if err != nil {
		t.Fatal(err)
	}
	a, err := json.Marshal(fromJSON)
	if err != nil {
		t.Fatal(err)
	}
	b, err := json.Marshal(load(t))
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(a, b) {
		t.Error("openapi.json says something else than openapi.yaml")
	}
}

func load(t *testing.T) *openapi3.T {
	t.Helper()
	document, err := api.Load()
	if err != nil {
		t.Fatal(err)
	}
	return document
}
