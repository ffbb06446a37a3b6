package httpapi

import (
	"strings"
	"testing"
	"unicode/utf8"

	"midstroke/internal/note"
)

func TestNegotiate(t *testing.T) {
	// Ranking: RFC 9110 section 12.5.1, the first four rows from its example
	// of precedence.
	for name, c := range map[string]struct {
		accept, first string
		others        []string
		want          string
	}{
		"the most specific range counts": {"text/*;q=0.3, text/plain;q=0.7, */*;q=0.5", typeCSV, []string{typeText}, typeText},
		"a range of one kind":            {"text/*;q=0.3, text/plain;q=0.7, */*;q=0.5", typeJSON, []string{typeCSV}, typeJSON},
		"all alike: the first offered":   {"text/*", typeCSV, []string{typeText}, typeCSV},
		"the greater weight":             {"application/json;q=0.2, text/csv;q=0.4", typeJSON, []string{typeCSV}, typeCSV},
		"no field":                       {"", typeJSON, []string{typeCSV}, typeJSON},
		"anything":                       {"*/*", typeJSON, []string{typeCSV}, typeJSON},
		"a browser's":                    {"text/html,application/xhtml+xml,application/xml;q=0.9,*/*;q=0.8", typeJSON, []string{typeCSV, typeText}, typeJSON},
		"none of what there is":          {"application/xml", typeJSON, []string{typeCSV}, ""},
		"a weight of zero refuses":       {"text/csv;q=0, application/xml", typeJSON, []string{typeCSV}, ""},
		"all but one":                    {"*/*, application/json;q=0", typeJSON, []string{typeCSV}, typeCSV},
		"in any case, with blanks":       {" Text/CSV ;  Q=1 ", typeJSON, []string{typeCSV}, typeCSV},
		"a weight that can't be read":    {"text/csv;q=high, application/json;q=0.1", typeJSON, []string{typeCSV}, typeJSON},
		"a weight beyond one":            {"text/csv;q=7, application/json;q=0.1", typeJSON, []string{typeCSV}, typeJSON},
		"a weight that isn't a number":   {"text/csv;q=NaN, application/json;q=0.1", typeJSON, []string{typeCSV}, typeJSON},
		"other parameters passed over":   {"text/csv;header=present;q=0.9, application/json;q=0.1", typeJSON, []string{typeCSV}, typeCSV},
		"nothing but commas":             {",, ,", typeJSON, nil, typeJSON},
	} {
		t.Run(name, func(t *testing.T) {
			if got := negotiate(c.accept, c.first, c.others...); got != c.want {
				t.Errorf("negotiate(%q) = %q, want %q", c.accept, got, c.want)
			}
		})
	}
}

func TestChooseLanguage(t *testing.T) {
	// Lookup: RFC 4647 section 3.4.
	have := []string{"en", "de", "zh-Hant"}
	for accept, want := range map[string]string{
		"":                          "en",
		"de":                        "de",
		"de-AT":                     "de",
		"DE-at, en;q=0.9":           "de",
		"fr, de;q=0.5":              "de",
		"fr":                        "en",
		"*":                         "en",
		"fr;q=1, *;q=0.1, de;q=0.2": "de",
		"de;q=0":                    "en",
		"zh-Hant-CN-x-private1":     "zh-Hant",
		"zh":                        "en",
		"de-x-a":                    "de",
	} {
		if got := chooseLanguage(accept, have); got != want {
			t.Errorf("chooseLanguage(%q) = %q, want %q", accept, got, want)
		}
	}
}

func TestHeldTags(t *testing.T) {
	// Weak comparison: RFC 9110 section 8.8.3.2.
	const tag = `"4d1f"`
	for field, want := range map[string]string{
		"":                   "",
		"*":                  tag,
		`"4d1f"`:             tag,
		`W/"4d1f"`:           tag,
		`"other", "4d1f"`:    tag,
		`"other" ,W/"4d1f" `: tag,
		`"other"`:            "",
		`4d1f`:               "",
		`"4d1f-gzip"`:        "", // which this caller doesn't read
	} {
		if got := heldTag(field, tag, "", identity); got != want {
			t.Errorf("heldTag(%q) = %q, want %q", field, got, want)
		}
	}
	for _, c := range []struct {
		field, acceptEncoding string
		selected              coding
		want                  string
	}{
		{`"4d1f-gzip"`, "gzip", gzipped, `"4d1f-gzip"`},
		{`"4d1f"`, "gzip", gzipped, tag},                            // it can read what it holds
		{`"4d1f"`, "gzip, identity;q=0", gzipped, ""},               // it can't
		{`"4d1f-zstd"`, "gzip", gzipped, ""},                        // nor that
		{`"4d1f-zstd"`, "gzip, zstd;q=0.5", gzipped, `"4d1f-zstd"`}, // but that
		{`W/"4d1f-gzip"`, "gzip", identity, `"4d1f-gzip"`},          // shortened meanwhile
		{"*", "gzip", gzipped, `"4d1f-gzip"`},
	} {
		if got := heldTag(c.field, tag, c.acceptEncoding, c.selected); got != c.want {
			t.Errorf("heldTag(%q) for %q = %q, want %q", c.field, c.acceptEncoding, got, c.want)
		}
	}
}

