package wire_test

import (
	"encoding/json"
	"fmt"
	"testing"

	"midstroke/internal/guide"
	"midstroke/internal/mount"
	"midstroke/internal/note"
	"midstroke/internal/unit"
	"midstroke/internal/wire"
)

// TestBothReasonsOutsideTheMethodAreTold, in every language.
func TestBothReasonsOutsideTheMethodAreTold(t *testing.T) {
	g, faults := guide.For(guide.End{Style: mount.Fork}, guide.End{Style: mount.SpindleStrut})
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	for _, lang := range note.Languages() {
		var got struct {
			Language string
			Outside  struct {
				Text    string
				Reasons []struct{ Code, Text string }
			} `json:"outside_method"`
		}
		if err := json.Unmarshal(wire.AppendGuide(nil, &g, unit.Inches, lang), &got); err != nil {
			t.Fatal(err)
		}
		why := got.Outside.Reasons
		if len(why) != 2 || why[0].Code != "fork_end" || why[1].Code != "spindle_strut_end" {
			t.Fatalf("in %s: %+v", lang, why)
		}
		if want := why[0].Text + "; " + why[1].Text; got.Outside.Text != want || got.Language != lang {
			t.Errorf("in %s reads %q, want %q", got.Language, got.Outside.Text, want)
		}
	}
}

func ExampleAppendGuide() {
	g, _ := guide.For(guide.End{Style: mount.Stud}, guide.End{Style: mount.Eye, Plane: mount.NearEdge})
	g.Steps, g.Cautions = g.Steps[6:8], nil
	fmt.Printf("%s", wire.AppendGuide(nil, &g, unit.Inches, "en"))
	// Output:
	// {"units":"in","language":"en","upper":{"style":"stud","measured_to":"inner_washer"},"lower":{"style":"eye","measured_to":"near_edge"},"steps":[{"code":"guide_hold_near_edge","text":"At the lower end, hold the tape to the edge of the bolt's shank that is nearer the upper end.","values":{"end":"lower","other":"upper"},"fields":["lower.measured_to"]},{"code":"guide_need_bolt","text":"At the lower end, note the bolt, by its thread (M12, 1/2 in) or the diameter of its shank: half of it leads from its edge to its centre.","values":{"end":"lower"},"fields":["lower.bolt"]}],"figures":["upper_plate","upper_frame_hole","upper_frame_thickness","upper_bushing_thickness","upper_washer_thickness","upper_stud_length","lower_bolt","lower_opening","lower_plate","condition_arch_gap","lean_deg","sideways_offset","motion_ratio"],"cautions":[]}
}
