package shop

import (
	"errors"
	"strings"
	"unicode"
	"unicode/utf8"
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
