package httpapi_test

import (
	"encoding/json"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
)

// FuzzFits sends anything at all: the answer is never a fault of the service,
// and what can't be answered is told as a problem that names where.
func FuzzFits(f *testing.F) {
	s := newService(f)
	for _, e := range s.doc.Paths.Find("/v1/fits").Post.RequestBody.Value.Content["application/json"].Examples {
		raw, err := json.Marshal(e.Value.Value)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(string(raw))
	}
	for _, seed := range []string{
		"", "{}", "[]", "null", "0", `""`, "{", `{"units":1e999999}`, `{"units":"in","readings":[1e400]}`,
		`{"units":"in","readings":["17 5/16"],"upper":{"style":"eye"},"lower":{"style":"eye"},"suspension":"solid_axle","top":1e9}`,
		`{"units":"mm","readings":[0.0000001],"upper":null,"lower":[],"travel":{"basis":"linkage","linkage":{"kind":"swing_arm"}}}`,
		strings.Repeat("[", 5000), `{"a":"\ud800"}`, "{\"a\":\"\xff\"}", `{"units":"in","units":"mm"}`,
	} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, body string) {
		s.log.Reset()
		r := httptest.NewRequest("POST", "/v1/fits", strings.NewReader(body))
		r.Header.Set("Content-Type", "application/json")
		w := httptest.NewRecorder()
		s.ServeHTTP(w, r)
		switch w.Code {
		case http.StatusOK:
			var answer struct{ Outcome string }
			if err := json.Unmarshal(w.Body.Bytes(), &answer); err != nil || answer.Outcome == "" {
				t.Errorf("%q: not an answer: %v: %s", body, err, w.Body)
			}
		case http.StatusBadRequest, http.StatusUnauthorized, http.StatusNotFound, http.StatusRequestEntityTooLarge, http.StatusUnprocessableEntity:
			var p problem
			if err := json.Unmarshal(w.Body.Bytes(), &p); err != nil {
				t.Fatalf("%q: not a problem: %v: %s", body, err, w.Body)
			}
			if err := p.check(w.Code); err != nil {
				t.Errorf("%q: %v: %s", body, err, w.Body)
			}
			if w.Code == http.StatusUnprocessableEntity && len(p.Errors) == 0 {
				t.Errorf("%q: a problem that names no field: %s", body, w.Body)
			}
		default:
			t.Errorf("%q: answered by %d: %s\n%s", body, w.Code, w.Body, s.log)
		}
	})
}
