package wire_test

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"unicode/utf8"

	"pgregory.net/rapid"

	"midstroke/internal/catalog"
	"midstroke/internal/fit"
	"midstroke/internal/mount"
	"midstroke/internal/note"
	"midstroke/internal/unit"
	"midstroke/internal/wire"
)

func TestLengthsAreWritten(t *testing.T) {
	for _, test := range []struct {
		length unit.Length
		units  unit.System
		want   string
	}{
		{0, unit.Inches, "0"},
		{unit.Inch, unit.Inches, "1"},
		{-unit.Inch / 64, unit.Inches, "-0.015625"},
		{10 * unit.Inch, unit.Inches, "10"},
		{unit.Millimetre, unit.Inches, "0.03937"}, // 0.0393700787…
		{1, unit.Inches, "0"},                     // a nanometre is 0.04 millionths of an inch
		{1, unit.Millimetres, "0.000001"},
		{-1, unit.Millimetres, "-0.000001"},
		{unit.Metre, unit.Millimetres, "1000"},
		{25_400_010, unit.Millimetres, "25.40001"},
		{unit.MaxLength, unit.Inches, "393.700787"},
	} {
		if got := string(wire.AppendLength(nil, test.length, test.units)); got != test.want {
			t.Errorf("%d nm in %s: got %s, want %s", test.length, test.units, got, test.want)
		}
	}
}

// TestLengthsRoundTrip: what is written is the number that In gives, and every
// 1/64 in and every nanometre in millimetres is read back as it was.
func TestLengthsRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := unit.Length(rapid.Int64Range(-int64(unit.MaxLength), int64(unit.MaxLength)).Draw(t, "length"))
		s := rapid.SampledFrom([]unit.System{unit.Inches, unit.Millimetres}).Draw(t, "units")
		if s == unit.Inches && rapid.Bool().Draw(t, "sixty-fourths") {
			l -= l % (unit.Inch / 64)
		}
		text := string(wire.AppendLength(nil, l, s))
		n, err := strconv.ParseFloat(text, 64)
		if err != nil || n != l.In(s) {
			t.Fatalf("%d nm: wrote %s, In gives %v", l, text, l.In(s))
		}
		back, err := unit.ParseNumber(text, s)
		if err != nil {
			t.Fatal(err)
		}
		if exact := s == unit.Millimetres || l%(unit.Inch/64) == 0; exact && back != l {
			t.Fatalf("%d nm: wrote %s, read %d", l, text, back)
		}
		// Half of a millionth of an inch is 12.7 nm.
		if off := (back - l).Abs(); off > 13 {
			t.Fatalf("%d nm: wrote %s, off by %d nm", l, text, off)
		}
	})
}

// TestNumbersAreShortest compares with strconv, which shares no code with it.
func TestNumbersAreShortest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		decimals := rapid.IntRange(0, 6).Draw(t, "decimals")
		n := rapid.OneOf(rapid.Float64Range(-2, 2), rapid.Float64Range(-1e7, 1e7), rapid.Float64Range(-1e13, 1e13)).Draw(t, "n")
		rounded := n
		if scale := math.Pow10(decimals); math.Abs(n) < 1e12 {
			rounded = math.Round(n*scale) / scale
		}
		want := strings.TrimPrefix(strconv.FormatFloat(rounded, 'f', -1, 64), "-")
		if rounded < 0 {
			want = "-" + want
		}
		if got := string(wire.AppendNumber(nil, n, decimals)); got != want {
			t.Fatalf("%v to %d decimals is %s, want %s", n, decimals, got, want)
		}
	})
}

func TestNumbersAreWritten(t *testing.T) {
	for _, test := range []struct {
		n        float64
		decimals int
		want     string
	}{
		{0, 6, "0"}, {math.Copysign(0, -1), 6, "0"}, {-1e-9, 6, "0"}, {0.5120971, 6, "0.512097"}, {1, 2, "1"},
		{33634.2, 0, "33634"}, {3.885, 1, "3.9"}, {1e15, 2, "1000000000000000"}, {math.NaN(), 2, "null"}, {math.Inf(1), 2, "null"},
	} {
		if got := string(wire.AppendNumber(nil, test.n, test.decimals)); got != test.want {
			t.Errorf("%v to %d: got %s, want %s", test.n, test.decimals, got, test.want)
		}
	}
}

// TestStringsAreJSON: every text comes back from encoding/json as it was, but
// for what isn't UTF-8.
func TestStringsAreJSON(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := string(rapid.SliceOf(rapid.Byte()).Draw(t, "bytes"))
		if rapid.Bool().Draw(t, "runes") {
			s = rapid.String().Draw(t, "text")
		}
		var back string
		if err := json.Unmarshal(wire.AppendString(nil, s), &back); err != nil {
			t.Fatal(err)
		}
		if utf8.ValidString(s) && back != s {
			t.Fatalf("%q came back as %q", s, back)
		}
	})
}

