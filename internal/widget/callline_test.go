//go:build browser

package widget_test

import (
	"maps"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/chromedp/chromedp/kb"
	"pgregory.net/rapid"
)

// readLines is what the call line makes of texts.
type readLine struct {
	Axle   string
	Values map[string][]string
	Pieces []struct {
		From, To   int
		Names      []string
		Understood bool
	}
}

func (t *tab) readLines(texts []string, units string, decimalComma bool) []readLine {
	t.tb.Helper()
	return eval[[]readLine](t, jsonOf(t.tb, texts)+`.map((text) => {
		const { axle = "", values, pieces } = readLine(text, { units: "`+units+`", decimalComma: `+jsonOf(t.tb, decimalComma)+` });
		return { axle, values: Object.fromEntries(values), pieces };
	})`)
}

// said writes a line's values in a fixed order.
func said(line readLine) string {
	parts := []string{}
	if line.Axle != "" {
		parts = append(parts, line.Axle)
	}
	for _, name := range slices.Sorted(maps.Keys(line.Values)) {
		parts = append(parts, name+"="+strings.Join(line.Values[name], "|"))
	}
	return strings.Join(parts, " ")
}

func unknown(line readLine, text string) string {
	var parts []string
	utf16 := []rune(text) // no text here has characters beyond the first plane
	for _, p := range line.Pieces {
		if !p.Understood {
			parts = append(parts, string(utf16[p.From:p.To]))
		}
	}
	return strings.Join(parts, "|")
}

// TestTheCallLine reads lines as advisers type them. What each means is by hand.
func TestTheCallLine(t *testing.T) {
	t.Parallel()
	p := newTab(t, desktop)
	p.exposes("readLine")
	const ordinary = "rear lower=eye lower_bolt=M12 lower_opening=1 1/2 readings=16 5/8|16 11/16 suspension=solid_axle upper=stud"
	for _, c := range []struct{ units, text, want, unknown string }{
		{"in", "rear solid stud eye 16 5/8 16 11/16 M12 1 1/2", ordinary, ""},
		{"in", "r so st e 16 5/8 16 11/16 m12 1 1/2", strings.Replace(ordinary, "M12", "m12", 1), ""},
		{"in", "M12 1 1/2 16 5/8 stud over eye, 16 11/16, a solid rear axle", ordinary, ""},
		{"in", "Trasero rígido espiga ojo 16 5/8 16 11/16 M12 1 1/2", ordinary, ""},
		{"in", "TRASERO RIGIDO ESPIGA OJO 16 5/8 16 11/16 M12 1 1/2", ordinary, ""},
		{"mm", "rear solid stud eye 422 424 M12 38", "rear lower=eye lower_bolt=M12 lower_opening=38 readings=422|424 suspension=solid_axle upper=stud", ""},
		{"in", "rear solid stud eye 422 424 mm M12 38 mm", "rear lower=eye lower_bolt=M12 lower_opening=38 mm readings=422 mm|424 mm suspension=solid_axle upper=stud", ""},
		{"mm", "16 5/8 16 11/16", "readings=16 5/8 in|16 11/16 in", ""},
		{"in", "left 16 5/8 right 16 11/16", "readings_left=16 5/8 readings_right=16 11/16", ""},
		{"in", "l 16 5/8 16.6 r 16 11/16", "readings_left=16 5/8|16.6 readings_right=16 11/16", ""},
		{"in", "16 5/8 right 16 11/16", "readings_left=16 5/8 readings_right=16 11/16", ""},
		{"in", "eye M10 eye M12 front irs", "front lower=eye lower_bolt=M12 suspension=independent upper=eye upper_bolt=M10", ""},
		{"in", "lower eye upper stud hole 7/8 thick 3/16", "lower=eye upper=stud upper_frame_hole=7/8 upper_frame_thickness=3/16", ""},
		{"in", "eye stud M12", "lower=stud upper=eye upper_bolt=M12", ""},
		{"in", "bar pin 2 15/16 eye", "lower=eye upper=bar_pin", "2 15/16"},
		{"in", "bar pin spacing 2 15/16 eye", "lower=eye upper=bar_pin upper_hole_spacing=2 15/16", ""},
		{"in", "stem loop frame face bushing 3/8 washer 1/16", "lower=eye lower_washer=1/16 upper=stud upper_bushing_thickness=3/8 upper_measured_to=frame_face", ""},
		{"in", "stem frame face bushing 3/8 washer 1/16 loop", "lower=eye upper=stud upper_bushing_thickness=3/8 upper_measured_to=frame_face upper_washer_thickness=1/16", ""},
		{"in", "stud eye 1/2-20", "lower=eye lower_bolt=1/2-20 upper=stud", ""},
		{"in", "stud eye bolt 1/2", "lower=eye lower_bolt=1/2 upper=stud", ""},
		{"in", "bump 3 droop 3 1/2 ratio 0.9 lift 2", "motion_ratio=0.9 planned_change=2 travel=wheel travel_bump=3 travel_droop=3 1/2", ""},
		{"mm", "drop 40 ratio .8 body 60 in stock ref 4411", "limits_in_stock=true limits_max_body_diameter=60 motion_ratio=.8 planned_change=-40 reference=4411", ""},
		{"in", "rear zebra stud 3 eyes", "rear upper=stud", "zebra|3|eyes"},
		{"in", "eye eye eye 17 5/16", "lower=eye readings=17 5/16 upper=eye", "eye"},
		{"in", "16,625", "", "16,625"},
		{"mm", "front ind eye eye 498 gap 452 ride gap 421 ratio .91", "front condition=not_at_ride condition_arch_gap=452 condition_arch_gap_at_ride=421 lower=eye motion_ratio=.91 readings=498 suspension=independent upper=eye", ""},
		{"mm", "delantero independiente ojo ojo 498 paso de rueda 452 paso en marcha 421 relación .91", "front condition=not_at_ride condition_arch_gap=452 condition_arch_gap_at_ride=421 lower=eye motion_ratio=.91 readings=498 suspension=independent upper=eye", ""},
		{"in", "", "", ""},
		{"in", "  ,; ", "", ""},
	} {
		line := p.readLines([]string{c.text}, c.units, false)[0]
		if got := said(line); got != c.want {
			t.Errorf("%q in %s says\n%s\nwant\n%s", c.text, c.units, got, c.want)
		}
		if got := unknown(line, c.text); got != c.unknown {
			t.Errorf("of %q %q isn't understood, want %q", c.text, got, c.unknown)
		}
	}
	if got := said(p.readLines([]string{"ojo ojo 439,74 441,5"}, "mm", true)[0]); got != "lower=eye readings=439,74|441,5 upper=eye" {
		t.Errorf("with decimal commas it says %s", got)
	}
}

