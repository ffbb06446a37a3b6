package wire_test

import (
	"errors"
	"reflect"
	"strings"
	"testing"

	"midstroke/internal/catalog"
	"midstroke/internal/fit"
	"midstroke/internal/form"
	"midstroke/internal/measure"
	"midstroke/internal/mount"
	"midstroke/internal/unit"
	"midstroke/internal/wire"
)

// inches gives sixty-fourths of an inch as a length.
func inches(sixtyFourths int) unit.Length { return unit.Length(sixtyFourths) * unit.Inch / 64 }

const everyday = `{
  "units": "in",
  "reference": "ticket 4411, rear axle",
  "catalog": "demo", "revision": 7,
  "upper": {"style": "stud", "measured_to": "frame_face", "bushing_thickness": "3/8", "washer_thickness": "1/16"},
  "lower": {"style": "eye", "bolt": "M12", "opening": "1 1/2", "plate": "3/16", "shear": "double", "grade": "8.8"},
  "readings": ["16 5/8", {"length": "423.8625 mm", "side": "left"}],
  "reading_tolerance": "1/16",
  "condition": {"state": "not_at_ride", "arch_gap": 17.75, "arch_gap_at_ride": "16 9/16", "gap_tolerance": "1/8"},
  "motion_ratio": 0.91, "motion_ratio_tolerance": 0.02,
  "planned_change": "-1 1/2",
  "old_damper": {"at_stop": false},
  "lean_deg": 12.5,
  "ride_height_range": {"below": "1 1/4", "above": 1.5},
  "suspension": "solid_axle",
  "travel": {"basis": "wheel", "bump": 3, "droop": 2.5, "reserve": "1/4"},
  "limits": {"max_body_diameter": 3, "max_compressed": "14 in", "construction": "monotube", "adjusters": ["rebound", "rebound", "compression"],
    "in_stock": true, "max_price": "84.50", "mounting": "inverted", "adapters": "none"},
  "prefer": {"ride_position": 0.45},
  "codes": ["a", "b"],
  "top": 12, "near_misses": 0, "dampers": 4, "explain": true
}`

// TestReadFits reads each field into its place.
func TestReadFits(t *testing.T) {
	r, err := wire.ReadFits([]byte(everyday))
	if err != nil {
		t.Fatal(err)
	}
	bolt, _ := mount.ParseBolt("M12", unit.Millimetres)
	want := fit.Request{
		Readings: measure.Readings{
			Readings:  []measure.Reading{{Length: inches(1064)}, {Length: 423_862_500, Side: measure.Left}},
			Tolerance: inches(4),
			Upper:     measure.EndReading{Style: mount.Stud, Plane: mount.FrameFace, BushingThickness: inches(24), WasherThickness: inches(4)},
			Lower:     measure.EndReading{Style: mount.Eye, BoltDiameter: 12 * unit.Millimetre, Plate: inches(12)},
			Condition: measure.Condition{
				NotAtRide: true, ArchGap: inches(1136), ArchGapAtRide: inches(1060), GapTolerance: inches(8),
			},
			MotionRatio: 0.91, MotionRatioTolerance: 0.02, PlannedChange: -inches(96),
		},
		Upper:      mount.Bracket{Bushing: inches(24), Washer: inches(4)},
		Lower:      mount.Bracket{Bolt: bolt, Opening: inches(96), Plate: inches(12), Shear: mount.DoubleShear, Grade: "8.8"},
		LeanDeg:    12.5,
		Heights:    fit.Heights{Below: inches(80), Above: inches(96)},
		Suspension: fit.SolidAxle,
		Travel:     fit.Travel{Basis: fit.ByWheel, Bump: inches(192), Droop: inches(160), Reserve: inches(16)},
		Limits: fit.Limits{
			MaxBodyDiameter: inches(192), MaxCompressed: inches(896), Construction: catalog.Monotube,
			Adjusters: catalog.Rebound | catalog.Compression, InStock: true, MaxPrice: 8450, HasMaxPrice: true,
			Mounting: fit.Inverted, NoAdapters: true,
		},
		Prefer: &fit.Ratio{Num: 45, Den: 100},
		Codes:  []string{"a", "b"},
		Top:    12, NearMisses: new(int), Dampers: 4, Explain: true,
	}
	if !reflect.DeepEqual(r.Fit, want) {
		t.Errorf("got  %+v\nwant %+v", r.Fit, want)
	}
	if r.Units != unit.Inches || r.Reference != "ticket 4411, rear axle" || r.Catalog != "demo" || r.Revision != 7 || r.Flat() {
		t.Errorf("got %+v", r)
	}
}

