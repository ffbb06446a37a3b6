package httpapi_test

import (
	"encoding/json"
	"net/http"
	"strings"
	"testing"

	"midstroke/testdata/examples"
)

// The requests to try must answer as their list says.
func TestRequestsToTry(t *testing.T) {
	s := newService(t)
	for _, e := range examples.All() {
		t.Run(e.File, func(t *testing.T) {
			body, err := examples.Requests.ReadFile(e.File)
			if err != nil {
				t.Fatal(err)
			}
			res := s.post(t, "/v1/fits", string(body))
			var answer struct {
				Outcome string
				Reasons []struct{ Code string }
				Working *struct{ Value json.Number } `json:"working_length"`
				Fits    []json.RawMessage
			}
			if err := json.Unmarshal(res.body, &answer); err != nil || res.status != http.StatusOK {
				t.Fatalf("%d: %v: %.300s", res.status, err, res.body)
			}
			if answer.Outcome != e.Outcome {
				t.Errorf("outcome %s, want %s", answer.Outcome, e.Outcome)
			}
			if e.WorkingLength != "" && (answer.Working == nil || answer.Working.Value.String() != e.WorkingLength) {
				t.Errorf("working length %+v, want %s", answer.Working, e.WorkingLength)
			}
			if fits := e.Outcome == "fits"; fits != (len(answer.Fits) > 0) || fits != (len(answer.Reasons) == 0) {
				t.Errorf("%s with %d fits and %d reasons", answer.Outcome, len(answer.Fits), len(answer.Reasons))
			}
		})
	}
}

// The same vehicle in inches and in millimetres has the same answer.
func TestInchesAndMillimetresAgree(t *testing.T) {
	s := newService(t)
	codes := func(body string) string {
		res := s.post(t, "/v1/fits", body)
		var answer struct {
			Working struct{ Value float64 } `json:"working_length"`
			Fits    []struct {
				Grade, Mounted string
				Damper         struct{ Code string }
				Ride           json.Number                      `json:"ride_position"`
				Worst          struct{ Likelihood json.Number } `json:"worst_case"`
			}
			Near []struct {
				Damper   struct{ Code string }
				Remedies []struct{ Kind string }
			} `json:"near_misses"`
		}
		if err := json.Unmarshal(res.body, &answer); err != nil || res.status != http.StatusOK {
			t.Fatalf("%d: %v: %.300s", res.status, err, res.body)
		}
		answer.Working.Value = 0
		told, err := json.Marshal(answer)
		if err != nil {
			t.Fatal(err)
		}
		return string(told)
	}
	inches := `{"units":"in","upper":{"style":"stud","measured_to":"frame_face","bushing_thickness":"3/8","washer_thickness":"1/16"},
		"lower":{"style":"eye","bolt":"M12","opening":"1 1/2"},"readings":["16 5/8"],"reading_tolerance":"1/16","motion_ratio":0.9,
		"suspension":"solid_axle","limits":{"max_body_diameter":3},"top":50,"explain":true}`
	millimetres := strings.NewReplacer(`"units":"in"`, `"units":"mm"`, `"3/8"`, `9.525`, `"1/16"`, `1.5875`, `"1 1/2"`, `38.1`,
		`"16 5/8"`, `422.275`, `"max_body_diameter":3`, `"max_body_diameter":76.2`).Replace(inches)
	if a, b := codes(inches), codes(millimetres); a != b {
		t.Errorf("inches and millimetres differ:\n%s\n%s", a, b)
	}
}

// TestAStepsResultIsToldAsLaterStepsTellIt: two results of the road's arithmetic are told again
// by the step after it. By hand, 1.672499 in and 2.351202 in are needed, so a third decimal goes
// up. The reader's language decides on the comma.
func TestAStepsResultIsToldAsLaterStepsTellIt(t *testing.T) {
	s := newService(t)
	body, err := examples.Requests.ReadFile("rear-axle-on-a-road.json")
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ language, once, largest string }{{"en", "1.673 in", "2.352 in"}, {"es", "1,673 in", "2,352 in"}} {
		res := s.post(t, "/v1/fits", string(body), "Accept-Language", c.language)
		var answer struct {
			Required struct {
				Steps []struct {
					Code, Text string
					ValueText  string `json:"value_text"`
				}
			}
		}
		if err := json.Unmarshal(res.body, &answer); err != nil {
			t.Fatal(err)
		}
		told := map[string]string{}
		for _, step := range answer.Required.Steps {
			told[step.Code] = step.ValueText
			if step.Code == "road_at_damper" && (!strings.Contains(step.Text, c.once) || !strings.Contains(step.Text, c.largest)) {
				t.Errorf("reads %q, want %s and %s in it", step.Text, c.once, c.largest)
			}
		}
		if told["road_once_a_minute"] != c.once || told["road_largest"] != c.largest {
			t.Errorf("%s: told as %q and %q, want %s and %s", c.language, told["road_once_a_minute"], told["road_largest"], c.once, c.largest)
		}
	}
}
