package table_test

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"runtime"
	"strings"
	"testing"
	"testing/iotest"

	"midstroke/internal/catalog"
	"midstroke/internal/fault"
	"midstroke/internal/mount"
	"midstroke/internal/table"
	"midstroke/internal/unit"
)

// faultsOf gives what is wrong with CSV files.
func faultsOf(t *testing.T, texts map[string]string) fault.List {
	t.Helper()
	_, err := readTexts(texts)
	return faultsIn(t, err)
}

const damperHeader = "code,construction,compressed,extended,length_tolerance,body_diameter,upper_style,upper_bore,lower_style,lower_thread\n"
const goodDamper = "a,twin_tube,13 5/8 in,21 1/4 in,1/16 in,2 in,eye,3/4 in,stud,1/2-20 in\n"

func TestReadSpellings(t *testing.T) {
	eighths := func(n unit.Length) unit.Length { return n * unit.Inch / 8 }
	want := catalog.Damper{
		Code: "a 1", Description: "first line\nsecond, \"quoted\"", Construction: catalog.TwinTube,
		Gas: true, Adjusters: catalog.Compression | catalog.Rebound,
		Compressed: eighths(109), Extended: eighths(170), LengthTolerance: unit.Inch / 16, BodyDiameter: 50 * unit.Millimetre,
		Upper:   mount.End{Style: mount.Eye, Bore: unit.Inch * 3 / 4, BoreIs: mount.Nominal, Width: unit.Inch * 3 / 2},
		Lower:   mount.End{Style: mount.BarPin, HoleSpacing: 60 * unit.Millimetre},
		InStock: true, Price: 8450,
	}
	const plain = `code,description,construction,gas,adjusters,compressed,extended,length_tolerance,body_diameter,upper_style,upper_bore,upper_bore_is,upper_width,lower_style,lower_hole_spacing,in_stock,price
a 1,"first line
second, ""quoted""",twin_tube,yes,compression|rebound,13 5/8 in,21 1/4 in,1/16 in,50 mm,eye,3/4 in,nominal,1 1/2 in,bar_pin,60 mm,yes,84.50
`
	// The same with semicolons; the quoted delimiters and quotes stay.
	joined := func(by string) string {
		s := strings.NewReplacer("second, ", "second\x00 ", ",", by).Replace(plain)
		return strings.ReplaceAll(s, "\x00", ",")
	}
	for name, text := range map[string]string{
		"plain":                plain,
		"byte order mark":      "\uFEFF" + plain,
		"CRLF":                 strings.ReplaceAll(plain, "\n", "\r\n"),
		"semicolons":           joined(";"),
		"tabs":                 joined("\t"),
		"no last line end":     strings.TrimRight(plain, "\n"),
		"blank rows":           strings.Replace(plain, "\na 1", "\n\n,,,,,,,,,,,,,,,,\na 1", 1),
		"padding cells":        strings.Replace(plain, "84.50\n", "84.50,,,\n", 1),
		"blanks around":        strings.NewReplacer("13 5/8 in", "  13 5/8 in ", "a 1", "  a 1 ", ",eye", ", eye ").Replace(plain),
		"blanks before quotes": strings.Replace(plain, "a 1,", "a 1, ", 1),
		"words":                strings.NewReplacer("twin_tube", "Twin tube", "bar_pin", "Bar-Pin", "yes", "TRUE", "nominal", "Nominal", "compression|rebound", "Rebound | Compression").Replace(plain),
		"header":               strings.NewReplacer("body_diameter", " Body Diameter ", "upper_bore_is", "UPPER-BORE-IS").Replace(plain),
		"unit in the header":   strings.NewReplacer("compressed,", "compressed (in),", "13 5/8 in", "13.625", "lower_hole_spacing", "Lower hole spacing (MM)", "60 mm", "60").Replace(plain),
		"cell over header":     strings.NewReplacer("compressed,", "compressed (mm),").Replace(plain),
		"other units":          strings.NewReplacer("13 5/8 in", `"1'-1 5/8"""`, "60 mm", "6 cm").Replace(plain),
	} {
		t.Run(name, func(t *testing.T) {
			c, err := readTexts(map[string]string{
				table.DampersFile: text, table.SettingsFile: "currency,sleeve_gap_most\nEUR,0.25 mm\n",
			})
			if err != nil {
				t.Fatal(err)
			}
			if len(c.Dampers) != 1 || c.Dampers[0] != want {
				t.Errorf("got  %+v\nwant %+v", c.Dampers, want)
			}
			limits := mount.UsualLimits()
			limits.SleeveGapMost = 250 * unit.Micrometre
			if c.Currency != "EUR" || c.Limits != limits {
				t.Errorf("settings %q %+v", c.Currency, c.Limits)
			}
		})
	}
}