func TestReadFitsDefaults(t *testing.T) {
	r, err := wire.ReadFits([]byte(`{"units":"mm","upper":{"style":"eye"},"lower":{"style":"eye"},"readings":[450],"suspension":"independent"}`))
	if err != nil {
		t.Fatal(err)
	}
	want := fit.Request{
		Readings: measure.Readings{
			Readings: []measure.Reading{{Length: 450 * unit.Millimetre}},
			Upper:    measure.EndReading{Style: mount.Eye}, Lower: measure.EndReading{Style: mount.Eye},
		},
		LeanDeg: -1, Suspension: fit.Independent,
		Travel: fit.Travel{Reserve: fit.DefaultReserve},
		Top:    fit.DefaultTop, Dampers: fit.DefaultDampers,
	}
	// A price of nothing asked is whatever price() gives for it.
	r.Fit.Limits = fit.Limits{}
	if !reflect.DeepEqual(r.Fit, want) {
		t.Errorf("got  %+v\nwant %+v", r.Fit, want)
	}
}

// TestOrderOfMembersNeverMatters puts units last, after every length.
func TestOrderOfMembersNeverMatters(t *testing.T) {
	moved := `{` + strings.TrimSuffix(strings.Replace(strings.TrimPrefix(everyday, "{"), `"units": "in",`, "", 1), "}") + `, "units": "in"}`
	a, err := wire.ReadFits([]byte(everyday))
	if err != nil {
		t.Fatal(err)
	}
	b, err := wire.ReadFits([]byte(moved))
	if err != nil {
		t.Fatal(err)
	}
	if !reflect.DeepEqual(a, b) {
		t.Errorf("%+v\n%+v", a, b)
	}
}

// place is a fault's place and its code.
type place struct{ pointer, code string }

// with puts members into a sound body in place of its own.
func with(members string) string {
	sound := map[string]string{
		"units": `"in"`, "upper": `{"style":"eye"}`, "lower": `{"style":"eye"}`, "readings": `[16.5]`, "suspension": `"solid_axle"`,
	}
	body := "{"
	for _, name := range []string{"units", "upper", "lower", "readings", "suspension"} {
		if !strings.Contains(members, `"`+name+`":`) {
			body += `"` + name + `":` + sound[name] + ","
		}
	}
	return body + members + "}"
}

