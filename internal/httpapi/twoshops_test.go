package httpapi_test

import (
	"bytes"
	"encoding/json"
	"maps"
	"net/http"
	"slices"
	"strings"
	"testing"

	"github.com/getkin/kin-openapi/openapi3"
)

// belongings are what north has, by the names that paths and answers call them.
type belongings struct {
	quote, webhook, delivery, batch string
	// marks are in whatever tells something of them.
	marks []string
}

const (
	northReference = "of the north alone"
	northPart      = "north-part"
)

// settle gives north one thing of each kind.
func (s *quoting) settle(t *testing.T) *belongings {
	t.Helper()
	hook := s.hook("quote.kept", "north admin")
	q := decode[kept](t, s.keepAs("shared", quoteOf(northReference, axleOf("rear", s.chosen(eyeToEye), eyeToEye)), "north server"), 201)
	if a := s.put("application/json", `{"code":"`+northPart+`","location":"north shelf","quantity":3}`, ""); a.status != 200 {
		t.Fatalf("%d: %s", a.status, a.body)
	}
	a := s.post(t, "/v1/batches", requestFile, append(s.bearer("north server"), "Content-Type", "text/csv", "Prefer", "respond-async")...)
	job := decode[struct{ ID string }](t, a, 202)
	b := &belongings{q.ID, hook.ID, s.sentTo(hook, "").Items[0].ID, job.ID, nil}
	b.marks = []string{b.quote, b.webhook, b.delivery, b.batch, northReference, northPart, hook.Secret, q.Sheet.Link}
	return b
}

// pathOf fills in what is north's. A path of the contract with a name that isn't known
// here fails, so that no endpoint is forgotten.
func (b *belongings) pathOf(t *testing.T, path string) string {
	t.Helper()
	id := b.quote
	if strings.HasPrefix(path, "/v1/batches/") {
		id = b.batch
	}
	path = strings.NewReplacer("{id}", id, "{webhook}", b.webhook, "{delivery}", b.delivery, "{name}", "north", "{number}", "1", "{other}", "1").Replace(path)
	if strings.Contains(path, "{") {
		t.Fatalf("say which of north's things %s is of", path)
	}
	return path
}

// exampleBody gives a body that an operation takes, with its media type.
func exampleBody(t *testing.T, op *openapi3.Operation) (body, media string) {
	t.Helper()
	if op.RequestBody == nil {
		return "", "application/json"
	}
	if plain := op.RequestBody.Value.Content["application/json"]; plain != nil {
		for _, example := range examplesOf(plain) {
			raw, err := json.Marshal(example)
			if err != nil {
				t.Fatal(err)
			}
			return string(raw), "application/json"
		}
		return "{}", "application/json"
	}
	return requestFile, "text/csv"
}

// TestShopsAreKeptApart goes through every operation of the contract that needs a key,
// with the keys of the one shop and the ids of the other, and under the same
// Idempotency-Key. Where the path names something, it isn't there. Elsewhere nothing is
// told of the other shop's things, and none of them changes.
func TestShopsAreKeptApart(t *testing.T) {
	t.Parallel()
	s := newQuoting(t)
	north := s.settle(t)
	seen := func() (all []string) {
		for _, path := range []string{"/v1/quotes", "/v1/quotes/" + north.quote, "/v1/stock", "/v1/webhooks", "/v1/webhooks/" + north.webhook + "/deliveries", "/v1/batches/" + north.batch, "/v1/catalogs/north/revisions"} {
			all = append(all, string(s.get(t, path, s.bearer("north admin")...).body))
		}
		return all
	}
	before := seen()
	tried := 0
	for _, path := range slices.Sorted(maps.Keys(s.doc.Paths.Map())) {
		for method, op := range s.doc.Paths.Find(path).Operations() {
			if !needsKey(op) || method == http.MethodPost && path == "/v1/catalogs/{name}/revisions" {
				continue // an upload goes to the shop's own catalogue, whatever its name
			}
			body, media := exampleBody(t, op)
			query := ""
			if units := op.Parameters.GetByInAndName("query", "units"); units != nil && units.Required {
				query = "?units=in"
			}
			for _, who := range []string{"south admin", "south server", "south widget", "south keeping widget"} {
				tried++
				header := append(s.bearer(who), "Content-Type", media, "Idempotency-Key", "shared", "If-Match", "*", "Origin", pageOrigin)
				a := s.do(t, method, north.pathOf(t, path)+query, body, header...)
				if named := strings.Contains(path, "{"); named && a.status != 404 && a.status != 403 || named && who == "south admin" && a.status == 403 {
					t.Errorf("%s %s as %s: %d: %.300s", method, path, who, a.status, a.body)
				}
				for _, mark := range north.marks {
					if bytes.Contains(a.body, []byte(mark)) && !strings.Contains(path, "{") {
						t.Errorf("%s %s tells %s of %q: %.300s", method, path, who, mark, a.body)
					}
				}
				if widget := strings.HasSuffix(who, "widget"); widget && a.status < 400 && op.OperationID != "keepQuote" {
					t.Errorf("%s %s as %s: %d", method, path, who, a.status)
				}
			}
		}
	}
	if after := seen(); !slices.Equal(before, after) {
		t.Errorf("north's things have changed:\n%q\n%q", before, after)
	}
	if tried < 4*30 { // as many operations need a key today
		t.Errorf("%d requests were tried", tried)
	}
}
