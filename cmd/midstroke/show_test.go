package main

import (
	"strings"
	"testing"

	"midstroke/internal/catalog"
	"midstroke/internal/fit"
	"midstroke/internal/measure"
	"midstroke/internal/mount"
	"midstroke/internal/note"
	"midstroke/internal/unit"
)

// shown is an answer made up for the table: codes without words stand for
// themselves.
func shown() (*fit.Answer, *catalog.Snapshot) {
	inches := func(sixteenths int) unit.Length { return unit.Length(sixteenths) * unit.Inch / 16 }
	near := &catalog.Damper{Code: "other", Compressed: inches(17 * 16), Extended: inches(26 * 16)}
	need := fit.Need{Least: inches(32), Wanted: inches(40)}
	one := fit.Fit{
		Rank: 1, Damper: &catalog.Damper{Code: "one"},
		Compressed: inches(13*16 + 10), Extended: inches(21*16 + 4),
		Travel: fit.Both{Compression: inches(59), Extension: inches(63)}, Margin: fit.Both{Compression: inches(27), Extension: inches(31)},
		Likelihood: 1, RidePosition: 59. / 122,
		Upper:      fit.End{Result: &mount.Result{Lacks: []string{"bolt"}, Cautions: []note.Note{note.New("said_of_both")}}},
		Lower:      fit.End{Result: &mount.Result{Complete: true}},
		DamperPick: fit.Pick{Kind: "damper", Code: "one", Quantity: 2}, HardwarePicks: []fit.Pick{{Kind: "bolt", Order: note.New("a_bolt"), Quantity: 4}},
		Total: fit.Total{Amount: 16008},
		Notes: []note.Note{note.New("said_of_one")},
	}
	two := one
	two.Rank, two.Grade, two.Inverted, two.Damper, two.Likelihood, two.Notes = 2, fit.Tight, true, &catalog.Damper{Code: "two"}, 0.996, nil
	two.AtHeights = &fit.AtHeights{
		Lowest:  fit.Both{Compression: inches(51), Extension: inches(71)},
		Highest: fit.Both{Compression: inches(63), Extension: inches(59)},
	}
	return &fit.Answer{
		Outcome: fit.Fits,
		Working: &measure.Working{Value: inches(17*16 + 5), Low: inches(17*16 + 3), High: inches(17*16 + 7),
			Shorter: measure.Mean{Length: inches(17*16 + 4)}, Longer: measure.Mean{Length: inches(17*16 + 6)},
			Steps: []note.Step{{Note: note.New("a_step"), Result: note.Len("length", inches(17*16+5)), Source: "common practice"}}},
		Required:   &fit.Required{Basis: fit.ByRule, Compression: need, Extension: need},
		Fits:       []fit.Fit{one, two},
		More:       true,
		AskNext:    &fit.AskNext{Note: note.New("ask_for_it")},
		NearMisses: []fit.NearMiss{{Damper: near, ShortBy: fit.Both{Compression: inches(4)}, Remedies: []fit.Remedy{{Text: note.New("a_remedy")}}}},
		Counts:     &fit.Counts{Dampers: 9, Fits: 2, NearMisses: 1, RuledOut: 6},
		RuledOut:   []fit.Count{{Reason: "end_style", Count: 6}},
		Judged:     []fit.Judgement{{Code: "third", Verdict: "ruled_out", Reasons: []note.Note{note.New("a_reason")}}},
		Cautions:   []note.Note{note.New(note.Code("a_caution " + strings.Repeat("and more of it ", 8)))},
	}, catalog.NewSnapshot("demo", 7, catalog.Contents{Currency: "USD"})
}

// Eye to eye, compressed 13 5/8, extended 21 1/4, ride height at 17 5/16 in. The
// travel, the margins and the picture were computed by hand.
const readable = `
2 dampers, the best of more that fit, of catalogue demo, revision 7

Working length 17 5/16 in, between 17 3/16 in and 17 7/16 in
One side 17 1/4 in, the other 17 3/8 in: each must fit
  a_step  17 5/16 in  (common practice)

Travel needed by rule: 2 in in compression (2 1/2 in wanted), 2 in in extension (2 1/2 in wanted)

   damper  grade            compressed  ride height in the stroke    extended   spare in    spare out   likely
1  one     clear            13 5/8 in   [.....=======R======......]  21 1/4 in  1 11/16 in  1 15/16 in  100 %
2  two     tight, inverted  13 5/8 in   [.....=======R======......]  21 1/4 in  1 11/16 in  1 15/16 in  >99 %
   R ride height  = travel needed  . travel to spare; the damper is compressed at [ and extended at ]

To take off the shelf
 1  2 × damper one, 4 × a_bolt; 160.08 USD without what has no price
      said_of_one
 2  2 × damper one, 4 × a_bolt; 160.08 USD without what has no price
      at the lowest ride height: compression 3 3/16 in, extension 4 7/16 in; at the highest:
      compression 3 15/16 in, extension 3 11/16 in
  with each: upper end: left open: measure the bolt
  with each: upper end: said_of_both
  next: ask_for_it

Near misses, and what would make each a fit
  other (17 in to 26 in) lacks 1/4 in of compression
      a_remedy

Of 9 dampers 2 fit, 1 nearly do, and 6 are ruled out
       6  end style

third: ruled out
  a_reason

Cautions
  - a_caution and more of it and more of it and more of it and more of it and more of it and more of
    it and more of it and more of it
`

func TestTheTableSaysWhatTheAnswerDoes(t *testing.T) {
	answer, snapshot := shown()
	var b strings.Builder
	if err := show(&b, answer, snapshot, unit.Inches, "en"); err != nil {
		t.Fatal(err)
	}
	if got, want := b.String(), strings.TrimPrefix(readable, "\n"); got != want {
		t.Errorf("got\n%s\nwant\n%s", got, want)
	}
}

// A cell is 0.305 in of the stroke of 7 5/8 in; computed by hand, 2 in needed each
// way.
func TestThePictureKeepsToTheStroke(t *testing.T) {
	answer, _ := shown()
	f := answer.Fits[0]
	const need = 2 * unit.Inch
	stroke := f.Extended - f.Compressed
	for name, c := range map[string]struct {
		position float64
		margin   fit.Both
		want     string
	}{
		"fully compressed": {0, fit.Both{Compression: -need, Extension: stroke - need}, "[R======..................]"},
		"fully extended":   {1, fit.Both{Compression: stroke - need, Extension: -need}, "[..................======R]"},
	} {
		f.RidePosition, f.Margin = c.position, c.margin
		if got := picture(&f); got != c.want {
			t.Errorf("%s: %s, want %s", name, got, c.want)
		}
	}
}

func TestPercentNeverCallsADoubtCertain(t *testing.T) {
	for p, want := range map[float64]string{0: "0 %", 0.001: "<1 %", 0.5: "50 %", 0.994: "99 %", 0.9951: ">99 %", 1: "100 %"} {
		if got := percent(p); got != want {
			t.Errorf("percent(%v) = %q, want %q", p, got, want)
		}
	}
}