// TestSameAnswerSameBytes writes each answer twice, into different buffers.
func TestSameAnswerSameBytes(t *testing.T) {
	for _, file := range examplesOfRequests(t) {
		r, a, first := answer(t, file.body)
		prefix := []byte("{\"kept\":")
		second := wire.AppendFits(prefix, a, &r, edition(), "en")
		if !bytes.HasPrefix(second, prefix) || !bytes.Equal(second[len(prefix):], first) {
			t.Errorf("%s: two answers differ", file.name)
		}
	}
}

// csvOf reads the CSV form of an answer by encoding/csv: each line by its columns.
func csvOf(t *testing.T, a *fit.Answer, r *wire.FitsRequest) []map[string]string {
	t.Helper()
	rows, err := csv.NewReader(bytes.NewReader(wire.AppendFitsCSV(nil, a, r, edition(), "en"))).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var lines []map[string]string
	for _, row := range rows[1:] {
		line := map[string]string{}
		for i, name := range rows[0] {
			if _, twice := line[name]; twice {
				t.Errorf("the column %s stands twice", name)
			}
			line[name] = row[i]
		}
		lines = append(lines, line)
	}
	return lines
}

// TestCSV holds the CSV form of every example against its JSON: each plain value
// of a fit, and each list of them, stands in the column of its path.
func TestCSV(t *testing.T) {
	for _, file := range examplesOfRequests(t) {
		r, a, raw := answer(t, file.body)
		lines := csvOf(t, a, &r)
		if len(lines) != max(1, len(a.Fits)) {
			t.Fatalf("%s: %d lines for %d fits", file.name, len(lines), len(a.Fits))
		}
		var whole struct{ Fits []map[string]any }
		if err := json.Unmarshal(raw, &whole); err != nil {
			t.Fatal(err)
		}
		for i, f := range whole.Fits {
			for path, want := range plainValues(f) {
				name := strings.ReplaceAll(path, ".", "_")
				if strings.HasSuffix(path, ".hardware") {
					continue // where it stands in a list that CSV hasn't
				}
				if got, ok := lines[i][name]; !ok || strings.TrimPrefix(got, "'") != want {
					t.Errorf("%s, fit %d: %q in the column %s, %q in JSON", file.name, i+1, got, name, want)
				}
			}
			if lines[i]["catalog_revision"] != "7" || lines[i]["outcome"] != "fits" || lines[i]["units"] != r.Units.String() {
				t.Errorf("%s: %v", file.name, lines[i])
			}
		}
	}
}

// plainValues gives the plain values in an object and the lists of them, by their
// paths and as they stand without the marks of JSON. What lies in lists of objects
// is left out.
func plainValues(object map[string]any) map[string]string {
	found := map[string]string{}
	var walk func(path string, v any)
	walk = func(path string, v any) {
		switch v := v.(type) {
		case map[string]any:
			for name, inner := range v {
				walk(strings.TrimPrefix(path+"."+name, "."), inner)
			}
		case []any:
			if len(v) == 0 {
				return // of what, JSON doesn't say
			}
			if _, objects := v[0].(map[string]any); !objects {
				found[path] = bare(v)
			}
		case nil: // maybe of an object, which has no column of its own
		default:
			found[path] = bare(v)
		}
	}
	walk("", object)
	return found
}

// bare is a JSON value without its marks.
func bare(v any) string {
	switch v := v.(type) {
	case nil:
		return ""
	case string:
		return v
	case []any:
		text, _ := cell("", v)
		return text
	}
	text, _ := json.Marshal(v)
	return string(text)
}

// TestCSVOfTheWholeFit: what JSON tells in lists stands in one cell.
func TestCSVOfTheWholeFit(t *testing.T) {
	r, a, _ := answer(t, []byte(`{"units": "mm", "reference": "bay 3", "upper": {"style": "eye", "bolt": "M12", "opening": 40, "plate": 5},
		"lower": {"style": "eye", "bolt": "M12", "opening": 40, "plate": 5}, "readings": [420], "suspension": "solid_axle"}`))
	line := csvOf(t, a, &r)[0]
	f := &a.Fits[0]
	var picks, cautions []string
	for _, p := range f.PickList() {
		if p.Listed() {
			picks = append(picks, fmt.Sprintf("%d x %s %s", p.Quantity, p.Kind, p.Code))
		} else {
			picks = append(picks, fmt.Sprintf("%d x %s", p.Quantity, p.Order.Text("en", unit.Millimetres)))
		}
	}
	for _, c := range a.Cautions {
		cautions = append(cautions, string(c.Code))
	}
	for name, want := range map[string]string{
		"reference": "bay 3", "outcome": "fits", "reasons": "", "more": strconv.FormatBool(a.More), "complete": "true",
		"upper_bolt": f.Upper.Bolt.Order, "lower_bolt": f.Lower.Bolt.Order, "pick_list": strings.Join(picks, "|"),
		"cautions": strings.Join(cautions, "|"), "working_length_value": "420",
	} {
		if line[name] != want {
			t.Errorf("%s: %q, want %q", name, line[name], want)
		}
	}
}

