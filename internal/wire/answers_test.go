package wire_test

import (
	"encoding/json"
	"errors"
	"maps"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/getkin/kin-openapi/openapi3"

	"midstroke/internal/catalog"
	"midstroke/internal/damping"
	"midstroke/internal/fit"
	"midstroke/internal/linkage"
	"midstroke/internal/mount"
	"midstroke/internal/unit"
	"midstroke/internal/wire"
	"midstroke/testdata/demo"
)

// snapshot is the demo catalogue, made once for all tests.
var snapshot = sync.OnceValue(func() *catalog.Snapshot {
	return catalog.NewSnapshot("demo", 7, demo.Contents())
})

func edition() wire.Edition { return editionOf(snapshot()) }

func editionOf(s *catalog.Snapshot) wire.Edition {
	return wire.Edition{Name: s.Name(), Revision: s.Revision(), Currency: s.Currency(), Serial: s.Serial()}
}

// answer reads a body, finds its fits and writes them.
func answer(t testing.TB, body []byte) (wire.FitsRequest, *fit.Answer, []byte) {
	t.Helper()
	r, err := wire.ReadFits(body)
	if err != nil {
		t.Fatalf("%v\n%s", err, body)
	}
	a, faults := fit.Find(&r.Fit, snapshot())
	if len(faults) > 0 {
		t.Fatalf("%v\n%s", faults, body)
	}
	return r, a, wire.AppendFits(nil, a, &r, edition(), "en")
}

// requestBodies are the contract's examples for a path and, for fits, those
// that stand in testdata.
func requestBodies(t testing.TB, document *openapi3.T, path string) map[string][]byte {
	t.Helper()
	bodies := map[string][]byte{}
	for name, example := range document.Paths.Value(path).Post.RequestBody.Value.Content["application/json"].Examples {
		raw, err := json.Marshal(example.Value.Value)
		if err != nil {
			t.Fatal(err)
		}
		bodies[name] = raw
	}
	if path == "/v1/fits" {
		for _, file := range examplesOfRequests(t) {
			bodies[file.name] = file.body
		}
	}
	return bodies
}

// TestAnswersAreTheContracts holds the answer to every example against the
// contract's schema: all of its values are allowed, all that the schema
// requires are there, and there is none that the schema doesn't name.
func TestAnswersAreTheContracts(t *testing.T) {
	document := load(t)
	for _, path := range []string{"/v1/fits", "/v1/hardware", "/v1/travel", "/v1/rates"} {
		bodies := requestBodies(t, document, path)
		schema := map[string]string{"/v1/fits": "FitsAnswer", "/v1/hardware": "HardwareAnswer", "/v1/travel": "TravelAnswer", "/v1/rates": "RatesAnswer"}[path]
		for _, name := range slices.Sorted(maps.Keys(bodies)) {
			t.Run(strings.TrimPrefix(path, "/v1/")+"/"+name, func(t *testing.T) {
				holds(t, document, schema, answerTo(t, path, bodies[name]))
			})
		}
	}
}

func answerTo(t testing.TB, path string, body []byte) []byte {
	t.Helper()
	switch path {
	case "/v1/fits":
		_, _, out := answer(t, body)
		return out
	case "/v1/hardware":
		r, err := wire.ReadHardware(body)
		if err != nil {
			t.Fatal(err)
		}
		shelf := snapshot().Shelf()
		if r.Parts != nil {
			shelf = mount.NewShelf(r.Parts.Sleeves, r.Parts.Spacers, r.Parts.Adapters, shelf.Limits())
		}
		result := shelf.BoltUpAs(r.End, r.Style, r.Bracket, r.Options)
		return wire.AppendHardware(nil, &result, &r, edition(), "en")
	case "/v1/rates":
		r, err := wire.ReadRates(body)
		if err != nil {
			t.Fatal(err)
		}
		a, faults := r.Question.Answer()
		if len(faults) > 0 {
			t.Fatal(faults)
		}
		rater, _ := damping.NewRater(&r.Question)
		whole := wire.RatesAnswer{Answer: &a, Covering: snapshot().Covering(rater, r.Top)}
		return wire.AppendRates(nil, &whole, &r, edition(), "en")
	default:
		r, err := wire.ReadTravel(body)
		if err != nil {
			t.Fatal(err)
		}
		l, faults := linkage.New(r.Linkage)
		if len(faults) > 0 {
			t.Fatal(faults)
		}
		travel, faults := l.Travel(r.Options)
		if len(faults) > 0 {
			t.Fatal(faults)
		}
		return wire.AppendTravel(nil, travel, &r, "en")
	}
}

