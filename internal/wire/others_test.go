package wire_test

import (
	"encoding/json"
	"errors"
	"math"
	"reflect"
	"strings"
	"testing"

	"midstroke/internal/form"
	"midstroke/internal/linkage"
	"midstroke/internal/mount"
	"midstroke/internal/unit"
	"midstroke/internal/wire"
)

func TestReadHardware(t *testing.T) {
	r, err := wire.ReadHardware([]byte(`{
		"units": "mm", "catalog": "demo", "revision": 3,
		"end": {"style": "stud", "thread": "M10x1.25", "usable_length": 40, "spigot": 20},
		"bracket": {"style": "eye", "bolt": "1/2 in", "opening": "1 1/2 in", "plate": 5, "washer": 2, "shear": "single", "frame_hole": 22, "frame_thickness": 4, "bushing_thickness": 9, "hole_spacing": 70},
		"bolt": {"grade": "SAE 5", "torque_factor": 0.18, "preload_fraction": 0.9, "threads_in_shear_plane": false},
		"load_n": 9000,
		"parts": {
			"sleeves": [{"code": "a", "outer": "3/4 in", "bore": 13, "bore_is": "nominal", "length": 31}],
			"spacers": [{"code": "s", "bore": 10.5, "thickness": 0.4}],
			"adapters": [{"code": "x", "from": {"style": "stud", "thread": "M10x1.25"}, "to": {"style": "bar_pin", "hole_spacing": 70, "slot": 0}, "adds_length": -3}]
		}
	}`))
	if err != nil {
		t.Fatal(err)
	}
	half, _ := mount.ParseBolt("1/2 in", unit.Inches)
	m10, _ := mount.ParseBolt("M10x1.25", unit.Millimetres)
	const mm = unit.Millimetre
	want := wire.HardwareRequest{
		Units: unit.Millimetres, Catalog: "demo", Revision: 3,
		End:   mount.End{Style: mount.Stud, Thread: m10.Thread, UsableLength: 40 * mm, Spigot: 20 * mm},
		Style: mount.Eye,
		Bracket: mount.Bracket{
			Bolt: half, Opening: unit.Inch * 3 / 2, Plate: 5 * mm, Washer: 2 * mm, Shear: mount.SingleShear, Grade: "SAE 5",
			FrameHole: 22 * mm, FrameThickness: 4 * mm, Bushing: 9 * mm, HoleSpacing: 70 * mm,
		},
		Options: mount.Options{Detail: true, Load: 9000, TorqueFactor: 0.18, PreloadFraction: 0.9, ThreadsInShearPlane: mount.No},
		Parts: &wire.Parts{
			Sleeves: []mount.Sleeve{{Code: "a", Outer: unit.Inch * 3 / 4, Bore: 13 * mm, BoreIs: mount.Nominal, Length: 31 * mm, InStock: true, Price: mount.NoPrice}},
			Spacers: []mount.Spacer{{Code: "s", Bore: 10_500_000, Thickness: 400_000, InStock: true, Price: mount.NoPrice}},
			Adapters: []mount.Adapter{{
				Code: "x", From: mount.End{Style: mount.Stud, Thread: m10.Thread}, To: mount.End{Style: mount.BarPin, HoleSpacing: 70 * mm},
				AddsLength: -3 * mm, InStock: true, Price: mount.NoPrice,
			}},
		},
	}
	if !reflect.DeepEqual(r, want) {
		t.Errorf("got  %+v\nwant %+v", r, want)
	}
}