// TestBadInput tells every fault of a body, each with its pointer.
func TestBadInput(t *testing.T) {
	for _, test := range []struct {
		name, body string
		want       []place
	}{
		{"no members", `{}`, []place{{"/units", "missing"}, {"/upper", "missing"}, {"/lower", "missing"}, {"/readings", "missing"}, {"/suspension", "missing"}}},
		{"not an object", `[1]`, []place{{"", "wrong_type"}}},
		{"null", `null`, []place{{"", "wrong_type"}}},
		{"missing units, and nothing else that follows from it", with(`"units":null,"readings":[16.5],"limits":{"max_compressed":"14"}`), []place{{"/units", "wrong_type"}}},
		{"missing units, and what doesn't follow from it", with(`"units":null,"upper":{"style":"eye","measured_to":"near_edge"},"lower":{"style":"eye","measured_to":"stud_tip","bolt":"M12","grade":"SAE 5"},"readings":["17 1/4",400,"16,5"],"planned_change":1,"suspension":null`), []place{
			{"/units", "wrong_type"}, {"/readings/2", "comma"}, {"/suspension", "wrong_type"}, {"/lower/grade", "grade_of_other_thread"},
			{"/upper/bolt", "missing"}, {"/lower/measured_to", "wrong_plane"}, {"/motion_ratio", "missing"},
		}},
		{"missing units, and what was said in them", with(`"units":null,"upper":{"style":"eye","measured_to":"near_edge","bolt":"7/16","grade":"8.8"},"lower":{"style":"stud","measured_to":"frame_far_face","plate":5,"washer":1e-7},"readings":[9000,0.5],"planned_change":"-1/2","motion_ratio":0.5`), []place{{"/units", "wrong_type"}}},
		{"units that don't exist", with(`"units":"cm"`), []place{{"/units", "not_allowed"}}},
		{"wrong types", with(`"upper":"eye","readings":"16.5","explain":"yes","top":"10","limits":[],"lean_deg":true,"reference":4411`), []place{
			{"/reference", "wrong_type"}, {"/upper", "wrong_type"}, {"/readings", "wrong_type"}, {"/lean_deg", "wrong_type"},
			{"/limits", "wrong_type"}, {"/top", "wrong_type"}, {"/explain", "wrong_type"},
		}},
		{"unknown fields", with(`"colour":"red","lower":{"style":"eye","opnening":1.5},"limits":{"a/b~c":1}`), []place{
			{"/lower/opnening", "unknown_field"}, {"/limits/a~1b~0c", "unknown_field"}, {"/colour", "unknown_field"},
		}},
		{"a name twice", with(`"top":3,"top":4`), []place{{"/top", "duplicate_field"}}},
		{"null is no value", with(`"catalog":null,"prefer":null`), []place{{"/catalog", "wrong_type"}, {"/prefer", "wrong_type"}}},

		// R2.1
		{"decimal comma", with(`"readings":["16,5"]`), []place{{"/readings/0", "comma"}}},
		{"empty length", with(`"readings":[" "]`), []place{{"/readings/0", "empty"}}},
		// R2.8, R2.9, R3.11
		{"negative and zero", with(`"readings":[-16.5,0,"-16 1/2"]`), []place{{"/readings/0", "not_positive"}, {"/readings/1", "not_positive"}, {"/readings/2", "not_positive"}}},
		{"absurd lengths", with(`"readings":[394,10001,"11 m","33 ft"]`), []place{
			{"/readings/0", "too_large"}, {"/readings/1", "out_of_range"}, {"/readings/2", "too_large"}, {"/readings/3", "too_large"},
		}},
		{"a huge exponent", with(`"readings":[1e999999999]`), []place{{"/readings/0", "out_of_range"}}},
		// R2.3, R2.7
		{"eight kinds of bad fraction", with(`"readings":["17 1/0","17 5/4","17.5 1/4","17 - 1/4","1 /4","1/","/4","-1/-4"]`), []place{
			{"/readings/0", "fraction_zero_denominator"}, {"/readings/1", "fraction_improper"}, {"/readings/2", "fraction_after_decimal"},
			{"/readings/3", "subtraction"}, {"/readings/4", "fraction_blanks"}, {"/readings/5", "digits_missing"},
			{"/readings/6", ""}, {"/readings/7", ""},
		}},
		{"fractions of a millimetre", with(`"units":"mm","readings":["17 1/4","450 1/2 mm"]`), []place{{"/readings/0", "fraction_metric"}, {"/readings/1", "fraction_metric"}}},
		{"NaN as a text", with(`"readings":["NaN"]`), []place{{"/readings/0", "not_finite"}}},
		{"nine readings", with(`"readings":[16.5,16.5,16.5,16.5,16.5,16.5,16.5,16.5,16.5]`), []place{{"/readings", "too_many"}}},
		{"no readings", with(`"readings":[]`), []place{{"/readings", "too_few"}}},
		{"half a reading", with(`"readings":[{"side":"left"},{"length":16.5,"side":"middle","by":"eye"}]`), []place{
			{"/readings/0/length", "missing"}, {"/readings/1/side", "not_allowed"}, {"/readings/1/by", "unknown_field"},
		}},
		{"sides for some", with(`"readings":[{"length":16.5,"side":"left"},16.5]`), []place{{"/readings", "side_mixed"}}},

		{"end styles that don't exist", with(`"upper":{"style":"ring"},"lower":{"style":"Eye"}`), []place{{"/upper/style", "not_allowed"}, {"/lower/style", "not_allowed"}}},
		{"an end without a style", with(`"upper":{"bolt":"M12"}`), []place{{"/upper/style", "missing"}}},
		{"a plane that doesn't exist, and one of another style", with(`"upper":{"style":"eye","measured_to":"middle"},"lower":{"style":"eye","measured_to":"frame_face"}`), []place{
			{"/upper/measured_to", "not_allowed"}, {"/lower/measured_to", "wrong_plane"},
		}},
		{"planes without their figure", with(`"upper":{"style":"stud","measured_to":"stud_tip"},"lower":{"style":"eye","measured_to":"near_edge"}`), []place{
			{"/upper/stud_length", "missing"}, {"/lower/bolt", "missing"},
		}},
		{"figures of another style", with(`"upper":{"style":"eye","stud_length":2,"bar_offset":null}`), []place{{"/upper/bar_offset", "not_with_style"}, {"/upper/stud_length", "not_with_style"}}},
		{"bolts", with(`"upper":{"style":"eye","bolt":"M13"},"lower":{"style":"eye","bolt":12}`), []place{{"/upper/bolt", ""}, {"/lower/bolt", "wrong_type"}}},
		{"shear of triple, a grade that isn't known", with(`"upper":{"style":"eye","shear":"triple","grade":"9.9"}`), []place{{"/upper/shear", "not_allowed"}, {"/upper/grade", "not_allowed"}}},
		{"a class on an inch bolt", with(`"upper":{"style":"eye","bolt":"1/2 in","grade":"8.8"}`), []place{{"/upper/grade", "grade_of_other_thread"}}},

		{"two thicknesses of one frame", with(`"upper":{"style":"stud","plate":"1/4","frame_thickness":"3/16"},"lower":{"style":"stud","plate":0.25,"frame_thickness":"6.35 mm"}`), []place{{"/upper/frame_thickness", "contradiction"}}},
		{"contradictory condition", with(`"condition":{"state":"loaded","arch_gap":17}`), []place{{"/condition/arch_gap", "not_with_state"}}},
		{"contradictory travel", with(`"travel":{"basis":"rule","compression":2}`), []place{{"/travel/compression", "not_with_basis"}}},
		{"travel by halves", with(`"travel":{"basis":"stated","compression":2}`), []place{{"/travel/extension", "missing"}}},
		{"travel without a basis", with(`"travel":{}`), []place{{"/travel/basis", "missing"}}},
		{"a stop on the rod with figures of the chassis's", with(`"bump_stop":{"on":"rod","height":1.5,"squash":0.5,"gap":1,"motion_ratio":1,"reserve":0}`), []place{
			{"/bump_stop/gap", "not_with_on"}, {"/bump_stop/motion_ratio", "not_with_on"}, {"/bump_stop/reserve", "not_with_on"},
		}},
		{"a stop on the rod that squashes wholly", with(`"bump_stop":{"on":"rod","height":1.5,"squash":1}`), []place{{"/bump_stop/squash", "out_of_range"}}},
		{"a stop on the rod that doesn't squash", with(`"bump_stop":{"on":"rod","height":1.5,"squash":0}`), []place{{"/bump_stop/squash", "out_of_range"}}},
		{"a chassis stop by halves, on nothing that is named", with(`"motion_ratio":1,"bump_stop":{"height":1.5,"squash":0.5}`), []place{{"/bump_stop/gap", "missing"}, {"/bump_stop/motion_ratio", "missing"}}},
		{"a stop on the roof", with(`"motion_ratio":1,"bump_stop":{"on":"roof","height":1.5,"squash":0.5}`), []place{{"/bump_stop/on", "not_allowed"}}},
		{"droop beyond its limit", with(`"motion_ratio":1,"travel":{"basis":"wheel","bump":2,"droop":3},"droop_limit":{"by":"hose","travel":2.5}`), []place{{"/droop_limit/travel", "contradiction"}}},
		{"contradictory tolerance", with(`"motion_ratio":0.5,"motion_ratio_tolerance":0.6`), []place{{"/motion_ratio_tolerance", "out_of_range"}}},
		{"bump longer than droop", with(`"travel":{"basis":"measured","at_bump":18,"at_droop":15}`), []place{{"/travel/at_bump", "not_shorter"}, {"/travel/at_droop", "not_longer"}}},
		{"limits", with(`"limits":{"max_price":-1,"mounting":"sideways","adjusters":["bounce"],"max_body_diameter":"3,5"}`), []place{
			{"/limits/max_body_diameter", "comma"}, {"/limits/adjusters/0", "not_allowed"}, {"/limits/max_price", "out_of_range"}, {"/limits/mounting", "not_allowed"},
		}},
		{"prices", with(`"limits":{"max_price":"84.505"}`), []place{{"/limits/max_price", "not_allowed"}}},
		{"a price of three decimals", with(`"limits":{"max_price":84.505}`), []place{{"/limits/max_price", "too_precise"}}},
		{"bounds", with(`"top":51,"dampers":0,"revision":1.5,"motion_ratio":0,"prefer":{"ride_position":1.01},"codes":[""],"reference":"` + strings.Repeat("ö", 201) + `"`), []place{
			{"/reference", "text_too_long"}, {"/revision", "wrong_type"}, {"/motion_ratio", "out_of_range"}, {"/prefer/ride_position", "out_of_range"},
			{"/codes/0", "blank"}, {"/top", "out_of_range"}, {"/dampers", "out_of_range"},
		}},
		{"the core's faults beside ours", with(`"top":51,"suspension":null,"planned_change":1`), []place{
			{"/suspension", "wrong_type"}, {"/top", "out_of_range"}, {"/motion_ratio", "missing"},
		}},
		{"a linkage without its points", with(`"top":0,"upper":{"style":"eye"},"travel":{"basis":"linkage","linkage":{"kind":"swing_arm","damper":{"upper":[0,0,1]},"roll_point":[1,2,3]},"range":{"bump":3}}`), []place{
			{"/travel/range/droop", "missing"},
			{"/travel/linkage/pivot_a", "missing"}, {"/travel/linkage/pivot_b", "missing"}, {"/travel/linkage/wheel", "missing"},
			{"/travel/linkage/roll_point", "not_with_kind"}, {"/travel/linkage/damper/lower", "missing"}, {"/top", "out_of_range"},
		}},
	} {
		t.Run(test.name, func(t *testing.T) {
			r, err := wire.ReadFits([]byte(test.body))
			if err == nil {
				err = r.Place(fit.Check(&r.Fit))
			}
			sameFaults(t, err, test.want)
		})
	}
}

