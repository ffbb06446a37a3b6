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
		Compressed: inches(14*16 + 14), Extended: inches(23*16 + 10),
		Travel: fit.Both{Compression: inches(62), Extension: inches(78)}, Margin: fit.Both{Compression: inches(30), Extension: inches(46)},
		Likelihood: 1,
		Upper:      &mount.Result{Cautions: []note.Note{note.New("said_of_both")}},
		Lower:      &mount.Result{},
		PickList:   []fit.Pick{{Kind: "damper", Code: "one", Quantity: 2}, {Kind: "sleeve", Code: "s", Quantity: 4}},
		Notes:      []note.Note{note.New("said_of_one")},
	}
	two := one
	two.Rank, two.Grade, two.Inverted, two.Damper, two.Likelihood, two.Notes = 2, fit.Tight, true, &catalog.Damper{Code: "two"}, 0.996, nil
	return &fit.Answer{
		Outcome: fit.Fits,
		Working: &measure.Working{Value: inches(18*16 + 12), Low: inches(18*16 + 10), High: inches(18*16 + 14),
			Steps: []note.Step{{Note: note.New("a_step"), Result: note.Len("length", inches(18*16+12)), Source: "common practice"}}},
		Required:   &fit.Required{Basis: fit.ByRule, Compression: need, Extension: need},
		Fits:       []fit.Fit{one, two},
		NearMisses: []fit.NearMiss{{Damper: near, ShortBy: fit.Both{Compression: inches(4)}, Remedies: []fit.Remedy{{Text: note.New("a_remedy")}}}},
		Counts:     &fit.Counts{Dampers: 9, Fits: 2, NearMisses: 1, RuledOut: 6},
		RuledOut:   []fit.Count{{Reason: "end_style", Count: 6}},
		Judged:     []fit.Judgement{{Code: "third", Verdict: "ruled_out", Reasons: []note.Note{note.New("a_reason")}}},
		Cautions:   []note.Note{note.New("a_caution " + strings.Repeat("and more of it ", 8))},
	}, catalog.NewSnapshot("demo", 7, catalog.Contents{})
}

// The lengths are those of the worked case of common practice (no source): eye
// to eye, compressed 14 7/8, extended 23 5/8, ride height at 18 3/4 in.
const readable = `
2 dampers fit, best first, of catalogue demo, revision 7

Working length 18 3/4 in, between 18 5/8 in and 18 7/8 in
  a_step  18 3/4 in  (common practice)

Travel needed by rule: 2 in in compression (2 1/2 in wanted), 2 in in extension (2 1/2 in wanted)

   damper  grade            compressed  ride height in the stroke    extended   spare in  spare out  likely
1  one     clear            14 7/8 in   [.....======R=====........]  23 5/8 in  1 7/8 in  2 7/8 in   100 %
2  two     tight, inverted  14 7/8 in   [.....======R=====........]  23 5/8 in  1 7/8 in  2 7/8 in   >99 %
   R ride height  = travel needed  . travel to spare; the damper is compressed at [ and extended at ]

To take off the shelf
 1  2 × damper one, 4 × sleeve s
      said_of_one
 2  2 × damper one, 4 × sleeve s
  with each: upper end: said_of_both

Near misses, and what would make each a fit
  other (17 in to 26 in) lacks 1/4 in of compression
      a_remedy

Of 9 dampers 2 fit, 1 nearly do, and 6 are ruled out
       6  end style

third: ruled out
  a_reason

Mind
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

// A cell is 0.35 in of the stroke of 8 3/4 in; the figures were reckoned by
// hand.
func TestThePictureKeepsToTheStroke(t *testing.T) {
	answer, _ := shown()
	f := answer.Fits[0]
	for name, c := range map[string]struct {
		compression unit.Length
		want        string
	}{
		"fully compressed": {0, "[R=====...................]"},
		"fully extended":   {f.Extended - f.Compressed, "[...................=====R]"},
	} {
		f.Travel.Compression = c.compression
		if got := picture(&f, answer.Required); got != c.want {
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
