package shop_test

import (
	"strings"
	"testing"

	"midstroke/internal/shop"
)

func TestNames(t *testing.T) {
	for text, want := range map[string]string{
		"demo":                           "demo",
		" corner garage \n":              "corner garage",
		"Käfer & Söhne 2/3 №1":           "Käfer & Söhne 2/3 №1",
		strings.Repeat("ö", 64):          strings.Repeat("ö", 64),
		strings.Repeat("o", 65):          "",
		"":                               "",
		" \t":                            "",
		"a\x00b":                         "",
		"a\nb":                           "",
		"a\u200bb":                       "",
		"a\xffb":                         "",
		"a\u202eb":                       "",
		"x\x7f":                          "",
		strings.Repeat("o", 64) + "  ":   strings.Repeat("o", 64),
		"\u00a0" + "non-breaking \u2003": "non-breaking",
	} {
		got, err := shop.ParseName(text)
		if got != want || (err == nil) != (want != "") {
			t.Errorf("%q is %q, %v; want %q", text, got, err, want)
		}
		if shop.IsName(text) != (want != "" && want == text) {
			t.Errorf("%q as it stands: %t", text, shop.IsName(text))
		}
	}
}
