package api_test

import (
	"context"
	"encoding/json"
	"testing"

	"midstroke/api"
)

func TestContractIsValid(t *testing.T) {
	document, err := api.Load()
	if err != nil {
		t.Fatal(err)
	}
	if err := document.Validate(context.Background()); err != nil {
		t.Fatal(err)
	}
}

func TestJSONIsJSON(t *testing.T) {
	body, err := api.JSON()
	if err != nil {
		t.Fatal(err)
	}
	if !json.Valid(body) {
		t.Error("not JSON")
	}
}
