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
