package shop_test

import (
	"errors"
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

// Which characters look alike is Unicode's confusables.txt; the names are invented.
func TestNamesOfOneShop(t *testing.T) {
	all := []string{"demo", "Käfer & Söhne", "corner garage", "Comet", "paa", "№1"}
	for name, want := range map[string]struct{ known, like string }{
		"demo":                      {known: "demo"},
		"DEMO":                      {known: "demo"},
		"Corner Garage":             {known: "corner garage"},
		"KÄFER & SÖHNE":             {known: "Käfer & Söhne"},
		"ka\u0308fer & so\u0308hne": {known: "Käfer & Söhne"}, // decomposed
		"№1":                        {known: "№1"},
		// Cyrillic е and о, full width, a mathematical letter, Cyrillic throughout.
		"d\u0435m\u043e":     {like: "demo"},
		"ＤＥＭＯ":               {like: "demo"},
		"dem\U0001d428":      {like: "demo"},
		"\u0440\u0430\u0430": {like: "paa"},
		"No1":                {like: "№1"},
		// Others are other shops, also those that a bad print makes alike.
		"comer garage":  {known: "comer garage"},
		"dem0":          {known: "dem0"},
		"kafer & sohne": {known: "kafer & sohne"},
		"гараж":         {known: "гараж"},
		"垂直":            {known: "垂直"},
	} {
		got, err := shop.KnownName(name, all)
		var look *shop.LookAlikeError
		switch {
		case want.like != "" && (!errors.As(err, &look) || look.Other != want.like || look.Name != name || !strings.Contains(err.Error(), want.like)):
			t.Errorf("%q: %q, %v; want that it looks like %q", name, got, err, want.like)
		case want.like == "" && (err != nil || got != want.known):
			t.Errorf("%q is %q, %v; want %q", name, got, err, want.known)
		}
	}
	// What is there already stays itself, whatever it looks like.
	if got, err := shop.KnownName("DEMO", []string{"demo", "DEMO"}); got != "DEMO" || err != nil {
		t.Errorf("%q, %v", got, err)
	}
}