// TestCSVWithoutFits: one line with what stands without a fit.
func TestCSVWithoutFits(t *testing.T) {
	a := &fit.Answer{Outcome: fit.MeasureAgain, Reasons: []note.Note{note.New("no_bolt_given"), note.New("bore_not_listed")}}
	lines := csvOf(t, a, &wire.FitsRequest{Units: unit.Inches, Reference: "bay 3"})
	if len(lines) != 1 {
		t.Fatalf("%d lines, want one", len(lines))
	}
	stands := map[string]string{
		"reference": "bay 3", "outcome": "measure_again", "more": "false", "units": "in",
		"reasons":      "no bolt was given, so sleeves and spacers are left open|the list doesn't give this eye's bore, so sleeves and spacers are left open",
		"catalog_name": "demo", "catalog_revision": "7", "catalog_stale": "false",
	}
	for name, got := range lines[0] {
		if got != stands[name] {
			t.Errorf("%s: %q, want %q", name, got, stands[name])
		}
	}
	header, _, _ := strings.Cut(string(wire.AppendFitsCSV(nil, a, &wire.FitsRequest{Units: unit.Inches}, edition(), "en")), "\r\n")
	if !strings.HasPrefix(header, "reference,outcome,reasons,more,rank,grade,") {
		t.Errorf("the header is %s", header)
	}
}

// TestCells: a text that a spreadsheet would take for a formula is kept from
// it, and numbers stay numbers.
func TestCells(t *testing.T) {
	for text, want := range map[string]string{
		"plain": "plain", "": "", "=1+1": "'=1+1", "+1": "'+1", "-1": "'-1", "@SUM(A1)": "'@SUM(A1)", "\tx": "'\tx",
		`a "b", c`: `"a ""b"", c"`, "=a,b": `"'=a,b"`, "two\nlines": "\"two\nlines\"",
	} {
		if got := string(wire.AppendCell(nil, text)); got != want {
			t.Errorf("%q: got %s, want %s", text, got, want)
		}
	}
	d := &catalog.Damper{Code: "-1", Description: "=cmd", Price: mount.NoPrice}
	a := &fit.Answer{Fits: []fit.Fit{{Rank: 1, Damper: d, Margin: fit.Both{Compression: -unit.Inch}, Upper: fit.End{Result: &mount.Result{}}, Lower: fit.End{Result: &mount.Result{}}}}}
	out := string(wire.AppendFitsCSV(nil, a, &wire.FitsRequest{Units: unit.Inches}, edition(), "en"))
	for _, want := range []string{",'-1,'=cmd,", ",-1,"} {
		if !strings.Contains(out, want) {
			t.Errorf("no %q in %s", want, out)
		}
	}
}

// TestPickReachesEveryMember picks every member of the answer to each example by
// its path and holds it against the JSON; those of a fit by the path within it,
// too.
func TestPickReachesEveryMember(t *testing.T) {
	for _, file := range examplesOfRequests(t) {
		r, err := wire.ReadFits(file.body)
		if err != nil {
			t.Fatal(err)
		}
		r.Fit.Working, r.Fit.Explain, r.Fit.NearMisses = true, true, &r.Fit.Dampers
		a, faults := fit.Find(&r.Fit, snapshot())
		if len(faults) > 0 {
			t.Fatal(faults)
		}
		var whole any
		if err := json.Unmarshal(wire.AppendFits(nil, a, &r, edition(), "en"), &whole); err != nil {
			t.Fatal(err)
		}
		fits, _ := whole.(map[string]any)["fits"].([]any)
		reach(t, "", whole, fits, func(path string, rank int) (string, error) {
			return wire.PickFits(a, &r, edition(), "en", wire.Show{Format: wire.Text, Pick: path, Rank: rank})
		})
	}
}

var inFit = regexp.MustCompile(`^fits\.([0-9]+)\.(.+)$`)