// Nothing but code, lengths and styles has to be given; what the list doesn't
// say isn't guessed.
func TestReadLeavesOpenWhatIsNotGiven(t *testing.T) {
	c, err := readTexts(map[string]string{
		table.DampersFile: "code,construction,compressed,extended,length_tolerance,body_diameter,upper_style,lower_style,gas,price,upper_bore\n" +
			"a,monotube,300 mm,400 mm,0 mm,50 mm,eye,eye,,,\n",
	})
	if err != nil {
		t.Fatal(err)
	}
	eye := mount.End{Style: mount.Eye}
	want := catalog.Damper{
		Code: "a", Construction: catalog.Monotube, Compressed: 300 * unit.Millimetre, Extended: 400 * unit.Millimetre,
		BodyDiameter: 50 * unit.Millimetre, Upper: eye, Lower: eye, Price: mount.NoPrice,
	}
	if len(c.Dampers) != 1 || c.Dampers[0] != want || c.Currency != "" || c.Limits != mount.UsualLimits() {
		t.Errorf("got %+v", c)
	}
}

// Each row of the table changes one good file and names the one fault that
// comes of it.
func TestReadFaults(t *testing.T) {
	const sleeves = "code,outer,bore,bore_is,length,in_stock,price\n"
	damper := func(old, new string) map[string]string {
		return map[string]string{table.DampersFile: damperHeader + strings.Replace(goodDamper, old, new, 1)}
	}
	header := func(old, new string) map[string]string {
		return map[string]string{table.DampersFile: strings.Replace(damperHeader, old, new, 1) + goodDamper}
	}
	with := func(name, text string) map[string]string {
		return map[string]string{table.DampersFile: damperHeader + goodDamper, name: text}
	}
	for _, test := range []struct {
		name  string
		files map[string]string
		want  told
	}{
		{"bare number", damper("13 5/8 in", "346.1"), told{Line: 2, Column: "compressed", Value: "346.1", Code: "length_unit_missing"}},
		{"decimal comma", damper("13 5/8 in", `"346,1 mm"`), told{Line: 2, Column: "compressed", Value: "346,1 mm", Code: "length_comma"}},
		{"fraction of a millimetre", damper("2 in", "50 1/2 mm"), told{Line: 2, Column: "body_diameter", Value: "50 1/2 mm", Code: "length_fraction_metric"}},
		{"zero", damper("2 in", "0 mm"), told{Line: 2, Column: "body_diameter", Value: "0 mm", Code: "length_not_positive"}},
		{"negative", damper("3/4 in", "-3/4 in"), told{Line: 2, Column: "upper_bore", Value: "-3/4 in", Code: "length_not_positive"}},
		{"negative tolerance", damper("1/16 in", "-1/16 in"), told{Line: 2, Column: "length_tolerance", Value: "-1/16 in", Code: "length_negative"}},
		{"over 10 m", damper("21 1/4 in", "21250 mm"), told{Line: 2, Column: "extended", Value: "21250 mm", Code: "length_too_large"}},
		{"missing cell", damper("13 5/8 in", " "), told{Line: 2, Column: "compressed", Code: "missing"}},
		{"missing code", damper("a,", ","), told{Line: 2, Column: "code", Code: "missing"}},
		{"construction", damper("twin_tube", "triple"), told{Line: 2, Column: "construction", Value: "triple", Code: "construction"}},
		{"style", damper("eye", "ring"), told{Line: 2, Column: "upper_style", Value: "ring", Code: "style"}},
		{"style outside the method", damper("eye", "fork"), told{Line: 2, Column: "upper_style", Value: "fork", Code: "style_outside_method"}},
		{"thread", damper("1/2-20 in", "M13"), told{Line: 2, Column: "lower_thread", Value: "M13", Code: "unknown_thread"}},
		{"plain pin for a stud", damper("1/2-20 in", "12 mm"), told{Line: 2, Column: "lower_thread", Value: "12 mm", Code: "thread"}},
		{"formula that failed", damper("3/4 in", "#REF!"), told{Line: 2, Column: "upper_bore", Value: "#REF!", Code: "spreadsheet_error"}},
		{"Latin-1", damper("3/4 in", "\xbe in"), told{Line: 2, Column: "upper_bore", Value: "\ufffd in", Code: "not_utf8"}},
		{"shortened code", damper("a,", "4.01235E+12,"), told{Line: 2, Column: "code", Value: "4.01235E+12", Code: "code_shortened"}},
		{"bar in a code", damper("a,", "a|b,"), told{Line: 2, Column: "code", Value: "a|b", Code: "code_bar"}},
		{"long code", damper("a,", strings.Repeat("ä", 65)+","), told{Line: 2, Column: "code", Value: strings.Repeat("ä", 64) + "…", Code: "code_too_long"}},
		{"long cell", damper("eye", strings.Repeat("e", 70)), told{Line: 2, Column: "upper_style", Value: strings.Repeat("e", 64) + "…", Code: "style"}},

		{"lengths mixed up", damper("13 5/8 in,21 1/4 in", "21 1/4 in,13 5/8 in"), told{Line: 2, Column: "extended", Value: "13 5/8 in", Code: "not_longer"}},
		{"lengths alike", damper("21 1/4 in", "13 5/8 in"), told{Line: 2, Column: "extended", Value: "13 5/8 in", Code: "not_longer"}},
		// Twice 13 5/8 in less half of the 3/4 in bore is 26 7/8 in.
		{"rod longer than its body", damper("21 1/4 in", "26 57/64 in"), told{Line: 2, Column: "extended", Value: "26 57/64 in", Code: "stroke_impossible"}},
		{"tolerance", damper("1/16 in", "3 13/16 in"), told{Line: 2, Column: "length_tolerance", Value: "3 13/16 in", Code: "tolerance_too_large"}},
		{"body", damper(",2 in", ",13.625 in"), told{Line: 2, Column: "body_diameter", Value: "13.625 in", Code: "body_too_large"}},
		{"bore under M6", damper("3/4 in", "5.999 mm"), told{Line: 2, Column: "upper_bore", Value: "5.999 mm", Code: "hole_too_small"}},
		{"bore on a stud", damper("eye", "stud"), told{Line: 2, Column: "upper_bore", Value: "3/4 in", Code: "not_of_this_style"}},
		{"thread on a bar pin", damper("stud", "bar_pin"), told{Line: 2, Column: "lower_thread", Value: "1/2-20 in", Code: "not_of_this_style"}},

		{"cell too few", damper(",eye", ""), told{Line: 2, Value: "", Code: "cells"}},
		{"cell too many", damper("13 5/8", "13,5/8"), told{Line: 2, Value: "", Code: "cells"}},
		{"bare quote", damper("2 in", `2"`), told{Line: 2, Code: "quote_bare"}},
		{"open quote", damper("1/2-20 in", `"1/2-20`), told{Line: 2, Code: "quote_open"}},

		{"unknown column", header("upper_bore", "upper_bbore"), told{Line: 1, Column: "upper_bbore", Value: "upper_bbore", Code: "column_unknown"}},
		{"column twice", header("upper_bore", "length_tolerance"), told{Line: 1, Column: "length_tolerance", Value: "length_tolerance", Code: "column_twice"}},
		{"column's unit", header("upper_bore", "upper_bore (cm)"), told{Line: 1, Column: "upper_bore", Value: "upper_bore (cm)", Code: "column_unit"}},
		{"unit of no length", header("upper_style", "upper_style (mm)"), told{Line: 1, Column: "upper_style", Value: "upper_style (mm)", Code: "column_unit"}},
		{"unnamed column", header("upper_bore", ""), told{Line: 2, Value: "3/4 in", Code: "column_unnamed"}},
		{"no header", map[string]string{table.DampersFile: goodDamper}, told{Line: 1, Value: strings.TrimSpace(goodDamper[:64]) + "…", Code: "header_missing"}},
		{"empty file", map[string]string{table.DampersFile: ""}, told{Code: "file_empty"}},
		{"no file", map[string]string{}, told{File: "-", Code: "dampers_missing"}},
		{"CR alone", map[string]string{table.DampersFile: strings.ReplaceAll(damperHeader+goodDamper, "\n", "\r")}, told{Code: "line_ends"}},
		{"UTF-16 without its mark", map[string]string{table.DampersFile: "c\x00o\x00d\x00e\x00"}, told{Code: "not_utf8"}},

		{"sleeve without a wall", with(table.SleevesFile, sleeves+"s,19 mm,19 mm,,30 mm,,\n"), told{File: table.SleevesFile, Line: 2, Column: "outer", Value: "19 mm", Code: "no_wall"}},
		{"bore is", with(table.SleevesFile, sleeves+"s,19 mm,12 mm,about,30 mm,,\n"), told{File: table.SleevesFile, Line: 2, Column: "bore_is", Value: "about", Code: "bore_is"}},
		{"yes or no", with(table.SleevesFile, sleeves+"s,19 mm,12 mm,,30 mm,maybe,\n"), told{File: table.SleevesFile, Line: 2, Column: "in_stock", Value: "maybe", Code: "yes_or_no"}},
		{"price with a sign", with(table.SleevesFile, sleeves+"s,19 mm,12 mm,,30 mm,,€3\n"), told{File: table.SleevesFile, Line: 2, Column: "price", Value: "€3", Code: "price"}},
		{"price with a comma", with(table.SleevesFile, sleeves+"s,19 mm,12 mm,,30 mm,,\"3,50\"\n"), told{File: table.SleevesFile, Line: 2, Column: "price", Value: "3,50", Code: "price_comma"}},
		{"price to three places", with(table.SleevesFile, sleeves+"s,19 mm,12 mm,,30 mm,,3.505\n"), told{File: table.SleevesFile, Line: 2, Column: "price", Value: "3.505", Code: "price_decimals"}},
		{"price of a bar code", with(table.SleevesFile, sleeves+"s,19 mm,12 mm,,30 mm,,4012345678901\n"), told{File: table.SleevesFile, Line: 2, Column: "price", Value: "4012345678901", Code: "price_too_large"}},
		{"no currency", with(table.SleevesFile, sleeves+"s,19 mm,12 mm,,30 mm,,3.50\n"), told{File: table.SettingsFile, Column: "currency", Code: "currency_missing"}},
		{"currency", with(table.SettingsFile, "currency\nEuro\n"), told{File: table.SettingsFile, Line: 2, Column: "currency", Value: "Euro", Code: "currency"}},
		{"clearances mixed up", with(table.SettingsFile, "bolt_gap_least,bolt_gap_most\n0.6 mm,0.05 mm\n"), told{File: table.SettingsFile, Line: 2, Column: "bolt_gap_most", Value: "0.05 mm", Code: "most_below_least"}},
		{"two settings", with(table.SettingsFile, "currency\nEUR\nUSD\n"), told{File: table.SettingsFile, Line: 3, Code: "rows_too_many"}},
		{"adapter of an unknown style", with(table.AdaptersFile, "code,from_style,to_style,adds_length\nx,eye,loop,0 mm\n"), told{File: table.AdaptersFile, Line: 2, Column: "to_style", Value: "loop", Code: "style"}},
		{"spigot inside the stud", with(table.AdaptersFile, "code,from_style,from_thread,from_spigot,to_style,adds_length\nx,stud,M12,12 mm,eye,0 mm\n"), told{File: table.AdaptersFile, Line: 2, Column: "from_spigot", Value: "12 mm", Code: "spigot_too_small"}},
		{"holes that overlap", with(table.AdaptersFile, "code,from_style,from_hole,from_hole_spacing,to_style,adds_length\nx,bar_pin,30 mm,30 mm,eye,0 mm\n"), told{File: table.AdaptersFile, Line: 2, Column: "from_hole", Value: "30 mm", Code: "holes_overlap"}},
		{"slots that overlap", with(table.AdaptersFile, "code,from_style,from_slot,from_hole_spacing,to_style,adds_length\nx,bar_pin,30 mm,30 mm,eye,0 mm\n"), told{File: table.AdaptersFile, Line: 2, Column: "from_slot", Value: "30 mm", Code: "slot_too_long"}},
		{"nominal nothing", with(table.AdaptersFile, "code,from_style,from_bore_is,to_style,adds_length\nx,eye,nominal,eye,0 mm\n"), told{File: table.AdaptersFile, Line: 2, Column: "from_bore_is", Value: "nominal", Code: "bore_missing"}},
	} {
		t.Run(test.name, func(t *testing.T) {
			if test.want.File = cmp.Or(test.want.File, table.DampersFile); test.want.File == "-" {
				test.want.File = ""
			}
			got := faultsOf(t, test.files)
			if len(got) != 1 {
				t.Fatalf("got %d faults: %v", len(got), got)
			}
			if got := toldOf(t, got)[0]; got != test.want {
				t.Errorf("got  %+v\nwant %+v", got, test.want)
			}
		})
	}
}