func TestListsAreTheContracts(t *testing.T) {
	document := load(t)
	s := snapshot()
	page := wire.Page{Units: unit.Inches, From: edition(), Next: "abc"}
	dampers := pointers(s.Dampers())
	last := page
	last.Next = ""
	for _, list := range []struct {
		schema string
		body   []byte
	}{
		{"DamperPage", wire.Dampers().AppendPage(nil, page, dampers)},
		{"DamperPage", wire.Dampers().AppendPage(nil, last, nil)},
		{"DamperAnswer", wire.Dampers().AppendOne(nil, page, dampers[0])},
		{"SleevePage", wire.Sleeves().AppendPage(nil, page, pointers(s.Sleeves()))},
		{"SpacerPage", wire.Spacers().AppendPage(nil, page, pointers(s.Spacers()))},
		{"AdapterPage", wire.Adapters().AppendPage(nil, page, pointers(s.Adapters()))},
	} {
		holds(t, document, list.schema, list.body)
	}
}

func pointers[T any](all []T) []*T {
	p := make([]*T, len(all))
	for i := range all {
		p[i] = &all[i]
	}
	return p
}

// holds holds an answer against a schema of the contract.
func holds(t *testing.T, document *openapi3.T, name string, body []byte) {
	t.Helper()
	var value any
	if err := json.Unmarshal(body, &value); err != nil {
		t.Fatalf("%v\n%s", err, body)
	}
	schema := document.Components.Schemas[name].Value
	if err := schema.VisitJSON(value, openapi3.EnableJSONSchema2020(), openapi3.MultiErrors()); err != nil {
		var many openapi3.MultiError
		if errors.As(err, &many) {
			err = many[0]
		}
		t.Fatalf("%s: %v\n%s", name, err, body)
	}
	for _, stranger := range undeclared("", value, []*openapi3.Schema{schema}) {
		t.Errorf("%s: the contract doesn't name %s", name, stranger)
	}
}

// undeclared lists the members of a value that no alternative of its schema
// names.
func undeclared(at string, value any, schemas []*openapi3.Schema) []string {
	schemas = alternativesOf(schemas)
	var found []string
	switch v := value.(type) {
	case map[string]any:
		for _, name := range slices.Sorted(maps.Keys(v)) {
			var next []*openapi3.Schema
			free := false
			for _, s := range schemas {
				if p := s.Properties[name]; p != nil {
					next = append(next, p.Value)
				}
				free = free || s.AdditionalProperties.Schema != nil
			}
			switch {
			case len(next) > 0:
				found = append(found, undeclared(at+"/"+name, v[name], next)...)
			case !free:
				found = append(found, at+"/"+name)
			}
		}
	case []any:
		var items []*openapi3.Schema
		for _, s := range schemas {
			if s.Items != nil {
				items = append(items, s.Items.Value)
			}
		}
		for _, item := range v {
			found = append(found, undeclared(at+"/-", item, items)...)
		}
	}
	return slices.Compact(found)
}

// alternativesOf gives what schemas are all of or one of.
func alternativesOf(schemas []*openapi3.Schema) []*openapi3.Schema {
	var all []*openapi3.Schema
	for _, s := range schemas {
		all = append(all, s)
		for _, parts := range []openapi3.SchemaRefs{s.AllOf, s.OneOf, s.AnyOf} {
			for _, p := range parts {
				all = append(all, alternativesOf([]*openapi3.Schema{p.Value})...)
			}
		}
	}
	return all
}

type requestFile struct {
	name string
	body []byte
}

// examplesOfRequests are the request files that the whole tree shares.
func examplesOfRequests(t testing.TB) []requestFile {
	t.Helper()
	paths, err := filepath.Glob("../../testdata/examples/*.json")
	if err != nil {
		t.Fatal(err)
	}
	var files []requestFile
	for _, path := range paths {
		files = append(files, requestFile{filepath.Base(path), read(t, path)})
	}
	return files
}
