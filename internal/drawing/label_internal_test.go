package drawing

import (
	"testing"

	"pgregory.net/rapid"

	_ "midstroke/internal/seeded"
)

// TestLabelsAreSpread: whatever is named where, labels keep the order of what
// they name, so that no two leaders cross, lie apart, and stay in their room.
func TestLabelsAreSpread(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		labels := make([]label, rapid.IntRange(1, 9).Draw(t, "labels"))
		for i := range labels {
			labels[i].text = rapid.StringMatching(`[a-zñ]{1,12}( [a-z]{1,12}){0,4}`).Draw(t, "text")
			labels[i].anchor.y = rapid.Float64Range(-50, 400).Draw(t, "y")
		}
		const top = 14
		room := breakAll(labels) + rapid.Float64Range(0, 200).Draw(t, "spare")
		spread(labels, top, top+room)
		const hair = 1e-6
		above := label{y: top - labelsApart}
		above.anchor.y = -100
		for _, l := range labels {
			if l.anchor.y < above.anchor.y {
				t.Fatalf("out of order: %+v", labels)
			}
			if l.y-l.height()/2 < above.y+above.height()/2+labelsApart-hair {
				t.Fatalf("on another or above the top: %+v", labels)
			}
			above = l
		}
		if above.y+above.height()/2 > top+room+hair {
			t.Fatalf("past the foot: %+v", labels)
		}
	})
}

// TestLabelsWithRoomStandBesideWhatTheyName: nothing moves without need.
func TestLabelsWithRoomStandBesideWhatTheyName(t *testing.T) {
	labels := []label{{text: "nut"}, {text: "bolt"}}
	labels[0].anchor.y, labels[1].anchor.y = 120, 60
	breakAll(labels)
	spread(labels, 0, 300)
	if labels[0].text != "bolt" || labels[0].y != 60 || labels[1].y != 120 {
		t.Errorf("got %+v", labels)
	}
}

func TestLinesAreBrokenByWords(t *testing.T) {
	// 150 wide hold 19 letters of 0.52 × 15.
	got := broken("face of the washer nearest the damper", labelSize, 150, false)
	if len(got) != 2 || got[0] != "face of the washer" || got[1] != "nearest the damper" {
		t.Errorf("got %q", got)
	}
	if got := broken("Stoßdämpferaufnahmebohrung", labelSize, 50, false); len(got) != 1 {
		t.Errorf("a long word was broken: %q", got)
	}
}
