package contract

import (
	"bytes"
	"encoding/json"
	"net/http"

	"github.com/getkin/kin-openapi/openapi3"
	"github.com/getkin/kin-openapi/openapi3filter"
)

// A shortcut finds bodies that are as their schemas say, as the library does, but much
// quicker. For each body the library compiles the schema anew. Where the schema refers
// to others and has no keyword that is new in JSON Schema 2020-12, it then leaves what
// it has compiled and uses its own validator. The shortcut uses that validator at once.
type shortcut map[*openapi3.Schema]bool

// newShortcut finds the bodies' schemas that the library doesn't use compiled.
func newShortcut(document *openapi3.T) (shortcut, error) {
	s := shortcut{}
	for _, item := range document.Paths.Map() {
		for _, operation := range item.Operations() {
			if operation.RequestBody != nil {
				if err := s.add(operation.RequestBody.Value.Content); err != nil {
					return nil, err
				}
			}
			for _, answer := range operation.Responses.Map() {
				if err := s.add(answer.Value.Content); err != nil {
					return nil, err
				}
			}
		}
	}
	return s, nil
}

func (s shortcut) add(content openapi3.Content) error {
	for _, media := range content {
		if media.Schema == nil {
			continue
		}
		raw, err := json.Marshal(media.Schema.Value)
		if err != nil {
			return err
		}
		refers := bytes.Contains(raw, []byte(`"$ref":"#/components/schemas/`))
		s[media.Schema.Value] = refers && !hasNewKeyword(media.Schema)
	}
	return nil
}

// hasNewKeyword says whether a schema, or one that it refers to, has a keyword for which
// the library uses the compiled schema.
func hasNewKeyword(ref *openapi3.SchemaRef) (has bool) {
	_ = ref.WalkSubtree(func(_ string, ref *openapi3.SchemaRef) error { // it fails only if this function does
		s := ref.Value
		has = has || s.Const != nil || len(s.PrefixItems) > 0 || s.Contains != nil || len(s.PatternProperties) > 0 ||
			len(s.DependentSchemas) > 0 || s.PropertyNames != nil ||
			s.UnevaluatedItems.Has != nil || s.UnevaluatedItems.Schema != nil ||
			s.UnevaluatedProperties.Has != nil || s.UnevaluatedProperties.Schema != nil ||
			s.If != nil || s.Then != nil || s.Else != nil || len(s.DependentRequired) > 0 || len(s.Defs) > 0 || s.ContentSchema != nil
		return nil
	})
	return has
}

// passes says that a body is as its schema says. If it says no, the library has to tell.
// as is the option for a request or an answer.
func (s shortcut) passes(content openapi3.Content, h http.Header, body []byte, as openapi3.SchemaValidationOption) bool {
	media := content.Get(h.Get("Content-Type"))
	decode := openapi3filter.RegisteredBodyDecoder(mediaType(h))
	if media == nil || media.Schema == nil || !s[media.Schema.Value] || decode == nil || len(body) == 0 {
		return false
	}
	value, err := decode(bytes.NewReader(body), h, media.Schema, func(string) *openapi3.Encoding { return nil })
	return err == nil && media.Schema.Value.VisitJSON(value, as) == nil
}

// passesRequest is passes for the body of a request.
func (s shortcut) passesRequest(input *openapi3filter.RequestValidationInput, body []byte) bool {
	described := input.Route.Operation.RequestBody
	return described != nil && s.passes(described.Value.Content, input.Request.Header, body, openapi3.VisitAsRequest())
}

// passesAnswer is passes for the body of an answer.
func (s shortcut) passesAnswer(input *openapi3filter.ResponseValidationInput, body []byte) bool {
	responses := input.RequestValidationInput.Route.Operation.Responses
	described := responses.Status(input.Status)
	if described == nil {
		described = responses.Default()
	}
	return described != nil && s.passes(described.Value.Content, input.Header, body, openapi3.VisitAsResponse())
}
