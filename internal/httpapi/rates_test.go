package httpapi_test

import (
	"bytes"
	"encoding/json"
	"math"
	"net/http"
	"strings"
	"testing"
)

// corner is an invented one, unladen and laden.
const corner = `{"sprung_kg": 300, "sprung_laden_kg": 420, "unsprung_kg": 40, "wheel_rate_n_mm": 20, "tyre_rate_n_mm": 180, "damper_ratio": 0.8}`

// TestRatesOfACorner computes the figures again by closed forms: those of a mass on
// a spring, of springs in series and of the wheel between spring and tyre (any
// textbook of vibrations).
func TestRatesOfACorner(t *testing.T) {
	a := newService(t).post(t, "/v1/rates", `{"units": "mm", "corner": `+corner+`}`)
	if a.status != http.StatusOK {
		t.Fatalf("%d: %s", a.status, a.body)
	}
	var got struct {
		Loads []struct {
			Load          string
			SprungKg      float64 `json:"sprung_kg"`
			Sink          float64
			RideHz        float64 `json:"ride_hz"`
			HopHz         float64 `json:"hop_hz"`
			Critical      float64 `json:"critical_ns_m"`
			AtDamper      float64 `json:"critical_at_damper_ns_m"`
			Ratio         float64 `json:"damping_ratio"`
			HopRatio      float64 `json:"hop_damping_ratio"`
			ComfortRatio  float64 `json:"comfort_damping_ratio"`
			SpringForceN  float64 `json:"spring_force_n"`
			WheelRateNPmm float64 `json:"wheel_rate_n_mm"`
		}
		Wanted struct {
			AtWheel  float64 `json:"at_wheel_ns_m"`
			AtDamper struct{ Low, Wanted, High float64 }
			C        struct{ Wanted float64 } `json:"compression_ns_m"`
			R        struct{ Wanted float64 } `json:"rebound_ns_m"`
		}
	}
	if err := json.Unmarshal(a.body, &got); err != nil {
		t.Fatal(err)
	}
	if len(got.Loads) != 2 || got.Loads[0].Load != "unladen" || got.Loads[1].Load != "laden" {
		t.Fatalf("loads %+v", got.Loads)
	}
	const k, kt, mu, mr = 20e3, 180e3, 40.0, 0.8
	near := func(what string, got, want float64) {
		t.Helper()
		if math.Abs(got-want) > 1e-5*math.Abs(want)+5e-4 {
			t.Errorf("%s is %v, want %v", what, got, want)
		}
	}
	for i, mass := range []float64{300, 420} {
		l := &got.Loads[i]
		critical := 2 * math.Sqrt(k*mass)
		near("mass", l.SprungKg, mass)
		near("sink", l.Sink, (mass-300)*9.80665/k*1000)
		near("ride frequency", l.RideHz, math.Sqrt(k*kt/(k+kt)/mass)/(2*math.Pi))
		near("hop frequency", l.HopHz, math.Sqrt((k+kt)/mu)/(2*math.Pi))
		near("critical damping", l.Critical, critical)
		near("the same at the damper", l.AtDamper, critical/(mr*mr))
		near("damping ratio", l.Ratio, got.Wanted.AtWheel/critical)
		near("hop damping ratio", l.HopRatio, got.Wanted.AtWheel/(2*math.Sqrt((k+kt)*mu)))
		near("ratio of the best comfort", l.ComfortRatio, math.Sqrt(k*(mass+mu)/(kt*mass))/2)
	}
	// The wanted damping is the geometric mean over the loads of what gives 0.32, the
	// usual ratio. Twice as much in rebound as in compression, the mean is the whole.
	wanted := 0.32 * 2 * math.Sqrt(k*math.Sqrt(300*420))
	near("wanted at the wheel", got.Wanted.AtWheel, wanted)
	near("compression", got.Wanted.C.Wanted, 2*wanted/(mr*mr)/3)
	near("rebound", got.Wanted.R.Wanted, 4*wanted/(mr*mr)/3)
}

func TestRatesAsOtherMedia(t *testing.T) {
	s := newService(t)
	body := `{"units": "in", "corner": ` + corner + `}`
	if a := s.post(t, "/v1/rates", body, "Accept", "text/csv"); a.status != http.StatusOK || bytes.Count(a.body, []byte("\n")) < 2 {
		t.Errorf("as CSV: %d: %.200s", a.status, a.body)
	}
	seen := map[string]bool{}
	for _, drawing := range []string{"forces", "response", "frequencies"} {
		a := s.post(t, "/v1/rates?drawing="+drawing, body, "Accept", "image/svg+xml")
		if a.status != http.StatusOK || !bytes.Contains(a.body, []byte("<svg")) || seen[string(a.body)] {
			t.Errorf("%s: %d: %.200s", drawing, a.status, a.body)
		}
		seen[string(a.body)] = true
	}
}

// TestRatesNameWhatIsWrong goes through slips that a corner may have.
func TestRatesNameWhatIsWrong(t *testing.T) {
	s := newService(t)
	for pointer, change := range map[string][2]string{
		"/corner/wheel_rate_n_mm": {`"wheel_rate_n_mm": 20, `, ``},
		"/corner/damper_ratio":    {`"damper_ratio": 0.8`, `"damper_ratio": 0`},
		"/corner/sprung_kg":       {`"sprung_kg": 300, `, ``},
		"/corner/tyre_rate_n_mm":  {`"tyre_rate_n_mm": 180`, `"tyre_rate_n_mm": -1`},
	} {
		a := s.post(t, "/v1/rates", `{"units": "mm", "corner": `+strings.Replace(corner, change[0], change[1], 1)+`}`)
		if a.status != http.StatusUnprocessableEntity || !bytes.Contains(a.body, []byte(`"pointer":"`+pointer+`"`)) {
			t.Errorf("%s: %d: %s", pointer, a.status, a.body)
		}
	}
	// Wheels heavier than the body are told, not refused.
	a := s.post(t, "/v1/rates", `{"units": "mm", "corner": `+strings.Replace(corner, `"unsprung_kg": 40`, `"unsprung_kg": 400`, 1)+`}`)
	if a.status != http.StatusOK || !bytes.Contains(a.body, []byte(`"cautions":[{`)) {
		t.Errorf("unsprung over sprung: %d: %.300s", a.status, a.body)
	}
}