func TestBadHardware(t *testing.T) {
	for _, test := range []struct {
		name, body string
		want       []place
	}{
		{"nothing", `{}`, []place{{"/units", "missing"}, {"/end", "missing"}, {"/bracket", "missing"}}},
		{"no units", `{"end":{"style":"eye","bore":16,"width":"1 1/4"},"bracket":{"bolt":"M10","opening":32},"bolt":{"grade":"SAE 5"}}`, []place{{"/units", "missing"}, {"/bolt/grade", "grade_of_other_thread"}}},
		{"no units for a thread", `{"end":{"style":"stud","thread":"3/8"},"bracket":{"bolt":"1/2"},"bolt":{"grade":"8.8"}}`, []place{{"/units", "missing"}}},
		{"an end of nothing", `{"units":"mm","end":{},"bracket":{}}`, []place{{"/end/style", "missing"}}},
		{"an eye without a bore", `{"units":"mm","end":{"style":"eye"},"bracket":{}}`, []place{{"/end/bore", "missing"}}},
		{"a fork", `{"units":"mm","end":{"style":"fork"},"bracket":{}}`, []place{{"/end/style", "not_allowed"}}},
		{"bar pin without hole spacing", `{"units":"mm","end":{"style":"bar_pin"},"bracket":{}}`, []place{{"/end/hole_spacing", "missing"}, {"/bracket/hole_spacing", ""}}},
		{"plate of no thickness, shear of triple", `{"units":"mm","end":{"style":"eye","bore":16},"bracket":{"plate":0,"shear":"triple"}}`, []place{{"/bracket/plate", "not_positive"}, {"/bracket/shear", "not_allowed"}}},
		{"unknown thread and grade", `{"units":"mm","end":{"style":"stud","thread":"M11"},"bracket":{"bolt":"9/17"},"bolt":{"grade":"5.6"}}`, []place{{"/end/thread", ""}, {"/bracket/bolt", ""}, {"/bolt/grade", "not_allowed"}}},
		{"a plain pin for a stud", `{"units":"mm","end":{"style":"stud","thread":"12 mm"},"bracket":{}}`, []place{{"/end/thread", "not_allowed"}}},
		{"a class on an inch bolt", `{"units":"in","end":{"style":"eye","bore":1},"bracket":{"bolt":"1/2"},"bolt":{"grade":"8.8"}}`, []place{{"/bolt/grade", "grade_of_other_thread"}}},
		{"measures of another style", `{"units":"mm","end":{"style":"eye","bore":16,"thread":"M10"},"bracket":{"grade":"8.8"}}`, []place{{"/end/thread", "not_with_style"}, {"/bracket/grade", "unknown_field"}}},
		{"bounds", `{"units":"mm","end":{"style":"eye","bore":16},"bracket":{},"bolt":{"torque_factor":0,"preload_fraction":1.1},"load_n":100001}`, []place{
			{"/bolt/torque_factor", "out_of_range"}, {"/bolt/preload_fraction", "out_of_range"}, {"/load_n", "out_of_range"},
		}},
		{"parts", `{"units":"mm","end":{"style":"eye","bore":16},"bracket":{},"parts":{"sleeves":[{"code":"a","outer":10,"bore":12,"length":5},{"code":"a","outer":10,"bore":8,"length":5}],"spacers":[{}],"adapters":[3]}}`, []place{
			{"/parts/spacers/0/code", "missing"}, {"/parts/spacers/0/bore", "missing"}, {"/parts/spacers/0/thickness", "missing"},
			{"/parts/adapters/0", "wrong_type"}, {"/parts/sleeves/1", "same_code"}, {"/parts/sleeves/0/outer", "no_wall"},
		}},
	} {
		t.Run(test.name, func(t *testing.T) {
			_, err := wire.ReadHardware([]byte(test.body))
			sameFaults(t, err, test.want)
		})
	}
}

