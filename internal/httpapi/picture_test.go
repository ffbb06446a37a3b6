package httpapi_test

import (
	"net/http"
	"strings"
	"testing"
)

// damped is a question for fits on an invented corner, in flat names.
const damped = "/v1/fits?units=in&readings=16.5&upper=stud&lower=eye&suspension=solid_axle&motion_ratio=0.8" +
	"&corner_sprung_kg=280&corner_unsprung_kg=60&corner_wheel_rate_n_mm=30&corner_tyre_rate_n_mm=250"

// TestPictures: each picture comes by parameter or by Accept, of the best fits or
// of the one of a rank, in the words of the language.
func TestPictures(t *testing.T) {
	s := newService(t)
	pictures := map[string]string{}
	for _, name := range []string{"forces", "response", "frequencies"} {
		a := s.get(t, damped+"&drawing="+name)
		body := string(a.body)
		if a.status != http.StatusOK || a.header.Get("Content-Type") != "image/svg+xml" || !strings.HasPrefix(body, "<svg ") || !strings.Contains(body, "wanted: damping ratio") {
			t.Fatalf("%s is %d %s %.200s", name, a.status, a.header.Get("Content-Type"), body)
		}
		pictures[name] = body
	}
	if pictures["forces"] == pictures["response"] || pictures["response"] == pictures["frequencies"] {
		t.Error("two pictures are the same")
	}
	for _, same := range []*answer{s.get(t, damped, "Accept", "image/svg+xml"), s.get(t, damped+"&format=svg")} {
		if string(same.body) != pictures["forces"] {
			t.Errorf("is %.200s", same.body)
		}
	}
	if narrow := string(s.get(t, damped+"&drawing=forces&drawing_width=narrow").body); !strings.Contains(narrow, `width="340"`) {
		t.Errorf("narrow it is %.200s", narrow)
	}
	if wide := string(s.get(t, damped+"&drawing=forces&drawing_width=wide").body); wide != pictures["forces"] {
		t.Errorf("wide it is %.200s", wide)
	}
	type fits struct {
		Fits []struct {
			Damper  struct{ Code string }
			Damping *struct{ Verdict *string }
		}
	}
	answer := decode[fits](t, s.get(t, damped), http.StatusOK)
	alone := string(s.get(t, damped+"&drawing=forces&rank=1").body)
	drawn := 0
	for i, f := range answer.Fits {
		if f.Damping == nil {
			continue
		}
		drawn++
		if in := strings.Contains(pictures["forces"], f.Damper.Code); in != (drawn <= 3) {
			t.Errorf("%s of rank %d is drawn: %v", f.Damper.Code, i+1, in)
		}
		if in := strings.Contains(alone, f.Damper.Code); in != (i == 0) {
			t.Errorf("%s of rank %d is drawn for rank 1: %v", f.Damper.Code, i+1, in)
		}
	}
	if drawn == 0 {
		t.Fatal("no fit has a force table")
	}
	if es := string(s.get(t, damped+"&drawing=forces&lang=es").body); !strings.Contains(es, "Velocidad del amortiguador (in/s)") {
		t.Errorf("in Spanish: %.300s", es)
	}
}

func TestPictureFaults(t *testing.T) {
	s := newService(t)
	plain := damped[:strings.Index(damped, "&motion_ratio")]
	for target, want := range map[string]string{
		plain + "&drawing=forces":               "corner_sprung_kg missing",
		damped + "&drawing=colours":             "drawing not_allowed",
		damped + "&format=csv&drawing=forces":   "drawing not_together",
		damped + "&format=json&drawing=forces":  "drawing not_together",
		damped + "&drawing=forces&rank=0":       "rank out_of_range",
		damped + "&drawing=forces&pick=outcome": "pick not_together",
	} {
		p := refused(t, s.get(t, target), http.StatusUnprocessableEntity)
		if got := p.Errors[0].Parameter + " " + p.Errors[0].Code; len(p.Errors) != 1 || got != want {
			t.Errorf("%s: %s, want %s", target[len(plain):], got, want)
		}
	}
}