// A limit met exactly is met: a rod as long as the body lets it be, a bore as
// wide as the thinnest bolt.
func TestReadAtTheLimit(t *testing.T) {
	for _, change := range [][2]string{{"21 1/4 in", "26 7/8 in"}, {"3/4 in", "6 mm"}, {"1/16 in", "3 51/64 in"}} {
		text := damperHeader + strings.Replace(goodDamper, change[0], change[1], 1)
		if got := faultsOf(t, map[string]string{table.DampersFile: text}); got != nil {
			t.Errorf("%s: %v", change[1], got)
		}
	}
}

func TestReadCodesAlike(t *testing.T) {
	for _, second := range []string{"AB 1", "ab1", "aB  1", " ab  1 "} {
		text := damperHeader + strings.Replace(goodDamper, "a,", "ab 1,", 1) + "\n" + strings.Replace(goodDamper, "a,", second+",", 1)
		got := faultsOf(t, map[string]string{table.DampersFile: text})
		if len(got) != 1 || got[0].Code.Public() != "code_twice" || got[0].Line != 4 || got[0].Column != "code" || !strings.Contains(got[0].Text("en", unit.Unset), "line 2") {
			t.Errorf("%q: %v", second, got)
		}
	}
}

func TestReadSuggestsTheNearestColumn(t *testing.T) {
	text := strings.Replace(damperHeader, "compressed", "comprest", 1) + goodDamper
	got := faultsOf(t, map[string]string{table.DampersFile: text})
	if len(got) != 2 || got[0].Code.Public() != "column_unknown" || got[1].Code != "column_missing" || got[1].Column != "compressed" {
		t.Fatalf("got %v", got)
	}
	text = strings.Replace(damperHeader, "upper_bore", "uper_bore", 1) + goodDamper
	if got := faultsOf(t, map[string]string{table.DampersFile: text}); len(got) != 1 || !strings.Contains(got[0].Cure("en", unit.Unset), "upper_bore") {
		t.Errorf("got %v", got)
	}
}