// sameFaults holds faults against their places and codes, in order; a code of
// "" is any.
func sameFaults(t *testing.T, err error, want []place) {
	t.Helper()
	faults, ok := faultsOf(err)
	if !ok {
		t.Fatal(err)
	}
	same := len(faults) == len(want)
	for i := range faults {
		f := faults[i]
		if !same || f.Pointer+f.Parameter != want[i].pointer || want[i].code != "" && f.Code.Public() != want[i].code || !isTold(&f) {
			same = false
		}
	}
	if !same {
		t.Errorf("got:")
		for _, f := range faults {
			t.Errorf("  %s%s %s: %s", f.Pointer, f.Parameter, f.Code, f.Text("en", unit.Inches))
		}
		t.Errorf("want: %v", want)
	}
}

func TestNotJSON(t *testing.T) {
	for name, body := range map[string]string{
		"empty":             "",
		"blank":             " \n",
		"cut off":           `{"units": "in", "readings": [16.`,
		"no JSON":           "units=in",
		"NaN":               `{"readings": [NaN]}`,
		"two objects":       `{} {}`,
		"a comma too many":  `{"units": "in",}`,
		"a leading zero":    `{"top": 010}`,
		"single quotes":     `{'units': 'in'}`,
		"not UTF-8":         "{\"reference\": \"\xff\"}",
		"half a surrogate":  `{"reference": "\ud800"}`,
		"byte order mark":   "\ufeff{}",
		"control character": "{\"reference\": \"\x01\"}",
	} {
		t.Run(name, func(t *testing.T) {
			_, err := wire.ReadFits([]byte(body))
			var syntax *form.SyntaxError
			if !errors.As(err, &syntax) {
				t.Fatalf("got %v", err)
			}
			if syntax.Text("es") == "" || syntax.Offset < 0 || syntax.Offset > int64(len(body)) {
				t.Errorf("got %+v", syntax)
			}
		})
	}
}

