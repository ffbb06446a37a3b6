package wire_test

import (
	"cmp"
	"encoding/json"
	"fmt"
	"net/url"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"midstroke/internal/fit"
	"midstroke/internal/form"
	"midstroke/internal/wire"
)

// flattened writes a body's fields under their flat names, as numbers and texts
// are written in a query.
func flattened(body any) url.Values {
	values := url.Values{}
	for _, n := range wire.FlatNames() {
		v, given := lookUp(body, n.Pointer)
		if !given {
			continue
		}
		items, isList := v.([]any)
		if !isList {
			items = []any{v}
		}
		for _, item := range items {
			side := ""
			if reading, ok := item.(map[string]any); ok {
				item = reading["length"]
				side, _ = reading["side"].(string)
			}
			if want := strings.TrimPrefix(strings.TrimPrefix(n.Name, "readings"), "_"); n.Pointer == "/readings" && want != side {
				continue
			}
			values.Add(n.Name, fmt.Sprint(item))
		}
	}
	return values
}

// TestFlatFormIsTheBody reads every example both ways: as a body and as a query.
func TestFlatFormIsTheBody(t *testing.T) {
	bodies := requestBodies(t, load(t), "/v1/fits")
	bodies["everyday"] = []byte(everyday)
	for name, raw := range bodies {
		t.Run(name, func(t *testing.T) {
			want, err := wire.ReadFits(raw)
			if err != nil {
				t.Fatal(err)
			}
			var body any
			if err := json.Unmarshal(raw, &body); err != nil {
				t.Fatal(err)
			}
			want.Fit.Obstacles = nil // a list of records has no flat form
			values := flattened(body)
			got, err := wire.ReadFitsQuery(values)
			if err != nil {
				t.Fatalf("%v\n%s", err, values.Encode())
			}
			sameRequest(t, got, want)

			values.Set("top", cmp.Or(values.Get("top"), " ")) // a blank value is none
			got, err = wire.ReadFitsQuery(values)
			if err != nil {
				t.Fatalf("%v\n%s", err, values.Encode())
			}
			sameRequest(t, got, want)
		})
	}
}

func sameRequest(t *testing.T, got, want wire.FitsRequest) {
	t.Helper()
	if !got.Flat() {
		t.Error("it doesn't know that it is flat")
	}
	if !reflect.DeepEqual(got.Fit, want.Fit) {
		t.Errorf("got  %+v\nwant %+v", got.Fit, want.Fit)
	}
	if got.Units != want.Units || got.Reference != want.Reference || got.Catalog != want.Catalog || got.Revision != want.Revision {
		t.Errorf("got  %+v\nwant %+v", got, want)
	}
}

// TestBadQueries tells faults by the sender's own names.
func TestBadQueries(t *testing.T) {
	const sound = "units=in&upper=eye&lower=eye&readings=16.5&suspension=solid_axle"
	for _, test := range []struct {
		name, query string
		want        []place
	}{
		{"nothing", "", []place{{"units", "missing"}, {"upper", "missing"}, {"lower", "missing"}, {"readings", "missing"}, {"suspension", "missing"}}},
		{"missing units, and what doesn't follow from it", "upper=eye&upper_measured_to=far_edge&lower=eye&readings=18&planned_change=2", []place{
			{"units", "missing"}, {"upper_bolt", "missing"}, {"motion_ratio", "missing"}, {"suspension", "missing"},
		}},
		{"unknown names", sound + "&upper_style=eye&raedings=16", []place{{"raedings", "unknown_field"}, {"upper_style", "unknown_field"}}},
		{"a list in one parameter", sound + "&readings=17.5|17.6&codes=a|b|&limits_adjusters=rebound|x", []place{
			{"readings", "not_repeated"}, {"limits_adjusters", "not_repeated"}, {"codes", "not_repeated"}, {"limits_adjusters", "not_allowed"},
		}},
		{"once only", sound + "&units=mm", []place{{"units", "duplicate_field"}}},
		{"lengths", sound + "&lower_opening=1,5&limits_max_compressed=-3", []place{{"lower_opening", "comma"}, {"limits_max_compressed", "not_positive"}}},
		{"numbers", sound + "&lean_deg=0x10&top=1e1x&motion_ratio=NaN&explain=1", []place{
			{"motion_ratio", "wrong_type"}, {"lean_deg", "wrong_type"}, {"top", "wrong_type"}, {"explain", "wrong_type"},
		}},
		{"sides", "units=in&upper=eye&lower=eye&readings_left=16.5&readings_right=16,5&readings_right=17&suspension=solid_axle", []place{{"readings_right", "comma"}}},
		{"what the core finds", sound + "&upper_measured_to=near_edge&tape=vertical&planned_change=1", []place{
			{"upper_bolt", "missing"}, {"sideways_offset", "missing"}, {"motion_ratio", "missing"},
		}},
		{"styles and bases", "units=in&upper=ring&lower=eye&readings=16.5&travel=guess&condition=wet", []place{
			{"upper", "not_allowed"}, {"condition", "not_allowed"}, {"travel", "not_allowed"},
		}},
		{"a figure without its whole", "units=in&upper_bolt=M12&lower=eye&readings=16.5&travel_bump=3&suspension=solid_axle", []place{{"upper", "missing"}, {"travel", "missing"}}},
		{"travel by halves", sound + "&travel=linkage&travel_linkage_kind=inclined&travel_linkage_damper_upper=1", []place{
			{"travel_range_bump", "missing"}, {"travel_linkage_damper_upper", "too_few"}, {"travel_linkage_damper_lower", "missing"},
		}},
	} {
		t.Run(test.name, func(t *testing.T) {
			values, err := url.ParseQuery(test.query)
			if err != nil {
				t.Fatal(err)
			}
			r, err := wire.ReadFitsQuery(values)
			if err == nil {
				err = r.Place(fit.Check(&r.Fit))
			}
			sameFaults(t, err, test.want)
		})
	}
}

