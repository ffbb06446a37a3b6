//go:build browser

package widget_test

import (
	"encoding/json"
	"errors"
	"math"
	"os"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"midstroke/internal/unit"
)

// exposes leaves what testdata/exposed.ts exports under some names on an empty page.
func (t *tab) exposes(names ...string) {
	t.tb.Helper()
	script, err := os.ReadFile("testdata/exposed.js")
	if err != nil {
		t.tb.Fatal(err)
	}
	if eval[string](t, "location.href") != "about:blank" {
		t.open("about:blank")
	}
	list := strings.Join(names, ", ")
	eval[bool](t, "(() => { "+string(script)+"; const { "+list+" } = exposed; Object.assign(globalThis, { "+list+" }); return true; })()")
}

// jsonOf writes a value into an expression.
func jsonOf(tb testing.TB, value any) string {
	tb.Helper()
	text, err := json.Marshal(value)
	if err != nil {
		tb.Fatal(err)
	}
	return string(text)
}

// typed are lengths as people write them, and mistakes that they make.
var typed = []string{
	"17", "17.25", ".5", "17 1/4", "17-1/4", "17¼", "17 ¼", "¼", "69/4", `17 1/4"`, "17 1/4 in", "17 1/4in.", "1'-5 1/4\"", "1 ft 5 1/4 in", "1' 5\"", "1.5 ft",
	"476 mm", "47.6cm", "0.476 m", "17′", "17″", "17 ⁄ 4", "1⁄4", "17\u00a01/4", "−17", "+17", "17 1/4 inches",
	"", " ", "17,25", "1,000", "17 - 1/4", "17 -1/4", "17 5/4", "17.5 1/2", "17 1/0", "1 / 4", "1/", "17 1/", "1/4/8", "17.", "1..5", "1e3", "1e3 mm", "0x11", "NaN", "inf",
	"infinity", "١٧", "--17", "- 17", "17 18", "17 1/4 mm", "1/2 m", "17 furlongs", "17 inn", "1 ft 12 in", "1.5 ft 6 in", "1/2 ft 3 in", "1 ft 5", "1 ft 5 mm", "17 in 3", "17 in x",
	"in", "0", "0.0 mm", "-17", "1700", "10001 mm", "10000 mm", "393.7", "393.8", "17 1/4 in in", "17 mm.", "17 ft.", "1 ft-5 in", "1 ft - 5 in", "1'5''", "17½ 1/2", "½½", "17½/2",
	strings.Repeat("1", 65), strings.Repeat(" ", 70) + "17", "17\t1/4", "17\n", "1 ft 0.5 in", "00017", "17 01/04", "1/00",
}

// TestLengthsInThePage holds the page's check of lengths against package unit:
// the same texts are lengths of the same size, and the others are refused with
// the same code.
func TestLengthsInThePage(t *testing.T) {
	t.Parallel()
	p := newTab(t, desktop)
	p.exposes("checkLength")
	texts := typed
	token := rapid.SampledFrom([]string{"1", "5", "17", "0", "12", "/", ".", " ", "-", "+", ",", "in", "ft", "'", "\"", "mm", "cm", "m", "¼", "x", "e", "′"})
	generated := rapid.Custom(func(r *rapid.T) string { return strings.Join(rapid.SliceOfN(token, 1, 7).Draw(r, "tokens"), "") })
	for seed := range 2000 {
		texts = append(texts, generated.Example(seed))
	}
	for units, system := range map[string]unit.System{"in": unit.Inches, "mm": unit.Millimetres} {
		checked := eval[[]struct {
			MM    *float64
			Fault string
		}](p, jsonOf(t, texts)+`.map((text) => checkLength(text, { units: "`+units+`", signed: true }))`)
		for i, text := range texts {
			length, err := unit.Parse(text, system)
			got := checked[i]
			var syntax *unit.SyntaxError
			switch {
			case err == nil && got.MM == nil:
				t.Errorf("%q in %s is a length, and %s to the page", text, units, got.Fault)
			case err == nil && math.Abs(*got.MM-length.Mm()) > 1e-6:
				t.Errorf("%q in %s is %v, and %v mm to the page", text, units, length, *got.MM)
			case err != nil && got.MM != nil:
				t.Errorf("%q in %s is no length (%v), and %v mm to the page", text, units, err, *got.MM)
			case errors.As(err, &syntax) && string(syntax.Code) != got.Fault:
				t.Errorf("%q in %s is refused as %s, and as %s by the page", text, units, syntax.Code, got.Fault)
			}
		}
	}
}

// TestFiguresKeepTheirUnits: no line of the service's texts ends between a figure and its
// unit, and words that begin as a unit does stay as they are.
func TestFiguresKeepTheirUnits(t *testing.T) {
	t.Parallel()
	p := newTab(t, desktop)
	p.exposes("unbroken")
	for text, want := range map[string]string{
		"con 11,1111 m/s y 3 N·s/m":            "con 11,1111~m/s y 3~N·s/m",
		"at 40 km/h, 12.5 lbf/in and 9 lbf·ft": "at 40~km/h, 12.5~lbf/in and 9~lbf·ft",
		"16 5/8 in, 3 N, 5 °C, 100 %.":         "16~5/8~in, 3~N, 5~°C, 100~%.",
		"2 mounts, 3 inside, 4 s/m":            "2 mounts, 3 inside, 4 s/m",
	} {
		if got := eval[string](p, "unbroken("+jsonOf(t, text)+").replaceAll('\\u00a0', '~')"); got != want {
			t.Errorf("%q becomes %q, want %q", text, got, want)
		}
	}
}