func TestReadTravel(t *testing.T) {
	r, err := wire.ReadTravel([]byte(`{"units":"in","linkage":{"kind":"solid_axle","roll_point":[0,0,"350 mm"],"wheels":{"left":[0,30,13],"right":[0,-30,13]},
		"damper":{"upper":[0,16,28],"lower":[0,20,-12]}},"range":{"bump":"3 1/2","droop":0},"at":[-1,0,"1 1/2"],"poses":[{"heave":-1,"roll_deg":-5.5}]}`))
	if err != nil {
		t.Fatal(err)
	}
	const in = unit.Inch
	want := wire.TravelRequest{
		Units: unit.Inches,
		Linkage: linkage.Spec{
			Kind: linkage.SolidAxle, RollPoint: linkage.Point{0, 0, 350 * unit.Millimetre},
			Wheels: linkage.Wheels{Left: linkage.Point{0, 30 * in, 13 * in}, Right: linkage.Point{0, -30 * in, 13 * in}},
			Damper: linkage.Damper{Upper: linkage.Point{0, 16 * in, 28 * in}, Lower: linkage.Point{0, 20 * in, -12 * in}},
		},
		Options: linkage.Options{
			Range: linkage.Range{Bump: in * 7 / 2}, At: []unit.Length{-in, 0, in * 3 / 2},
			Poses: []linkage.Pose{{Heave: -in, RollDeg: -5.5}},
		},
	}
	if !reflect.DeepEqual(r, want) {
		t.Errorf("got  %+v\nwant %+v", r, want)
	}
}

func TestBadTravel(t *testing.T) {
	const inclined = `"linkage":{"kind":"inclined","damper":{"upper":[0,450,640],"lower":[80,430,260]}}`
	for _, test := range []struct {
		name, body string
		want       []place
	}{
		{"nothing", `{}`, []place{{"/units", "missing"}, {"/linkage", "missing"}, {"/range", "missing"}}},
		{"no units", `{` + inclined + `,"range":{"bump":75,"droop":65},"at":[0,-20]}`, []place{{"/units", "missing"}}},
		{"no units for planar wishbones", `{"units":"cm","linkage":{"kind":"double_wishbone","lower_arm":{"inner":[400,200],"outer":[720,200]},"upper_arm":{"inner":[450,500],"outer":[670,510]},"wheel":[770,320],"damper":{"upper":[500,700],"lower":[600,200]}},"range":{"bump":75,"droop":65}}`, []place{{"/units", "not_allowed"}}},
		{"no units and too few points", `{"linkage":{"kind":"swing_arm","pivot_a":[0,1,2],"damper":{"upper":[0,450,640],"lower":[80,430]}},"range":{"bump":0,"droop":0}}`, []place{
			{"/units", "missing"}, {"/linkage/pivot_b", "missing"}, {"/linkage/wheel", "missing"}, {"/linkage/damper/lower", "wrong_dimension"},
		}},
		{"points and at", `{"units":"mm",` + inclined + `,"range":{"bump":75,"droop":65},"at":[0],"points":5}`, []place{{"/points", "not_together"}}},
		{"poses of no axle", `{"units":"mm",` + inclined + `,"range":{"bump":75,"droop":65},"poses":[]}`, []place{{"/poses", "not_with_kind"}}},
		{"bounds", `{"units":"mm",` + inclined + `,"range":{"bump":-1,"droop":"12 m"},"points":1002}`, []place{{"/range/bump", "negative"}, {"/range/droop", "too_large"}, {"/points", "out_of_range"}}},
		{"a point of one figure, one of text, one too long", `{"units":"mm","linkage":{"kind":"inclined","damper":{"upper":[1],"lower":[0,"x",1,2]}},"range":{"bump":75,"droop":65}}`, []place{
			{"/linkage/damper/upper", "too_few"}, {"/linkage/damper/lower", "too_many"}, {"/linkage/damper/lower/1", ""},
		}},
		{"a damper on what there isn't, and no kind", `{"units":"mm","linkage":{"damper":{"upper":[0,450,640],"lower":[80,430,260],"on":"hub"}},"range":{"bump":75,"droop":65}}`, []place{
			{"/linkage/kind", "missing"}, {"/linkage/damper/on", "not_allowed"},
		}},
	} {
		t.Run(test.name, func(t *testing.T) {
			_, err := wire.ReadTravel([]byte(test.body))
			sameFaults(t, err, test.want)
		})
	}
}

