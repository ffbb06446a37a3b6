package wire_test

import (
	"encoding/json"
	"errors"
	"maps"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/getkin/kin-openapi/openapi3"
	"pgregory.net/rapid"

	"midstroke/api"
	"midstroke/internal/fault"
	"midstroke/internal/fit"
	"midstroke/internal/linkage"
	_ "midstroke/internal/seeded"
	"midstroke/internal/wire"
)

// The contract's schemas say what a body may be, and the readers decide it.
// The tests below put the same bodies to both and fail on the first difference
// of verdict, but for faults of content, which no schema can express:
//
//   - how a length, a bolt or a thread is spelled, and a length's sign and size
//     where it is written as text; a bare number of more than 393.7 in;
//   - more digits than are kept (too_precise);
//   - what only two fields together show: points beside at, poses of what is no
//     solid axle, parts of one code, and whatever the core finds in a request
//     whose fields are each what they may be.
//
// A plane that an end doesn't have, and a linkage without one of its points or
// with points of too few figures, are found by the core and yet are the
// schema's to refuse, too.

// decider is a body's reader and the schema that is held against it.
type decider struct {
	schema string
	path   string
	// read gives the faults of a body, the core's among them.
	read func(body []byte) error
}

var deciders = []decider{
	{"FitsRequest", "/v1/fits", func(body []byte) error {
		r, err := wire.ReadFits(body)
		if err != nil {
			return err
		}
		return r.Place(fit.Check(&r.Fit))
	}},
	{"HardwareRequest", "/v1/hardware", func(body []byte) error {
		_, err := wire.ReadHardware(body)
		return err
	}},
	{"RatesRequest", "/v1/rates", func(body []byte) error {
		_, err := wire.ReadRates(body)
		return err
	}},
	{"TravelRequest", "/v1/travel", func(body []byte) error {
		r, err := wire.ReadTravel(body)
		if err != nil {
			return err
		}
		var core fault.List
		_, found := linkage.New(r.Linkage)
		core.AddUnder("/linkage", found)
		return r.Place(core)
	}},
}

// structural are the codes of faults that a schema expresses. All others are
// faults of content.
var structural = []string{
	"missing", "unknown_field", "wrong_type", "not_allowed", "out_of_range", "not_positive", "negative",
	"text_too_long", "blank", "not_a_name", "too_few", "too_many", "not_with_state", "not_with_style", "not_with_basis", "not_with_kind", "not_with_on",
	// measure
	"wrong_plane",
	// linkage
	"not_for_kind", "wrong_dimension", "unknown_value",
}

// neededByOthers are optional fields that another field's value may call for.
var neededByOthers = []string{
	"/suspension", "/motion_ratio", "/sideways_offset",
	"/upper/bolt", "/upper/bar_offset", "/upper/plate", "/upper/stud_length",
	"/lower/bolt", "/lower/bar_offset", "/lower/plate", "/lower/stud_length",
	"/corner/wheel_rate_n_mm", "/corner/spring_ratio", "/corner/damper_ratio", "/travel/corner", "/travel/corner/wheel_rate_n_mm", "/travel/corner/spring_ratio",
}

// isStructural says whether a schema must refuse the body for this fault.
func isStructural(f fault.Fault, body any) bool {
	code := f.Code.Public()
	value, _ := lookUp(body, f.Pointer)
	_, isText := value.(string)
	n, isNumber := value.(float64)
	switch {
	case !slices.Contains(structural, code):
		return false
	case f.Pointer == "/poses" && code == "not_with_kind":
		return false
	case (code == "not_positive" || code == "negative") && isText:
		return false // a length that is spelled
	case code == "missing":
		return !slices.Contains(neededByOthers, f.Pointer)
	case code == "out_of_range" && f.Pointer == "/motion_ratio_tolerance":
		// Against the ratio itself it is content, alone it is not.
		return n < 0 || n > 10
	case code == "out_of_range":
		return isNumber // else it is a linkage that leans too far
	}
	return true
}

// lookUp follows an RFC 6901 pointer.
func lookUp(body any, pointer string) (any, bool) {
	if pointer == "" {
		return body, true
	}
	for _, step := range strings.Split(pointer[1:], "/") {
		step = strings.NewReplacer("~1", "/", "~0", "~").Replace(step)
		switch at := body.(type) {
		case map[string]any:
			next, ok := at[step]
			if !ok {
				return nil, false
			}
			body = next
		case []any:
			i, err := strconv.Atoi(step)
			if err != nil || i >= len(at) {
				return nil, false
			}
			body = at[i]
		default:
			return nil, false
		}
	}
	return body, true
}

