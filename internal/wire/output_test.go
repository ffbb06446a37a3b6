package wire_test

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"math"
	"strconv"
	"strings"
	"testing"
	"unicode/utf8"

	"pgregory.net/rapid"

	"midstroke/internal/catalog"
	"midstroke/internal/fit"
	"midstroke/internal/mount"
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

// TestCSV reads the CSV form by encoding/csv and holds it against the JSON.
func TestCSV(t *testing.T) {
	r, a, raw := answer(t, read(t, ordinary))
	rows, err := csv.NewReader(bytes.NewReader(wire.AppendFitsCSV(nil, a, &r, edition()))).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	if len(rows) != 1+len(a.Fits) || len(a.Fits) == 0 {
		t.Fatalf("%d lines for %d fits", len(rows), len(a.Fits))
	}
	var whole struct{ Fits []any }
	if err := json.Unmarshal(raw, &whole); err != nil {
		t.Fatal(err)
	}
	column := map[string]int{}
	for i, name := range rows[0] {
		column[name] = i
	}
	for i, row := range rows[1:] {
		for name, pointer := range map[string]string{
			"rank": "/rank", "grade": "/grade", "damper_code": "/damper/code", "damper_compressed": "/damper/compressed",
			"margin_extension": "/margin/extension", "worst_case_likelihood": "/worst_case/likelihood", "ride_position": "/ride_position",
			"parts": "/parts", "price_amount": "/price/amount", "price_currency": "/price/currency", "lower_spacers_left_over": "/lower/spacers/left_over",
		} {
			want, given := lookUp(whole.Fits[i], pointer)
			text, _ := json.Marshal(want)
			if got := row[column[name]]; !given && got != "" || given && got != strings.Trim(string(text), `"`) {
				t.Errorf("fit %d, %s: %s in CSV, %s in JSON", i+1, name, got, text)
			}
		}
		if row[column["working_length"]] != "16.21875" || row[column["catalog_revision"]] != "7" {
			t.Errorf("%v", row)
		}
	}
}

// TestCSVWithoutFits gives the header line alone.
func TestCSVWithoutFits(t *testing.T) {
	out := wire.AppendFitsCSV(nil, &fit.Answer{Outcome: fit.NoFit}, &wire.FitsRequest{Units: unit.Inches}, edition())
	if bytes.Count(out, []byte("\r\n")) != 1 || !bytes.HasPrefix(out, []byte("rank,grade,mounted,damper_code")) {
		t.Errorf("%s", out)
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
	a := &fit.Answer{Fits: []fit.Fit{{Rank: 1, Damper: d, Margin: fit.Both{Compression: -unit.Inch}, Upper: &mount.Result{}, Lower: &mount.Result{}}}}
	out := string(wire.AppendFitsCSV(nil, a, &wire.FitsRequest{Units: unit.Inches}, edition()))
	for _, want := range []string{",'-1,'=cmd,", ",-1,"} {
		if !strings.Contains(out, want) {
			t.Errorf("no %q in %s", want, out)
		}
	}
}

func TestPick(t *testing.T) {
	r, a, _ := answer(t, read(t, ordinary))
	pick := func(path string, rank int) (string, error) {
		return wire.PickFit(a, &r, edition(), "en", wire.Show{Format: wire.Text, Pick: path, Rank: rank})
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
		{"lower.sleeves.9.code", 1, ""},
		{"upper.adapter.code", 1, ""},
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
		{"damper", 1, place{"pick", "wrong_type"}},
		{"damper.code", 50, place{"rank", "out_of_range"}},
	} {
		_, err := pick(test.path, test.rank)
		sameFaults(t, err, []place{test.want})
	}
	none := &fit.Answer{Outcome: fit.MeasureAgain}
	if got, err := wire.PickFit(none, &r, edition(), "en", wire.Show{Pick: "damper.code", Rank: 1}); err != nil || got != "measure_again" {
		t.Errorf("got %q, %v", got, err)
	}
}
