package table

import (
	"strings"
	"testing"
	"time"
)

// Every day of three centuries, and then of every hundredth year, agrees with
// package time, whose calendar has no 29 February 1900.
func TestSerialDate(t *testing.T) {
	day := time.Date(1900, time.January, 1, 0, 0, 0, 0, time.UTC)
	for serial := 1; serial <= 2_958_465; serial++ {
		if serial == 60 {
			if d, ok := serialDate(60, false); !ok || d != (date{1900, 2, 29}) {
				t.Errorf("60 is %v, %v", d, ok)
			}
			continue
		}
		want := date{day.Year(), int(day.Month()), day.Day()}
		if want.year > 2200 && want.year%100 != 0 {
			next := time.Date(want.year+1, time.January, 1, 0, 0, 0, 0, time.UTC)
			serial += int(next.Sub(day)/(24*time.Hour)) - 1
			day = next
			continue
		}
		if d, ok := serialDate(serial, false); !ok || d != want {
			t.Fatalf("%d is %v, %v, not %v", serial, d, ok, want)
		}
		day = day.AddDate(0, 0, 1)
	}
	for _, serial := range []int{0, -1, 2_958_466} {
		if d, ok := serialDate(serial, false); ok {
			t.Errorf("%d is %v", serial, d)
		}
	}
	// ISO/IEC 29500-1, 18.17.4.1: counting from 1904 begins with 0.
	if d, ok := serialDate(0, true); !ok || d != (date{1904, 1, 1}) {
		t.Errorf("0 from 1904 is %v, %v", d, ok)
	}
}

// What was likely typed: from memory of what spreadsheets make of it.
func TestLikelyFraction(t *testing.T) {
	for _, c := range []struct {
		text, want string
	}{
		{"8-Mar", "3/8"},
		{"3-Aug", "3/8"},
		{"03. Aug", "3/8"},
		{"08. März 2026", "3/8"},
		{"8 mars", "3/8"},
		{"Mar 8", "3/8"},
		{"3/8/26", "3/8"},
		{"08.03.2026", "3/8"},
		{"2026-03-08", "3/8"},
		{"2026-03-08T00:00:00Z", "3/8"},
		{"8/3/2026 0:00", "3/8"},
		{"1-Feb", "1/2"},
		{"16-Nov", "11/16"},
		{"May-32", "5/32"},
		{"mai 32", "5/32"},
		{"11/1/1932", "11/32"},
		{"1-Mar-64", "3/64"},
		{"1/3/2008", "1 3/8"},
		{"2/1/2004", "1/2 or 2 1/4"},
		{"13/1/2026", ""}, // no fraction of a tape
		{"5-May", ""},     // 5/5 is no fraction
		{"7-Mar", ""},     // nobody measures sevenths
	} {
		d, ok := looksLikeDate(c.text)
		if got := strings.Join(d.likely(), " or "); !ok || got != c.want {
			t.Errorf("%s is %v, %v, likely %q; want %q", c.text, d, ok, got, c.want)
		}
	}
}

// What people write for lengths and codes is no date.
func TestLooksLikeNoDate(t *testing.T) {
	for _, text := range []string{
		"", "13 5/8", "13-5/8", "3/8", "1.2.3.4", "346.1", "46089", "M12", "may", "May", "8 Marks", "1/2-20", "12/13/14/15", "2026-13-08", "32/32/2026", "0/1/2026",
		"8-Mar-26-1", "a-Mar", "2026-03", "17 1/4 in", "8:15", "1-2-12345",
	} {
		if d, ok := looksLikeDate(text); ok {
			t.Errorf("%q is taken for %v", text, d)
		}
	}
	for text, want := range map[string]bool{"46089": true, "11810": true, "46090": false, "4608": false, "460890": false, "46o89": false} {
		if d, ok := looksLikeSerial(text); ok != want {
			t.Errorf("%q is %v, %v", text, d, ok)
		}
	}
}

func TestMonthNames(t *testing.T) {
	for name, want := range map[string]int{
		"Jan": 1, "janv": 1, "ene": 1, "gen": 1, "Feb": 2, "févr": 2, "Fev": 2, "Mrz": 3, "MÄR": 3, "mrt": 3, "avr": 4, "abr": 4, "Mai": 5, "mag": 5, "mei": 5,
		"juin": 6, "giu": 6, "juil": 7, "lug": 7, "août": 8, "ago": 8, "Sept": 9, "set": 9, "Okt": 10, "ott": 10, "out": 10, "nov": 11, "Dez": 12, "dic": 12, "décembre": 12,
		"jui": 0, "ma": 0, "mart": 0, "inch": 0, "decembers": 0,
	} {
		if got := monthNamed(name); got != want {
			t.Errorf("%s is month %d, not %d", name, got, want)
		}
	}
}

func TestFormats(t *testing.T) {
	for _, c := range []struct {
		code string
		want format
	}{
		{"General", format{}},
		{"0.00", format{}},
		{"# ?/?", format{}},
		{"@", format{}},
		{"0.00E+00", format{}},
		{`#,##0.00\ "kr";[Red]\-#,##0.00\ "kr"`, format{}},
		{"00000", format{digits: 5}},
		{`0.0" mm"`, format{unit: "mm"}},
		{`0.0\ \i\n`, format{unit: "in"}},
		{"yyyy-mm-dd", format{date: true}},
		{`d\.\ mmm`, format{date: true}},
		{"[$-407]d/ mmm/ yyyy;@", format{date: true}},
		{"[h]:mm", format{date: true}},
		{"[ss]", format{date: true}},
		{"[Red]0;dd", format{}},
		{`"dd"`, format{}},
		{`"open`, format{}},
		{"[open", format{}},
		{`0\`, format{}},
	} {
		if got := readFormat(c.code); got != c.want {
			t.Errorf("%s is read as %+v", c.code, got)
		}
	}
}