// Every fault of every file is reported at once, each where it stands, also
// after a quoted line end.
func TestReadReportsAllFaults(t *testing.T) {
	got := faultsOf(t, map[string]string{
		table.DampersFile: "description," + damperHeader +
			"\"two\nlines\"," + strings.NewReplacer("13 5/8 in", "13 5/8", "eye", "ring").Replace(goodDamper) +
			"," + strings.Replace(goodDamper, "a,twin_tube", "b,box", 1),
		table.SpacersFile: "code,bore,thickness\nx,5 mm,\n",
	})
	var places []string
	for _, f := range got {
		places = append(places, fmt.Sprintf("%s:%d:%s:%s", f.File, f.Line, f.Column, f.Code.Public()))
	}
	const want = "dampers.csv:3:compressed:length_unit_missing dampers.csv:3:upper_style:style dampers.csv:4:construction:construction " +
		"spacers.csv:2:thickness:missing spacers.csv:2:bore:hole_too_small"
	if strings.Join(places, " ") != want {
		t.Errorf("got  %s\nwant %s", strings.Join(places, " "), want)
	}
}

func TestReadCountsFaultsBeyondTheList(t *testing.T) {
	var b strings.Builder
	b.WriteString(damperHeader)
	for i := range 1500 {
		b.WriteString(strings.NewReplacer("a,", fmt.Sprintf("%d,", i), "2 in", "two").Replace(goodDamper))
	}
	_, err := readTexts(map[string]string{table.DampersFile: b.String()})
	var faults *table.Faults
	if !errors.As(err, &faults) {
		t.Fatal(err)
	}
	if len(faults.List) != table.MaxListed || faults.More != 500 || faults.List[999].Line != 1001 {
		t.Errorf("%d listed, %d more, the last on line %d", len(faults.List), faults.More, faults.List[len(faults.List)-1].Line)
	}
}

