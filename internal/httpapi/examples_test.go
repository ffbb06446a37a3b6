package httpapi_test

import (
	"encoding/json"
	"fmt"
	"maps"
	"net/http"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/getkin/kin-openapi/openapi3"

	"midstroke/internal/httpapi"
	"midstroke/internal/limit"
)

// TestExamplesOfAnswersAreProduced: the service gives every answer that the
// contract shows. An example may leave out members of objects and items of
// lists; what it has must be there, in the same order. The request of an answer
// is the one of the same name, or stands below.
func TestExamplesOfAnswersAreProduced(t *testing.T) {
	s := newService(t)
	produced := 0
	for path, item := range s.doc.Paths.Map() {
		for method, op := range item.Operations() {
			ok := op.Responses.Status(http.StatusOK)
			if ok == nil || ok.Value.Content["application/json"] == nil || method == http.MethodGet && path == "/v1/fits" {
				continue // the examples of GET /v1/fits are those of POST
			}
			for name, example := range examplesOf(ok.Value.Content["application/json"]) {
				produced++
				t.Run(op.OperationID+"/"+name, func(t *testing.T) {
					a := s.exchangeOf(t, method, path, op, name)
					if a.status != http.StatusOK {
						t.Fatalf("%d: %.300s", a.status, a.body)
					}
					isShown(t, example, decode[any](t, a, http.StatusOK))
				})
			}
		}
	}
	if produced < 9 {
		t.Errorf("the contract shows only %d answers", produced)
	}
}

// queries are the requests of answers to GET, by operation and example.
var queries = map[string]string{
	"measuringGuide/stud_over_eye": "?units=in&upper=stud&lower=eye&upper_measured_to=frame_face",
	"measuringGuide/fork_below":    "?units=in&upper=stud&lower=fork",
	"alive/example":                "",
	"ready/example":                "",
}

func (s *service) exchangeOf(t *testing.T, method, path string, op *openapi3.Operation, name string) *answer {
	t.Helper()
	if method == http.MethodGet {
		query, known := queries[op.OperationID+"/"+name]
		if !known {
			t.Fatal("queries has no request for it")
		}
		return s.get(t, path+query)
	}
	request := op.RequestBody.Value.Content["application/json"].Examples[name]
	if request == nil {
		t.Fatal("the contract has no request of this name")
	}
	body, err := json.Marshal(request.Value.Value)
	if err != nil {
		t.Fatal(err)
	}
	return s.post(t, path, string(body))
}

// examplesOf gives the examples of a body by their names.
func examplesOf(media *openapi3.MediaType) map[string]any {
	all := map[string]any{}
	if media.Example != nil {
		all["example"] = media.Example
	}
	for name, e := range media.Examples {
		all[name] = e.Value.Value
	}
	return all
}

// TestExamplesOfProblemsAreProduced: every problem that the contract shows
// comes from the service in the same words.
func TestExamplesOfProblemsAreProduced(t *testing.T) {
	s := newService(t)
	two := newShops(t)
	busy := newService(t)
	busy.start(t, httpapi.Config{Limits: httpapi.Limits{Address: limit.Rate{Quota: 200, Window: 10 * time.Second}}})
	send := map[string]func() *answer{
		"NotJSON":   func() *answer { return s.post(t, "/v1/fits", `{"units": "in", "`) },
		"KeyNeeded": func() *answer { return s.post(t, "/v1/fits", fitsOf("corner", 0)) },
		"Forbidden": func() *answer {
			return two.post(t, "/v1/fits", eyeToEye, append(two.bearer("north widget"), "Origin", "https://elsewhere.example")...)
		},
		"NotFound":         func() *answer { return s.post(t, "/v1/fits", fitsOf("", 9)) },
		"MethodNotAllowed": func() *answer { return s.do(t, http.MethodDelete, "/v1/fits", "") },
		"Invalid": func() *answer {
			return s.post(t, "/v1/fits", `{"upper": {"style": "eye"}, "lower": {"style": "eye"}, "readings": ["17,25"], "suspension": "solid_axle"}`)
		},
		"TooManyRequests": func() *answer {
			costly := strings.Replace(eyeToEye, "{", `{"top": 50, "near_misses": 50, "explain": true, `, 1)
			for range 200 {
				if a := busy.unchecked(http.MethodPost, "/v1/fits", costly); a.status == http.StatusTooManyRequests {
					return a
				}
			}
			t.Fatal("the rate was never used up")
			return nil
		},
	}
	for name, response := range s.doc.Components.Responses {
		media := response.Value.Content["application/problem+json"]
		if media == nil || media.Example == nil {
			continue
		}
		t.Run(name, func(t *testing.T) {
			if send[name] == nil {
				t.Fatal("no request is known that brings it")
			}
			a := send[name]()
			example, _ := media.Example.(map[string]any)
			got := decode[map[string]any](t, a, a.status)
			for _, instance := range []map[string]any{example, got} {
				instance["instance"], _, _ = strings.Cut(instance["instance"].(string), "#")
			}
			isShown(t, any(example), any(got))
		})
	}
}

// isShown fails the test where an answer isn't what the contract shows of it.
func isShown(t *testing.T, example, got any) {
	t.Helper()
	raw, err := json.Marshal(example)
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(raw, &example); err != nil {
		t.Fatal(err)
	}
	if where := notShown("", example, got); where != "" {
		t.Errorf("the contract's example and the answer differ at %s", where)
	}
}

// notShown gives the first place where an example has what the answer hasn't,
// with both values, "" where there is none.
func notShown(at string, example, got any) string {
	differ := fmt.Sprintf("%s: %.200v, %.600v", at, asJSON(example), asJSON(got))
	switch e := example.(type) {
	case map[string]any:
		g, isObject := got.(map[string]any)
		if !isObject {
			return differ
		}
		for _, name := range slices.Sorted(maps.Keys(e)) {
			value, there := g[name]
			if !there {
				return at + "/" + name + ", which the answer doesn't have"
			}
			if where := notShown(at+"/"+name, e[name], value); where != "" {
				return where
			}
		}
		return ""
	case []any:
		g, isList := got.([]any)
		if !isList || len(e) == 0 && len(g) > 0 {
			return differ
		}
		next := 0
		for i, item := range e {
			where := at + "/" + strconv.Itoa(i) + ", after the answer's last item"
			for ; next < len(g); next++ {
				if where = notShown(at+"/"+strconv.Itoa(i), item, g[next]); where == "" {
					next++
					break
				}
			}
			if where != "" {
				return where
			}
		}
		return ""
	}
	if reflect.DeepEqual(example, got) {
		return ""
	}
	return differ
}

func asJSON(v any) string {
	raw, err := json.Marshal(v)
	if err != nil {
		return err.Error()
	}
	return string(raw)
}