// TestFaultsOfAListSayWhichItem: a parameter that stands several times has one
// name, so each fault has the value that it is of.
func TestFaultsOfAListSayWhichItem(t *testing.T) {
	values := url.Values{
		"units": {"in"}, "upper": {"eye"}, "lower": {"eye"}, "suspension": {"solid_axle"}, "top": {"99"},
		"readings": {"18", "0", "19,5"}, "readings_left": {strings.Repeat("x", 70)},
		"travel": {"linkage"}, "travel_linkage_kind": {"inclined"}, "travel_range_bump": {"1"}, "travel_range_droop": {"1"},
		"travel_linkage_damper_upper": {"0", "y", "64"}, "travel_linkage_damper_lower": {"0", "0", "26"},
	}
	_, err := wire.ReadFitsQuery(values)
	faults, ok := faultsOf(err)
	if !ok {
		t.Fatal(err)
	}
	type told struct {
		parameter, value string
		item             bool
	}
	var got []told
	for _, f := range faults {
		got = append(got, told{f.Parameter, f.Value, f.Item})
	}
	want := []told{
		{"readings", "0", true}, {"readings", "19,5", true}, {"readings_left", strings.Repeat("x", 64) + "…", true},
		{"travel_linkage_damper_upper", "y", true}, {"top", "99", false},
	}
	if !slices.Equal(got, want) {
		t.Errorf("got  %+v\nwant %+v", got, want)
	}
}

func TestFaultsBeyondTheListAreCounted(t *testing.T) {
	values := url.Values{}
	for i := range 300 {
		values["x"+strconv.Itoa(i)] = []string{"1"}
	}
	_, err := wire.ReadFitsQuery(values)
	faults, ok := faultsOf(err)
	if !ok {
		t.Fatal(err)
	}
	more := 0.0
	for _, f := range faults {
		if f.Code == form.TooManyFaults {
			more += f.Values[0].Number
		}
	}
	if more != 100 || len(faults) != 200+1+5 {
		t.Errorf("%d faults and %v more", len(faults), more)
	}
}

func TestQuerySuggestions(t *testing.T) {
	_, err := wire.ReadFitsQuery(url.Values{"upper_style": {"eye"}, "max_body_diameter": {"3"}, "lower_opning": {"2"}})
	for _, want := range []string{"did you mean upper?", "did you mean limits_max_body_diameter?", "did you mean lower_opening?"} {
		if !strings.Contains(err.Error(), want) {
			t.Errorf("%v doesn't say %q", err, want)
		}
	}
}

// TestQueriesInAnyOrder reads the same from the same parameters, as a link may
// have them in any order and a map has none.
func TestQueriesInAnyOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		parts := rapid.Permutation([]string{
			"units=in", "upper=stud", "lower=eye", "readings=16.5", "readings=16.625", "lower_bolt=M12",
			"travel=stated", "travel_compression=2", "travel_extension=2.5", "limits_adjusters=rebound", "prefer_ride_position=.5",
		}).Draw(t, "parts")
		values, err := url.ParseQuery(strings.Join(parts, "&"))
		if err != nil {
			t.Fatal(err)
		}
		r, err := wire.ReadFitsQuery(values)
		if err != nil {
			t.Fatal(err)
		}
		if len(r.Fit.Readings.Readings) != 2 || *r.Fit.Prefer != (fit.Ratio{Num: 5, Den: 10}) {
			t.Fatalf("%+v", r.Fit)
		}
	})
}

// FuzzReadFitsQuery: whatever the query, it is read or each fault names a
// parameter, unless it is about the whole.
func FuzzReadFitsQuery(f *testing.F) {
	f.Add("units=in&upper=eye&lower=eye&readings=16.5&readings_left=3&travel=stated&travel_compression=1/2&a=b")
	f.Fuzz(func(t *testing.T, query string) {
		values, err := url.ParseQuery(query)
		if err != nil {
			t.Skip()
		}
		show, rest, faults := wire.ReadShow(values)
		_, err = wire.ReadFitsQuery(rest)
		found, ok := faultsOf(err)
		if !ok {
			t.Fatal(err)
		}
		for _, fault := range append(faults, found...) {
			if fault.Pointer != "" || !isTold(&fault) {
				t.Errorf("%+v", fault)
			}
		}
		if show.Rank < 1 {
			t.Errorf("%+v", show)
		}
	})
}