// A reader that fails isn't a fault of the file.
func TestReadErrorOfTheReader(t *testing.T) {
	broken := errors.New("the line is dead")
	for name, r := range map[string]io.Reader{
		"at once":  iotest.ErrReader(broken),
		"later on": io.MultiReader(strings.NewReader(damperHeader+goodDamper), iotest.ErrReader(broken)),
	} {
		var faults *table.Faults
		if _, err := readAll([]table.File{streamed(table.DampersFile, r)}, nil); !errors.Is(err, broken) || errors.As(err, &faults) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// A quote that is never closed must not take the rest of a file into memory.
func TestReadStopsAtAnEndlessRow(t *testing.T) {
	endless := io.MultiReader(strings.NewReader(damperHeader+goodDamper+`b,"`), &repeated{text: "x,\n", left: 1 << 30})
	_, err := readAll([]table.File{streamed(table.DampersFile, endless)}, nil)
	var faults *table.Faults
	if !errors.As(err, &faults) || len(faults.List) != 1 || faults.List[0].Code.Public() != "row_too_long" || faults.List[0].Line != 3 {
		t.Errorf("got %v", err)
	}
}

// repeated gives a text over and over, up to left bytes.
type repeated struct {
	text string
	left int
}

func (r *repeated) Read(p []byte) (int, error) {
	if r.left <= 0 {
		return 0, io.EOF
	}
	for i := range p {
		p[i] = r.text[i%len(r.text)]
	}
	r.left -= len(p)
	return len(p), nil
}

// damperLines gives n rows, made as they are read.
type damperLines struct {
	n, made int
	rest    string
}

func (d *damperLines) Read(p []byte) (int, error) {
	if d.rest == "" {
		switch {
		case d.made == 0:
			d.rest = damperHeader
		case d.made > d.n:
			return 0, io.EOF
		default:
			d.rest = fmt.Sprintf("code %d%s", d.made, goodDamper[1:])
		}
		d.made++
	}
	n := copy(p, d.rest)
	d.rest = d.rest[n:]
	return n, nil
}

// Of a row that was read nothing stays but its code.
func TestReadStreams(t *testing.T) {
	const rows = 20_000
	var before, after runtime.MemStats
	runtime.GC()
	runtime.ReadMemStats(&before)
	n := 0
	_, err := table.Read([]table.File{streamed(table.DampersFile, &damperLines{n: rows})}, table.Sink{Dampers: func(some []catalog.Damper) error {
		if n += len(some); n == rows {
			if d := some[len(some)-1]; d.Code != fmt.Sprintf("code %d", rows) {
				t.Errorf("the last is %q", d.Code)
			}
			runtime.GC()
			runtime.ReadMemStats(&after)
		}
		return nil
	}}, nil)
	if n != rows || err != nil {
		t.Fatalf("%d rows, %v", n, err)
	}
	// The codes and their lines: some 50 bytes a row, and a batch of rows. Whole
	// rows would be 300 more, the text 100.
	if perRow := (int64(after.HeapAlloc) - int64(before.HeapAlloc)) / rows; perRow > 200 {
		t.Errorf("%d bytes are kept for each row", perRow)
	}
}