// TestTravelOfTheInclinedDamper holds the written answer against the closed
// form L = sqrt(a² + (b-z)²) with a² = 80² + 20², b = 380 mm.
func TestTravelOfTheInclinedDamper(t *testing.T) {
	out := answerTo(t, "/v1/travel", []byte(`{"units":"mm","linkage":{"kind":"inclined","damper":{"upper":[0,450,640],"lower":[80,430,260]}},"range":{"bump":75,"droop":65},"points":5}`))
	var got map[string]any
	if err := json.Unmarshal(out, &got); err != nil {
		t.Fatal(err)
	}
	at := func(z float64) float64 { return math.Sqrt(80*80 + 20*20 + (380-z)*(380-z)) }
	for pointer, want := range map[string]float64{
		"/ride_length": at(0), "/shortest/length": at(75), "/longest/length": at(-65), "/curve/0/length": at(-65),
		"/required/compression": at(0) - at(75), "/required/extension": at(-65) - at(0), "/motion_ratio/at_ride": 380 / at(0),
		"/curve/4/wheel_travel": 75,
	} {
		n, _ := lookUp(got, pointer)
		if v, ok := n.(float64); !ok || math.Abs(v-want) > 2e-6 {
			t.Errorf("%s: got %v, want %.6f", pointer, n, want)
		}
	}
}

// TestHardwareOnTheBench holds the contract's example against what its figures
// come to by hand: 15.9 in 16 leaves 0.1, 10.3 on 10 leaves 0.3, 31 + 2 × 0.4
// in 32 leaves 0.2; ISO 273 for M10; 57.99 mm² by ISO 898-1; 580 MPa × 57.99
// mm²; 9000 N / (2 × 5 mm × 10 mm); 0.2 × 10 mm × 0.75 × 33 634 N.
func TestHardwareOnTheBench(t *testing.T) {
	document := load(t)
	out := answerTo(t, "/v1/hardware", requestBodies(t, document, "/v1/hardware")["parts_on_the_bench"])
	var got any
	if err := json.Unmarshal(out, &got); err != nil {
		t.Fatal(err)
	}
	for pointer, want := range map[string]any{
		"/possible": true, "/adapter": nil, "/sleeves/0/code": "a", "/sleeves/0/gap_outside": 0.1, "/sleeves/0/gap_inside": 0.3,
		"/spacers/each_side/0/quantity": 1.0, "/spacers/left_over": 0.2, "/bracket_hole/standard": "ISO 273", "/bracket_hole/medium": 11.0,
		"/bolt/thread": "M10x1.5", "/bolt/stress_area_mm2": 57.99, "/bolt/proof_load_n": 33634.0, "/bolt/bearing_mpa": 90.0,
		"/bolt/torque_nm": 50.45, "/bolt/torque_lbf_ft": 37.2, "/bolt/grade": "8.8",
	} {
		if v, ok := lookUp(got, pointer); !ok || v != want {
			t.Errorf("%s: got %v, want %v", pointer, v, want)
		}
	}
	if v, known := lookUp(got, "/bolt/bending_mpa"); known {
		t.Errorf("bending %v of a bolt in double shear", v)
	}
}

// FuzzReadOthers is FuzzReadFits for the other bodies.
func FuzzReadOthers(f *testing.F) {
	document := load(f)
	for _, path := range []string{"/v1/hardware", "/v1/travel"} {
		for _, body := range requestBodies(f, document, path) {
			f.Add(body)
		}
	}
	f.Fuzz(func(t *testing.T, body []byte) {
		_, hardware := wire.ReadHardware(body)
		_, travel := wire.ReadTravel(body)
		for _, err := range []error{hardware, travel} {
			var syntax *form.SyntaxError
			if errors.As(err, &syntax) {
				continue
			}
			faults, ok := faultsOf(err)
			if !ok {
				t.Fatalf("%T: %v", err, err)
			}
			for _, fault := range faults {
				if !isTold(&fault) || fault.Pointer != "" && !strings.HasPrefix(fault.Pointer, "/") {
					t.Errorf("%+v", fault)
				}
			}
		}
	})
}