// TestRatesNameTheFigureAndTheCure goes through what can't be: each is told with the
// figure that is wrong and with what cures it, as a fault or as a caution.
func TestRatesNameTheFigureAndTheCure(t *testing.T) {
	s := newService(t)
	withSpring := `{"units": "in", "corner": ` + strings.Replace(corner, `"wheel_rate_n_mm": 20`, `"spring_rate_n_mm": 73.4, "spring_ratio": 0.8`, 1) +
		`, "spring": {"wire": "12 mm", "mean_diameter": "72 mm", "turns": 9.5, "ends": "squared_ground", "free_length": %FREE%, "bump": "120 mm"}}`
	plain := `{"units": "in", "corner": ` + corner + `}`
	for name, c := range map[string]struct {
		body, old, now string
		said           []string
	}{
		"unsprung over sprung": {plain, `"unsprung_kg": 40`, `"unsprung_kg": "1000 lb"`, []string{`"code":"unsprung_over_sprung"`, "1000 lb is more than", "check whether the two are swapped"}},
		"no spring":            {plain, `"wheel_rate_n_mm": 20, `, ``, []string{`"/corner/wheel_rate_n_mm"`, "the spring's rate isn't given", "a mass of 661.4 lb usually has about 97.38 lbf/in at the wheel"}},
		"ratio 0":              {plain, `"damper_ratio": 0.8`, `"damper_ratio": 0`, []string{`"/corner/damper_ratio"`, "and 0 isn't", "40 mm of damper for 50 mm of wheel is 0.8"}},
		"ratio of the spring 0": {plain, `"wheel_rate_n_mm": 20`, `"spring_rate_n_mm": 20, "spring_ratio": 0`, []string{`"/corner/spring_ratio"`, "and 0 isn't",
			"give the travel of the part over the travel of the wheel"}},
		"frequency over 10 Hz":        {plain, `"sprung_kg": 300, "sprung_laden_kg": 420`, `"sprung_kg": 3`, []string{`"code":"frequency_high"`, "Hz, above 10 Hz", "check whether the rates are in N/mm"}},
		"wanted frequency over 10 Hz": {plain, `}}`, `}, "targets": {"ride_hz": 12}}`, []string{`"/targets/ride_hz"`, "and 12 isn't", "common are 1 to 1.5 Hz"}},
		// By hand: 12⁴ · 79300/(8 · 72³ · 7.5) = 73.4 N/mm, 114 mm solid. 300 kg press it by
		// 50 mm at ride and the bump by 96 mm more: of 220 mm it would leave 74 mm.
		"binds before the bump stop": {withSpring, `%FREE%`, `"220 mm"`, []string{`"code":"spring_binds"`, "1 19/32 in is lacking at 4 23/32 in of bump", "End the bump at", "free length of about"}},
		"shorter than solid":         {withSpring, `%FREE%`, `4`, []string{`"/spring/free_length"`, "4 in isn't more than", "check the free length, the wire and the turns"}},
	} {
		body := strings.Replace(c.body, c.old, c.now, 1)
		if body == c.body {
			t.Fatalf("%s changes nothing", name)
		}
		a := s.post(t, "/v1/rates", body)
		for _, said := range c.said {
			if !bytes.Contains(a.body, []byte(said)) {
				t.Errorf("%s: no %q in %d: %.900s", name, said, a.status, a.body)
			}
		}
	}
}

// TestRatesListACodeOnce: a code that is there twice is one damper, as in a fit.
func TestRatesListACodeOnce(t *testing.T) {
	a := newService(t).post(t, "/v1/rates", `{"units": "mm", "corner": `+corner+`, "codes": ["demo-damper-0006", "demo-damper-0002", "demo-damper-0006"]}`)
	var got struct {
		Dampers []struct{ Damper struct{ Code string } }
		Counts  struct{ Dampers int }
	}
	if err := json.Unmarshal(a.body, &got); err != nil {
		t.Fatal(err)
	}
	if len(got.Dampers) != 2 || got.Dampers[0].Damper.Code != "demo-damper-0006" || got.Dampers[1].Damper.Code != "demo-damper-0002" || got.Counts.Dampers != 2 {
		t.Errorf("%+v", got)
	}
}

// TestRatesTellWhyThereIsNone: with a gas force F of each of four dampers the wheel rate
// is 6000 - 4·4·F N/m, which is nothing from 375 N on, so that no rating is possible. The
// damper has more.
func TestRatesTellWhyThereIsNone(t *testing.T) {
	body := `{"units": "mm", "corner": {"sprung_kg": 60, "unsprung_kg": 20, "wheel_rate_n_mm": 6, "tyre_rate_n_mm": 100, "dampers": 4, "damper_ratio": 0.9, "damper_ratio_change_per_m": -4}, "codes": ["demo-damper-0008"]}`
	a := newService(t).post(t, "/v1/rates", body)
	for _, said := range []string{`"rating":null`, `"code":"gas_never_settles"`, "gas force of demo-damper-0008 the corner never settles"} {
		if a.status != http.StatusOK || !bytes.Contains(a.body, []byte(said)) {
			t.Errorf("no %s in %d: %s", said, a.status, a.body)
		}
	}
}