// schemaRefuses puts bodies to the contract's schema, all in one call since a
// 3.1 schema is compiled anew at each, and says which of them it refuses.
func schemaRefuses(t testing.TB, document *openapi3.T, schema string, bodies []any) []bool {
	t.Helper()
	list := openapi3.NewArraySchema()
	list.Items = openapi3.NewSchemaRef("#/components/schemas/"+schema, document.Components.Schemas[schema].Value)
	refused := make([]bool, len(bodies))
	var mark func(error)
	mark = func(err error) {
		var many openapi3.MultiError
		var one *openapi3.SchemaError
		switch {
		case err == nil:
		case errors.As(err, &many):
			for _, e := range many {
				mark(e)
			}
		case errors.As(err, &one):
			pointer := one.JSONPointer()
			if len(pointer) == 0 {
				t.Fatalf("the schema refuses the list itself: %v", err)
			}
			i, err := strconv.Atoi(pointer[0])
			if err != nil {
				t.Fatal(err)
			}
			refused[i] = true
		default:
			t.Fatalf("%T: %v", err, err)
		}
	}
	mark(list.VisitJSON(bodies, openapi3.EnableJSONSchema2020(), openapi3.MultiErrors(),
		// Nobody reads the messages, which cost more than the verdict.
		openapi3.SetSchemaErrorMessageCustomizer(func(*openapi3.SchemaError) string { return "refused" })))
	return refused
}

// compare puts bodies to both deciders.
func (d *decider) compare(t testing.TB, document *openapi3.T, bodies []any) (refusals int) {
	t.Helper()
	refused := schemaRefuses(t, document, d.schema, bodies)
	for i, body := range bodies {
		raw, err := json.Marshal(body)
		if err != nil {
			t.Fatal(err)
		}
		err = d.read(raw)
		faults, ok := faultsOf(err)
		if !ok {
			t.Fatalf("%s: %s: %v", d.schema, raw, err)
		}
		mine := slices.ContainsFunc(faults, func(f fault.Fault) bool { return isStructural(f, body) })
		if mine != refused[i] {
			t.Fatalf("%s: the schema refuses: %t, the reader: %t with %v\n%s", d.schema, refused[i], mine, faults, raw)
		}
		if mine {
			refusals++
		}
	}
	return refusals
}

// examples are the contract's own request bodies for a path.
func examples(t testing.TB, document *openapi3.T, path string) []any {
	t.Helper()
	var bodies []any
	content := document.Paths.Value(path).Post.RequestBody.Value.Content["application/json"]
	for _, name := range slices.Sorted(maps.Keys(content.Examples)) {
		bodies = append(bodies, plain(t, content.Examples[name].Value.Value))
	}
	if len(bodies) == 0 {
		t.Fatalf("the contract has no example for %s", path)
	}
	return bodies
}

// plain makes a value what encoding/json decodes.
func plain(t testing.TB, v any) any {
	t.Helper()
	raw, err := json.Marshal(v)
	if err != nil {
		t.Fatal(err)
	}
	var p any
	if err := json.Unmarshal(raw, &p); err != nil {
		t.Fatal(err)
	}
	return p
}

// strangers are put in the place of each value of an example.
var strangers = []any{
	nil, true, false, 0.0, 1.0, -1.0, 1.5, 8.0, 9999.0, 10001.0, 1e12, "", "x", " x", "a\nb", "12", "-3", "17 1/4", "17,25", "M12", "eye", "stud", "rule",
	[]any{}, []any{1.0, 2.0, 3.0}, []any{"x", nil}, map[string]any{}, map[string]any{"style": "eye"}, map[string]any{"length": 1.0, "side": "left"},
}

// mutants gives every body that differs from the given one in one place: a
// member or an item left out, doubled or replaced, or a member added.
func mutants(t testing.TB, body any) []any {
	t.Helper()
	var all []any
	var walk func(at any, put func(any))
	walk = func(at any, put func(any)) {
		keep := func(v any) {
			put(v)
			all = append(all, plain(t, body))
			put(at)
		}
		for _, s := range strangers {
			keep(s)
		}
		switch v := at.(type) {
		case map[string]any:
			for _, name := range slices.Sorted(maps.Keys(v)) {
				old := v[name]
				delete(v, name)
				keep(v)
				v[name] = old
				walk(old, func(n any) { v[name] = n })
			}
			for _, name := range []string{"zzz", "bolt", "bore", "plate", "bar_offset", "stud_length", "reserve", "arch_gap", "pivot_a", "tie_rod", "at", "codes"} {
				if _, given := v[name]; given {
					continue
				}
				for _, value := range []any{1.0, "1/2", map[string]any{}} {
					v[name] = value
					keep(v)
				}
				delete(v, name)
			}
		case []any:
			for i := range v {
				walk(v[i], func(n any) { v[i] = n })
				keep(slices.Delete(slices.Clone(v), i, i+1))
			}
			if len(v) > 0 {
				keep(append(slices.Clone(v), v[0]))
				keep(slices.Repeat(v, 9))
			}
		}
	}
	walk(body, func(v any) { body = v })
	return all
}

