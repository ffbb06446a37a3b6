package httpapi_test

import (
	"encoding/json"
	"fmt"
	"log/slog"
	"net/http/httptest"
	"strings"

	"midstroke/internal/catalog"
	"midstroke/internal/httpapi"
	"midstroke/internal/library/librarytest"
	"midstroke/testdata/demo"
)

// A handler answers from whatever snapshot is the newest; this one never gets
// another.
func ExampleNew() {
	catalogs := librarytest.New(catalog.NewSnapshot("demo", 1, demo.Contents()))
	handler, err := httpapi.New(httpapi.Config{Library: catalogs.Library, Log: slog.New(slog.DiscardHandler)})
	if err != nil {
		fmt.Println(err)
		return
	}

	r := httptest.NewRequest("POST", "/v1/fits", strings.NewReader(`{
		"units": "in",
		"upper": {"style": "eye"}, "lower": {"style": "eye"},
		"readings": ["17 5/16"],
		"suspension": "solid_axle"
	}`))
	r.Header.Set("Content-Type", "application/json")
	w := httptest.NewRecorder()
	handler.ServeHTTP(w, r)

	var answer struct {
		Outcome string
		Working struct{ Value float64 } `json:"working_length"`
	}
	if err := json.Unmarshal(w.Body.Bytes(), &answer); err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(w.Code, answer.Outcome, answer.Working.Value)
	// Output: 200 fits 17.3125
}
