package contract_test

import (
	"encoding/json"
	"maps"
	"math/rand/v2"
	"net/http"
	"net/http/httptest"
	"os"
	"regexp"
	"slices"
	"strconv"
	"testing"

	"github.com/getkin/kin-openapi/openapi3"

	"midstroke/api"
	"midstroke/internal/contract"
)

// TestTheShortcutFindsWhatTheLibraryFinds checks the examples of the contract, as they
// are and spoilt at random, by the shortcut and without it: a tenth of them, since the
// library takes long, and all with MIDSTROKE_TEST_LONG.
func TestTheShortcutFindsWhatTheLibraryFinds(t *testing.T) {
	t.Parallel()
	short, err := checker()
	if err != nil {
		t.Fatal(err)
	}
	if n := short.Shortens(); n < 20 {
		t.Errorf("it knows %d bodies only", n)
	}
	whole := short.WithoutShortcut()
	document, err := api.Load()
	if err != nil {
		t.Fatal(err)
	}
	rnd := rand.New(rand.NewPCG(19, 19))
	good, bad := 0, 0
	compare := func(e *contract.Exchange) {
		t.Helper()
		if rnd.IntN(10) > 0 && os.Getenv("MIDSTROKE_TEST_LONG") == "" {
			return
		}
		want := append(whole.CheckRequest(e), whole.CheckAnswer(e)...)
		if got := append(short.CheckRequest(e), short.CheckAnswer(e)...); !slices.Equal(got, want) {
			t.Errorf("%s %s, %s, %s:\n%+v\nwant\n%+v", e.Request.Method, e.Request.URL, e.RequestBody, e.Body, got, want)
		}
		if len(want) == 0 {
			good++
		} else {
			bad++
		}
	}
	paths := document.Paths.Map()
	for _, path := range slices.Sorted(maps.Keys(paths)) {
		operations := paths[path].Operations()
		for _, method := range slices.Sorted(maps.Keys(operations)) {
			operation := operations[method]
			target := inBraces.ReplaceAllString(path, "x")
			if operation.RequestBody != nil {
				for _, body := range examples(operation.RequestBody.Value.Content["application/json"]) {
					for _, raw := range [][]byte{encoded(t, body), encoded(t, spoilt(rnd, body))} {
						r := httptest.NewRequest(method, target, nil)
						r.Header.Set("Content-Type", "application/json; charset=utf-8")
						compare(&contract.Exchange{Request: r, RequestBody: raw, Status: http.StatusOK, Header: http.Header{}})
					}
				}
			}
			answers := operation.Responses.Map()
			for _, status := range slices.Sorted(maps.Keys(answers)) {
				answer := answers[status]
				number, err := strconv.Atoi(status)
				if err != nil {
					number = http.StatusTeapot // for "default"
				}
				for _, media := range []string{"application/json", "application/problem+json"} {
					for _, body := range examples(answer.Value.Content[media]) {
						for _, raw := range [][]byte{encoded(t, body), encoded(t, spoilt(rnd, body))} {
							compare(&contract.Exchange{Request: httptest.NewRequest(method, target, nil), Status: number, Header: http.Header{"Content-Type": {media}}, Body: raw})
						}
					}
				}
			}
		}
	}
	t.Logf("%d exchanges were as the contract says, %d weren't", good, bad)
	if good < 20 || bad < 20 {
		t.Errorf("%d exchanges were as the contract says, %d weren't: too few", good, bad)
	}
}

var inBraces = regexp.MustCompile(`\{[^}]*\}`)

// examples gives the examples of a body.
func examples(media *openapi3.MediaType) (all []any) {
	if media == nil {
		return nil
	}
	if media.Example != nil {
		all = append(all, media.Example)
	}
	for _, name := range slices.Sorted(maps.Keys(media.Examples)) {
		all = append(all, media.Examples[name].Value.Value)
	}
	return all
}

func encoded(t *testing.T, value any) []byte {
	t.Helper()
	raw, err := json.Marshal(value)
	if err != nil {
		t.Fatal(err)
	}
	return raw
}

// spoilt gives a copy of a value in which one member is missing, new, or something else.
func spoilt(rnd *rand.Rand, value any) any {
	switch value := value.(type) {
	case map[string]any:
		changed := maps.Clone(value)
		names := slices.Sorted(maps.Keys(value))
		if len(names) == 0 || rnd.IntN(4) == 0 {
			changed["unheard of"] = 1
			return changed
		}
		name := names[rnd.IntN(len(names))]
		if rnd.IntN(4) == 0 {
			delete(changed, name)
		} else {
			changed[name] = spoilt(rnd, value[name])
		}
		return changed
	case []any:
		if len(value) == 0 {
			return []any{true}
		}
		changed := slices.Clone(value)
		at := rnd.IntN(len(value))
		changed[at] = spoilt(rnd, value[at])
		return changed
	case bool:
		return "true"
	}
	return true
}