func reach(t *testing.T, path string, v any, fits []any, pick func(path string, rank int) (string, error)) {
	t.Helper()
	want, single := bare(v), true
	switch v := v.(type) {
	case map[string]any:
		single = false
		for name, inner := range v {
			reach(t, strings.TrimPrefix(path+"."+name, "."), inner, fits, pick)
		}
	case []any:
		want, single = cell(path[strings.LastIndexByte(path, '.')+1:], v)
		for i, inner := range v {
			reach(t, path+"."+strconv.Itoa(i), inner, fits, pick)
		}
	}
	check := func(path string, rank int) {
		got, err := pick(path, rank)
		faults, _ := faultsOf(err)
		switch {
		case !single && (len(faults) != 1 || faults[0].Code.Public() != "wrong_type"):
			t.Errorf("%s of %d: got %q, %v; it holds several values", path, rank, got, err)
		case single && (err != nil || got != want):
			t.Errorf("%s of %d: got %q, %v; want %q", path, rank, got, err, want)
		}
	}
	if path != "" && !isOfFit(path, fits) {
		check(path, 1)
	}
	if m := inFit.FindStringSubmatch(path); m != nil {
		i, _ := strconv.Atoi(m[1])
		check(m[2], i+1)
	}
}

// isOfFit says whether a path goes into the first fit, which is then what is picked.
func isOfFit(path string, fits []any) bool {
	if len(fits) == 0 {
		return false
	}
	if path == "damping.damping_ratio" { // also where the fit's damping isn't known
		return true
	}
	_, found := lookUp(fits[0], "/"+strings.ReplaceAll(path, ".", "/"))
	return found
}

// cell says in one cell what a list holds, false where it can't.
func cell(name string, list []any) (string, bool) {
	items := make([]string, len(list))
	for i, v := range list {
		item, object := v.(map[string]any)
		switch {
		case !object:
			items[i] = bare(v)
		case name == "reasons":
			items[i] = bare(item["text"])
		case name == "cautions" || name == "notes":
			items[i] = bare(item["code"])
		case name == "pick_list" && item["code"] != nil:
			items[i] = bare(item["quantity"]) + " x " + bare(item["kind"]) + " " + bare(item["code"])
		case name == "pick_list":
			items[i] = bare(item["quantity"]) + " x " + bare(item["text"])
		default:
			return "", false
		}
	}
	return strings.Join(items, "|"), true
}

func TestPick(t *testing.T) {
	r, a, _ := answer(t, read(t, ordinary))
	pick := func(path string, rank int) (string, error) {
		return wire.PickFits(a, &r, edition(), "en", wire.Show{Format: wire.Text, Pick: path, Rank: rank})
	}
	for _, test := range []struct {
		path string
		rank int
		want string
	}{
		{"damper.code", 1, a.Fits[0].Damper.Code},
		{"damper.code", 2, a.Fits[1].Damper.Code},
		{"damper.gas", 1, strconv.FormatBool(a.Fits[0].Damper.Gas)},
		{"rank", 3, "3"},
		{"pick_list.0.quantity", 1, "2"},
		{"stops", 1, ""}, // null
		{"stops.strap.length", 1, ""},
		{"damper.adjusters", 1, strings.Join(a.Fits[0].Damper.Adjusters.Names(), "|")},
		{"pick_list.99.code", 1, ""},
		{"hardware.0.sleeves.9.code", 1, ""},
		{"hardware.0.adapter.code", 1, ""},
		{"hardware.99.adapter.code", 1, ""},
		{"hardware.0.working.0.text", 1, ""}, // which wasn't asked for
		{"outcome", 9, "fits"},
	} {
		got, err := pick(test.path, test.rank)
		if err != nil || got != test.want {
			t.Errorf("%s of %d: got %q, %v; want %q", test.path, test.rank, got, err, test.want)
		}
	}
	for _, test := range []struct {
		path string
		rank int
		want place
	}{
		{"damper.cod", 1, place{"pick", "unknown_field"}},
		{"pick_list.9.cod", 1, place{"pick", "unknown_field"}},
		{"stops.strap.lenght", 1, place{"pick", "unknown_field"}},
		{"pick_list.x.code", 1, place{"pick", "unknown_field"}},
		{"rank.x", 1, place{"pick", "unknown_field"}},
		{"reference.x", 1, place{"pick", "unknown_field"}},
		{"hardware.0.bolt.txt", 1, place{"pick", "unknown_field"}},
		{"hardware", 1, place{"pick", "wrong_type"}},
		{"hardware.1", 1, place{"pick", "wrong_type"}},
		{"cautions.0.values", 1, place{"pick", "wrong_type"}},
		{"damper", 1, place{"pick", "wrong_type"}},
		{"damper.code", 50, place{"rank", "out_of_range"}},
	} {
		_, err := pick(test.path, test.rank)
		sameFaults(t, err, []place{test.want})
	}
	none := &fit.Answer{Outcome: fit.MeasureAgain}
	if got, err := wire.PickFits(none, &r, edition(), "en", wire.Show{Pick: "damper.code", Rank: 1}); err != nil || got != "measure_again" {
		t.Errorf("got %q, %v", got, err)
	}
}
