package httpapi_test

import (
	"encoding/json"
	"net/http"
	"strconv"
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

// TestAStepsResultIsToldAsLaterStepsTellIt: two results of the road's arithmetic are needs, which
// are told to 0.001 in and never less, and the step at the damper tells them again. The reader's
// language decides on the comma. By hand, 0.506212 in · √(2 · ln 234.643) = 1.67250 in, so that the
// first is 1.673 in.
func TestAStepsResultIsToldAsLaterStepsTellIt(t *testing.T) {
	s := newService(t)
	body, err := examples.Requests.ReadFile("rear-axle-on-a-road.json")
	if err != nil {
		t.Fatal(err)
	}
	for language, once := range map[string]string{"en": "1.673 in", "es": "1,673 in"} {
		res := s.post(t, "/v1/fits", string(body), "Accept-Language", language)
		var answer struct {
			Required struct {
				Steps []struct {
					Code, Text string
					Value      any
					ValueText  string `json:"value_text"`
				}
			}
		}
		if err := json.Unmarshal(res.body, &answer); err != nil {
			t.Fatal(err)
		}
		told, again := map[string]string{}, ""
		for _, step := range answer.Required.Steps {
			switch step.Code {
			case "road_once_a_minute", "road_largest":
				told[step.Code] = step.ValueText
				number, _ := strings.CutSuffix(strings.Replace(step.ValueText, ",", ".", 1), " in")
				got, err := strconv.ParseFloat(number, 64)
				if value, _ := step.Value.(float64); err != nil || got < value || got-value > 0.001 {
					t.Errorf("%s: %v is told as %q", language, step.Value, step.ValueText)
				}
			case "road_at_damper":
				again = step.Text
			}
		}
		if len(told) != 2 || told["road_once_a_minute"] != once {
			t.Errorf("%s: told %v, want %s once a minute", language, told, once)
		}
		for code, text := range told {
			if !strings.Contains(again, text) {
				t.Errorf("%s is told as %s, and then: %s", code, text, again)
			}
		}
	}
}
