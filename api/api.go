// Package api holds the contract: what other software sends and gets back. It
// is written by hand in openapi.yaml, which is the one true text of it.
package api

import (
	_ "embed"
	"encoding/json"
	"fmt"

	"github.com/getkin/kin-openapi/openapi3"
	"go.yaml.in/yaml/v3"
)

// YAML is the contract as it is served under /openapi.yaml. Nobody changes it.
//
//go:embed openapi.yaml
var YAML []byte

// Load gives the contract as a document whose references are resolved. It is a
// new one at each call, for the caller to keep.
func Load() (*openapi3.T, error) {
	document, err := openapi3.NewLoader().LoadFromData(YAML)
	if err != nil {
		return nil, fmt.Errorf("openapi.yaml: %w", err)
	}
	return document, nil
}

// JSON gives the contract as JSON: the same values, with every object's
// members by name.
func JSON() ([]byte, error) {
	var document any
	if err := yaml.Unmarshal(YAML, &document); err != nil {
		return nil, fmt.Errorf("openapi.yaml: %w", err)
	}
	body, err := json.Marshal(document)
	if err != nil {
		return nil, fmt.Errorf("openapi.yaml as JSON: %w", err)
	}
	return body, nil
}