func TestDecidersAgreeOnExamples(t *testing.T) {
	document := load(t)
	for _, d := range deciders {
		bodies := examples(t, document, d.path)
		if n := d.compare(t, document, bodies); n != 0 {
			t.Errorf("%s: %d of the contract's own examples are refused", d.schema, n)
		}
		for i, body := range bodies {
			raw, _ := json.Marshal(body)
			if err := d.read(raw); err != nil {
				t.Errorf("%s: example %d: %v", d.schema, i, err)
			}
		}
	}
}

func TestDecidersAgreeOnMutants(t *testing.T) {
	document := load(t)
	for _, d := range deciders {
		t.Run(d.schema, func(t *testing.T) {
			total, refusals := 0, 0
			for i, body := range examples(t, document, d.path) {
				bodies := mutants(t, body)
				if !long() {
					bodies = everyNth(bodies, i, 8)
				}
				total += len(bodies)
				refusals += d.compare(t, document, bodies)
			}
			// Both sides of the verdict must have been put to the test.
			if refusals < total/4 || refusals > total*19/20 {
				t.Errorf("%d of %d mutants refused", refusals, total)
			}
			t.Logf("%d mutants, %d refused", total, refusals)
		})
	}
}

// everyNth thins bodies out, from the start'th on.
func everyNth(bodies []any, start, n int) []any {
	var few []any
	for i := start % n; i < len(bodies); i += n {
		few = append(few, bodies[i])
	}
	return few
}

// TestDecidersAgreeOnCrossbreeds changes examples in several places at once
// and swaps parts between them.
func TestDecidersAgreeOnCrossbreeds(t *testing.T) {
	document := load(t)
	for _, d := range deciders {
		t.Run(d.schema, func(t *testing.T) {
			stock := examples(t, document, d.path)
			parts := slices.Clone(strangers)
			for _, body := range stock {
				parts = append(parts, partsOf(body)...)
			}
			size := 5
			if long() {
				size = 100
			}
			// The schema is asked once for all of them, so there is nothing to
			// shrink; what fails is printed whole.
			var bodies []any
			rapid.Check(t, func(rt *rapid.T) {
				for range size {
					body := plain(t, rapid.SampledFrom(stock).Draw(rt, "body"))
					for range rapid.IntRange(1, 3).Draw(rt, "changes") {
						change(rt, body, parts)
					}
					bodies = append(bodies, body)
				}
			})
			d.compare(t, document, bodies)
		})
	}
}

// partsOf lists everything within a body.
func partsOf(body any) []any {
	parts := []any{body}
	switch v := body.(type) {
	case map[string]any:
		for _, name := range slices.Sorted(maps.Keys(v)) {
			parts = append(parts, partsOf(v[name])...)
		}
	case []any:
		for _, item := range v {
			parts = append(parts, partsOf(item)...)
		}
	}
	return parts
}

// clone keeps a part from being changed, or put into itself, where it goes.
func clone(v any) any {
	switch v := v.(type) {
	case map[string]any:
		c := make(map[string]any, len(v))
		for name, member := range v {
			c[name] = clone(member)
		}
		return c
	case []any:
		c := make([]any, len(v))
		for i, item := range v {
			c[i] = clone(item)
		}
		return c
	}
	return v
}

// change puts one of parts somewhere into body.
func change(rt *rapid.T, body any, parts []any) {
	for depth := 0; ; depth++ {
		var put func(any)
		var next any
		switch v := body.(type) {
		case map[string]any:
			if len(v) == 0 {
				return
			}
			name := rapid.SampledFrom(slices.Sorted(maps.Keys(v))).Draw(rt, "name")
			next, put = v[name], func(n any) { v[name] = n }
		case []any:
			if len(v) == 0 {
				return
			}
			i := rapid.IntRange(0, len(v)-1).Draw(rt, "item")
			next, put = v[i], func(n any) { v[i] = n }
		default:
			return
		}
		_, record := next.(map[string]any)
		_, list := next.([]any)
		if !record && !list || rapid.Bool().Draw(rt, "here") {
			put(clone(rapid.SampledFrom(parts).Draw(rt, "part")))
			return
		}
		body = next
	}
}

func load(t testing.TB) *openapi3.T {
	t.Helper()
	document, err := api.Load()
	if err != nil {
		t.Fatal(err)
	}
	return document
}