// TestTheCallLinesExample: all of each example is understood in the units that it is shown in.
func TestTheCallLinesExample(t *testing.T) {
	t.Parallel()
	s := newService(t)
	for _, language := range []string{"en", "es"} {
		for _, units := range []string{"in", "mm"} {
			p := newTabAt(t, s.URL+"/#lang="+language+"&units="+units)
			p.until("document.activeElement.id === 'call'")
			example := eval[string](p, "q('#call').placeholder")
			p.write("#call", example)
			p.press(kb.Enter)
			p.until("q('#rear-lower_bolt')?.value === 'M12'")
			if got := p.text(".call .fault"); got != "" {
				t.Errorf("of %q in %s: %s", example, units, got)
			}
			want := map[string]string{"in": "16 5/8,16 11/16,1 1/2", "mm": "422,424,38"}[units]
			if got := eval[string](p, "['readings-0', 'readings-1', 'lower_opening'].map((id) => q('#rear-' + id)?.value).join()"); got != want {
				t.Errorf("%q fills in %q, want %q", example, got, want)
			}
		}
	}
}

// TestTheCallLineInAnyOrder says the same things in any order, in either language
// and with commas between: the first end stays the upper one, and what belongs to a
// bolt follows it.
func TestTheCallLineInAnyOrder(t *testing.T) {
	t.Parallel()
	p := newTab(t, desktop)
	p.exposes("readLine")
	random := rand.New(rand.NewPCG(18, 4))
	var texts []string
	for range 500 {
		of := func(words ...string) string { return words[random.IntN(len(words))] }
		parts := []string{
			of("rear", "back", "trasero", "R"), of("solid", "beam", "rígido", "puente"),
			of("stud", "stem", "espiga", "upper stud") + of(" ", " over ", " sobre ", ", ") + of("eye", "loop", "ojo", "lower eye") + of("", " end"),
			of("16 5/8", "16-5/8", "16 5/8 in", `16 5/8"`), of("M12", "m12") + " " + of("1 1/2", "1.5", "1½"),
		}
		random.Shuffle(len(parts), func(i, j int) { parts[i], parts[j] = parts[j], parts[i] })
		texts = append(texts, strings.Join(parts, of(" ", ", ", " ; ", "  ")))
	}
	for i, line := range p.readLines(texts, "in", false) {
		v := line.Values
		if line.Axle != "rear" || len(v) != 6 || v["suspension"][0] != "solid_axle" || v["upper"][0] != "stud" || v["lower"][0] != "eye" ||
			len(v["readings"]) != 1 || !strings.EqualFold(v["lower_bolt"][0], "M12") || len(v["lower_opening"]) != 1 || unknown(line, texts[i]) != "" {
			t.Fatalf("%q says %s and leaves %q", texts[i], said(line), unknown(line, texts[i]))
		}
	}
}

// TestAnyCallLine reads texts of any tokens: none breaks it, the pieces cover the
// text in their order, and every value is of a field that there is.
func TestAnyCallLine(t *testing.T) {
	t.Parallel()
	p := newTab(t, desktop)
	p.exposes("readLine", "fieldOf")
	token := rapid.SampledFrom([]string{"rear", "eye", "stud", "bar", "pin", "fork", "upper", "lower", "left", "r", "M12", "m", "1/2", "16", "5/8", "422", "mm", "in", "hole", "face", "bolt", "plate",
		"bump", "drop", "ratio", "0.9", "ref", "<b>", "'", "\u202e", "é", "９", "-", ",", "/", "0", "1e9", "constructor", "__proto__", "toString", "single", "tip", "stock"})
	generated := rapid.Custom(func(r *rapid.T) string {
		return strings.Join(rapid.SliceOfN(token, 0, 12).Draw(r, "tokens"), rapid.SampledFrom([]string{" ", ", ", ""}).Draw(r, "between"))
	})
	var texts []string
	for seed := range 2000 {
		texts = append(texts, generated.Example(seed))
	}
	for _, units := range []string{"in", "mm"} {
		for i, line := range p.readLines(texts, units, units == "mm") {
			end := 0
			for _, piece := range line.Pieces {
				if piece.From < end || piece.To <= piece.From {
					t.Fatalf("%q has the pieces %+v", texts[i], line.Pieces)
				}
				end = piece.To
			}
			for name, values := range line.Values {
				if len(values) == 0 || slices.Contains(values, "") {
					t.Fatalf("%q says %s=%q", texts[i], name, values)
				}
			}
		}
		known := eval[bool](p, jsonOf(t, texts)+`.every((text) => [...readLine(text, { units: "`+units+`", decimalComma: false }).values.keys()].every((name) => fieldOf(name)))`)
		if !known {
			t.Error("a line fills a field that there isn't")
		}
	}
}