// TestSuggestions names the field that was likely meant.
func TestSuggestions(t *testing.T) {
	_, err := wire.ReadFits([]byte(with(`"lower":{"style":"eye","opnening":1.5},"planed_change":1,"wheels":4`)))
	for _, want := range []string{"did you mean opening?", "did you mean planned_change?"} {
		if !strings.Contains(err.Error(), want) {
			t.Errorf("%v doesn't say %q", err, want)
		}
	}
	if strings.Count(err.Error(), "did you mean") != 2 {
		t.Errorf("a wild guess: %v", err)
	}
}

// TestHugeBodies are bounded in what they cost and in what is told of them.
func TestHugeBodies(t *testing.T) {
	many := `{"a":1` + strings.Repeat(`,"b":2`, 5000) + `}`
	_, err := wire.ReadFits([]byte(many))
	if faults, ok := faultsOf(err); !ok || len(faults) > 201 {
		t.Errorf("%d faults", len(faults))
	}
	deep := with(`"limits":` + strings.Repeat("[", 5000) + strings.Repeat("]", 5000))
	_, err = wire.ReadFits([]byte(deep))
	if faults, ok := faultsOf(err); !ok || len(faults) == 0 {
		t.Errorf("got %v", err)
	}
	wide := with(`"codes":[` + strings.Repeat("1,", 100_000) + `1]`)
	_, err = wire.ReadFits([]byte(wide))
	if faults, ok := faultsOf(err); !ok || len(faults) != 1 || faults[0].Code.Public() != "too_many" {
		t.Errorf("got %v", err)
	}
}

// FuzzReadFits: whatever comes in, the reader doesn't panic and either reads it
// or says what is wrong: that it isn't JSON, or faults that each have a place
// in the body, a code and words.
func FuzzReadFits(f *testing.F) {
	f.Add([]byte(everyday))
	for _, file := range examplesOfRequests(f) {
		f.Add(file.body)
	}
	f.Add([]byte(`{"units":"in","travel":{"basis":"linkage","linkage":{"kind":"double_wishbone"}}}`))
	f.Add([]byte(`{"a":{"a":1,"a":2}}`))
	f.Fuzz(func(t *testing.T, body []byte) {
		_, err := wire.ReadFits(body)
		var syntax *form.SyntaxError
		faults, ok := faultsOf(err)
		switch {
		case errors.As(err, &syntax):
		case ok:
			for _, fault := range faults {
				if !isTold(&fault) || fault.Parameter != "" || fault.Pointer != "" && fault.Pointer[0] != '/' {
					t.Errorf("%+v", fault)
				}
			}
		default:
			t.Errorf("%T: %v", err, err)
		}
	})
}