// TestChooseCoding: RFC 9110 section 12.5.3, with examples of its own among them.
func TestChooseCoding(t *testing.T) {
	const long, short = leastCoded, leastCoded - 1
	for _, c := range []struct {
		field  string
		length int
		want   coding
	}{
		{"", long, identity},
		{"gzip", long, gzipped},
		{"gzip", short, identity},
		{"compress, gzip", long, gzipped},
		{"compress;q=0.5, gzip;q=1.0", long, gzipped},
		{"gzip;q=1.0, identity; q=0.5, *;q=0", long, gzipped},
		{"gzip, deflate, br, zstd", long, zstandard}, // browsers
		{"gzip, zstd;q=0.9", long, gzipped},
		{"GZIP", long, gzipped},
		{"x-gzip", long, gzipped},
		{"*", long, gzipped}, // zstd isn't named
		{"*;q=0", long, identity},
		{"br", long, identity},
		{"snail;q=1", long, identity},
		{"gzip;q=0", long, identity},
		{"gzip;q=0, *", long, identity},
		{"identity", long, identity},
		{"identity, gzip;q=0.5", long, identity},
		{"identity;q=0.5, gzip;q=0.5", long, gzipped},
		{"identity;q=0, gzip", short, gzipped},
		{"identity;q=0", long, identity}, // any body is better than none
		{"identity;q=0, br", short, identity},
		{"gzip;q=nonsense", long, identity},
		{";;,,", long, identity},
	} {
		if got := chooseCoding(c.field, c.length); got != c.want {
			t.Errorf("chooseCoding(%q, %d) = %q, want %q", c.field, c.length, codingNames[got], codingNames[c.want])
		}
	}
}

func TestRequestIDs(t *testing.T) {
	long := "0123456789012345678901234567890123456789012345678901234567890123"
	for given, kept := range map[string]bool{
		"ticket-4411.a_b": true,
		long:              true,
		long + "4":        false,
		"":                false,
		"a b":             false,
		"a\"b":            false,
		"naïve":           false,
		"line\nbreak":     false,
	} {
		got := requestID(given)
		if (got == given) != kept {
			t.Errorf("requestID(%q) = %q", given, got)
		}
		if !kept && len(got) != 32 {
			t.Errorf("requestID(%q) made %q, want 32 hexadecimal digits", given, got)
		}
	}
	if one, other := requestID(""), requestID(""); one == other {
		t.Error("two requests got one name")
	}
}

func TestCursorsComeBackAsTheyWere(t *testing.T) {
	c := cursor{List: "dampers", Catalog: "demo", Revision: 7, Filter: filterSum("units=in"), After: "ä/b?c&d"}
	got, err := parseCursor(c.String())
	if err != nil || got != c {
		t.Fatalf("parseCursor = %+v, %v, want %+v", got, err, c)
	}
	for _, bad := range []string{"", "!", c.String() + "A", c.String()[1:], c.String() + "=", "e30", "bnVsbA", "W10"} {
		if got, err := parseCursor(bad); err == nil {
			t.Errorf("parseCursor(%q) = %+v, want an error", bad, got)
		}
	}
}

func TestMessagesStayShort(t *testing.T) {
	p := newProblem(notReady, stopping)
	if got := p.message("en"); got != "error: The service is stopping and accepts no new work" {
		t.Errorf("message = %q", got)
	}
	for n := range 100 {
		// Every length of the text up to there is tried, so that the cut comes
		// within a character, too.
		p = problemAt(notFound, inQuery, strings.Repeat("x", n), noSuchCatalog, note.Word("catalog", strings.Repeat("ß", 200)))
		if got := p.message("es"); len(got) > longestMessage || !strings.HasSuffix(got, "…") || !utf8.ValidString(got) {
			t.Errorf("message has %d bytes and ends %q", len(got), got[len(got)-6:])
		}
	}
}
