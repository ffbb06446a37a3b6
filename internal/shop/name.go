package shop

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/mtibben/confusables"
	"golang.org/x/text/cases"
	"golang.org/x/text/unicode/norm"
)

// MostName is how many characters the name of a shop or of a catalogue has at
// most.
const MostName = 64

var errName = errors.New("a name has 1 to 64 characters, all of which can be printed")

// ParseName reads the name of a shop or of a catalogue as a person writes it:
// without the blanks around it.
func ParseName(text string) (string, error) {
	name := strings.TrimSpace(text)
	if !IsName(name) {
		return "", errName
	}
	return name, nil
}

// IsName says whether a text is such a name as it stands. Each name passes
// through paths, queries, headers and logs, so no character of it may do
// anything but show.
func IsName(text string) bool {
	n := utf8.RuneCountInString(text)
	return n >= 1 && n <= MostName && utf8.ValidString(text) && strings.TrimSpace(text) == text &&
		strings.IndexFunc(text, func(r rune) bool { return !unicode.IsPrint(r) }) < 0
}

// LookAlikeError says that a name looks like that of another shop, though it is
// written with other characters.
type LookAlikeError struct{ Name, Other string }

func (e *LookAlikeError) Error() string {
	return fmt.Sprintf("%q looks like the shop %q but is written with other characters: use that name, or one that can be told apart", e.Name, e.Other)
}

// KnownName finds the shop that a name means among the names of all shops. It gives
// that shop's name as it is written there, and name itself for a shop that isn't
// there. Upper and lower case mean the same shop. A name that only looks like that of
// a shop is a *LookAlikeError.
func KnownName(name string, all []string) (string, error) {
	if slices.Contains(all, name) {
		return name, nil
	}
	var look error
	for _, other := range all {
		switch {
		case folded(norm.NFC, name) == folded(norm.NFC, other):
			return other, nil
		case look == nil && alike(name, other):
			look = &LookAlikeError{name, other}
		}
	}
	return name, look
}

// folded gives a name without its case, in a normal form (Unicode Standard Annex 15).
func folded(form norm.Form, name string) string {
	return form.String(cases.Fold().String(form.String(name)))
}

// alike says whether people take two names for one: those that differ in what
// compatibility normalisation removes, such as full width, and those of which one has
// letters of another alphabet that look the same (Unicode Technical Standard 39).
// Names in plain ASCII are never alike, since everyone types these as they are.
func alike(a, b string) bool {
	if isASCII(a) && isASCII(b) {
		return false
	}
	a, b = folded(norm.NFKC, a), folded(norm.NFKC, b)
	return a == b || confusables.Skeleton(a) == confusables.Skeleton(b)
}

func isASCII(text string) bool {
	return strings.IndexFunc(text, func(r rune) bool { return r > unicode.MaxASCII }) < 0
}
