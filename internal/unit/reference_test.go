package unit_test

import (
	"math/big"
	"regexp"
	"strings"

	"midstroke/internal/unit"
)

// The reference reads a length by regular expressions and big rationals, with
// no more in common with the package than the grammar that both follow.

var (
	plainForms = strings.NewReplacer(
		"\u00a0", " ", "\u2007", " ", "\u2009", " ", "\u200a", " ", "\u202f", " ",
		"\u2032", "'", "\u2019", "'", "\u2033", `"`, "\u201d", `"`, "\u2044", "/",
		"\u2212", "-", "\u2010", "-", "\u2011", "-", "\u2013", "-",
	)
	inchMarks = strings.NewReplacer("''", `"`)

	glyphValues = map[string]string{
		"½": "1/2", "⅓": "1/3", "⅔": "2/3", "¼": "1/4", "¾": "3/4", "⅕": "1/5", "⅖": "2/5", "⅗": "3/5", "⅘": "4/5",
		"⅙": "1/6", "⅚": "5/6", "⅐": "1/7", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8", "⅑": "1/9", "⅒": "1/10",
	}

	decimalForm  = `[0-9]*\.[0-9]+|[0-9]+`
	fractionForm = `[0-9]+/[0-9]+|[½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅐⅛⅜⅝⅞⅑⅒]`
	mixedForm    = regexp.MustCompile(`^([0-9]+)(?:[ \t]+|-)(` + fractionForm + `)$`)
	gluedForm    = regexp.MustCompile(`^([0-9]+)([½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅐⅛⅜⅝⅞⅑⅒])$`)
	numberForm   = `((?:[0-9]+(?:[ \t]+|-))?(?:` + fractionForm + `)|[0-9]+[½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅐⅛⅜⅝⅞⅑⅒]|` + decimalForm + `)`
	inchForm     = `(?:in\.?|inch|inches|")`
	footForm     = `(?:ft\.?|foot|feet|')`
	metricForm   = `(?:mm|cm|m|(?:milli|centi)?met(?:re|er)s?)`

	oneUnit    = regexp.MustCompile(`^([+-]?)` + numberForm + `[ \t]*(` + inchForm + `|` + footForm + `|` + metricForm + `)?$`)
	feetInches = regexp.MustCompile(`^([+-]?)([0-9]+)[ \t]*` + footForm + `[ \t]*-?[ \t]*` + numberForm + `[ \t]*` + inchForm + `$`)
)

// reference reads text as Parse does.
func reference(text string, in unit.System) (unit.Length, bool) {
	text = plainForms.Replace(strings.Trim(text, " \t\n\v\f\r"))
	if len([]rune(text)) > 64 || strings.Contains(text, ",") {
		return 0, false
	}
	text = inchMarks.Replace(strings.Map(asciiLower, strings.Trim(text, " \t")))
	var value *big.Rat // in millimetres
	var sign string
	if m := feetInches.FindStringSubmatch(text); m != nil {
		inches, ok := referenceNumber(m[3])
		if !ok || inches.Cmp(big.NewRat(12, 1)) >= 0 {
			return 0, false
		}
		feet, _ := new(big.Rat).SetString(m[2])
		value = feet.Mul(feet, big.NewRat(12, 1))
		value.Add(value, inches).Mul(value, big.NewRat(254, 10))
		sign = m[1]
	} else {
		m := oneUnit.FindStringSubmatch(text)
		if m == nil {
			return 0, false
		}
		u := m[3]
		if u == "" {
			if in == unit.Unset {
				return 0, false
			}
			u = in.String()
		}
		n, ok := referenceNumber(m[2])
		fraction := strings.Contains(m[2], "/") || strings.ContainsAny(m[2], "½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅐⅛⅜⅝⅞⅑⅒")
		mm, metric := referenceUnit(u)
		if !ok || fraction && metric {
			return 0, false
		}
		value = n.Mul(n, mm)
		sign = m[1]
	}
	if value.Cmp(big.NewRat(10_000, 1)) > 0 {
		return 0, false
	}
	l := roundHalfEven(value)
	if sign == "-" {
		l = -l
	}
	return l, true
}

func asciiLower(r rune) rune {
	if 'A' <= r && r <= 'Z' {
		r += 'a' - 'A'
	}
	return r
}

func referenceUnit(u string) (mm *big.Rat, metric bool) {
	switch {
	case u[0] == 'i' || u[0] == '"':
		return big.NewRat(254, 10), false
	case u[0] == 'f' || u[0] == '\'':
		return big.NewRat(3048, 10), false
	case strings.HasPrefix(u, "mm") || strings.HasPrefix(u, "mi"):
		return big.NewRat(1, 1), true
	case u[0] == 'c':
		return big.NewRat(10, 1), true
	}
	return big.NewRat(1000, 1), true
}

func referenceNumber(s string) (*big.Rat, bool) {
	m := mixedForm.FindStringSubmatch(s)
	if m == nil {
		m = gluedForm.FindStringSubmatch(s)
	}
	if m != nil {
		f, ok := referenceFraction(m[2])
		if !ok || f.Cmp(big.NewRat(1, 1)) >= 0 {
			return nil, false
		}
		whole, _ := new(big.Rat).SetString(m[1])
		return whole.Add(whole, f), true
	}
	return referenceFraction(s)
}

func referenceFraction(s string) (*big.Rat, bool) {
	if g, ok := glyphValues[s]; ok {
		s = g
	}
	num, den, _ := strings.Cut(s, "/")
	n, ok := new(big.Rat).SetString(num)
	if !ok || den == "" {
		return n, ok
	}
	d, ok := new(big.Rat).SetString(den)
	if !ok || d.Sign() == 0 {
		return nil, false
	}
	return n.Quo(n, d), true
}

// roundHalfEven gives mm >= 0 in nanometres.
func roundHalfEven(mm *big.Rat) unit.Length {
	v := new(big.Rat).Mul(mm, big.NewRat(1_000_000, 1))
	whole := new(big.Int).Quo(v.Num(), v.Denom())
	l := unit.Length(whole.Int64())
	rest := new(big.Rat).Sub(v, new(big.Rat).SetInt(whole))
	switch rest.Cmp(big.NewRat(1, 2)) {
	case 1:
		l++
	case 0:
		l += l & 1
	}
	return l
}
