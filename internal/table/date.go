package table

import (
	"fmt"
	"strconv"
	"strings"
	"time"
	"unicode"

	"midstroke/internal/fault"
	"midstroke/internal/note"
)

// A date is a day that a spreadsheet made of what was typed. The year is 0
// where it isn't known.
type date struct{ year, month, day int }

// fault says that a cell holds the date, and what was likely typed.
func (d date) fault() *fault.Fault {
	switch likely := d.likely(); len(likely) {
	case 0:
		return problem(dateMade)
	case 1:
		return problem(dateMadeOf, note.Word("likely", likely[0]))
	default:
		return problem(dateMadeOfEither, note.Word("likely", likely[0]), note.Word("other", likely[1]))
	}
}

// likely gives the lengths, two at most, that a spreadsheet turns into this date
// when they are typed. The order of month and day depends on the country, but a
// fraction below one over 2, 4, 8 or 16 makes sense in one order only. The
// spreadsheet takes a second number that can't be a day for a year: 5/32 becomes
// May 1932, and 1-3/8 becomes 3 January 2008. All of this is from memory.
func (d date) likely() []string {
	if d.day == 1 && (d.year == 1932 || d.year == 1964) && d.month < d.year-1900 {
		return []string{fraction(d.month, d.year-1900)}
	}
	var ways []string
	if n, over := min(d.month, d.day), max(d.month, d.day); n < over && isHalved(over) {
		ways = append(ways, fraction(n, over))
	}
	if short := d.year - 2000; isHalved(short) && d.day < short {
		ways = append(ways, strconv.Itoa(d.month)+" "+fraction(d.day, short))
	}
	return ways
}

func fraction(n, over int) string { return strconv.Itoa(n) + "/" + strconv.Itoa(over) }

// isHalved says whether n is a denominator of the marks on a tape, and small
// enough to be the day of a month.
func isHalved(n int) bool { return n == 2 || n == 4 || n == 8 || n == 16 }

// String writes the date by ISO 8601.
func (d date) String() string {
	if d.year == 0 {
		return fmt.Sprintf("--%02d-%02d", d.month, d.day)
	}
	return fmt.Sprintf("%04d-%02d-%02d", d.year, d.month, d.day)
}

// serialDate gives the day of a spreadsheet's serial number: 1 is 1 January
// 1900, and 60 is 29 February 1900, a day that never was. In a workbook that
// counts from 1904, 0 is 1 January 1904 (ISO/IEC 29500-1, 18.17.4.1).
func serialDate(serial int, from1904 bool) (date, bool) {
	const most = 2_958_465 // 31 December 9999
	if from1904 {
		serial += 1462
	}
	switch {
	case serial < 1 || serial > most:
		return date{}, false
	case serial == 60:
		return date{1900, 2, 29}, true
	case serial < 60:
		serial++
	}
	day := time.Date(1899, time.December, 30+serial, 0, 0, 0, 0, time.UTC)
	return date{day.Year(), int(day.Month()), day.Day()}, true
}

// looksLikeSerial says whether a text is the serial number of a date that was
// probably typed as a fraction.
func looksLikeSerial(text string) (date, bool) {
	if len(text) != 5 || !isDigits(text) {
		return date{}, false
	}
	serial, _ := strconv.Atoi(text) // five digits
	d, ok := serialDate(serial, false)
	return d, ok && len(d.likely()) > 0
}

// looksLikeDate reads a date as spreadsheets show it: 8-Mar, 08. März,
// Mar-32, 3/8/2026, 08.03.26, 2026-03-08 00:00:00.
func looksLikeDate(text string) (date, bool) {
	if len(text) > 40 {
		return date{}, false
	}
	text = withoutClock(text)
	d, ok := numericDate(text)
	if !ok {
		d, ok = namedDate(text)
	}
	return d, ok && d.month >= 1 && d.month <= 12 && d.day >= 1 && d.day <= 31
}

// withoutClock takes a time of day off a date.
func withoutClock(text string) string {
	i := strings.LastIndexAny(text, " T")
	if i > 0 && strings.Contains(text[i:], ":") && strings.Trim(text[i+1:], "0123456789:.Z") == "" {
		return strings.TrimSpace(text[:i])
	}
	return text
}

// numericDate reads three numbers with the same sign between them: 2026-03-08,
// 3/8/2026 or 8.3.2026. Which of the last two numbers is the month makes no
// difference here.
func numericDate(text string) (date, bool) {
	for _, sign := range [...]string{"/", "-", "."} {
		parts := strings.Split(text, sign)
		if len(parts) != 3 {
			continue
		}
		var n [3]int
		for i, part := range parts {
			if part = strings.TrimSpace(part); !isDigits(part) || len(part) > 4 {
				return date{}, false
			}
			n[i], _ = strconv.Atoi(part) // at most four digits
		}
		switch {
		case n[0] > 31:
			return date{n[0], n[1], n[2]}, true
		case n[0] > 12:
			return date{century(n[2]), n[1], n[0]}, true
		}
		return date{century(n[2]), n[0], n[1]}, true
	}
	return date{}, false
}

// namedDate reads a date with the name of its month and one or two numbers.
func namedDate(text string) (date, bool) {
	var d date
	var numbers []int
	for _, word := range strings.FieldsFunc(text, func(r rune) bool { return strings.ContainsRune(" -/.,\u00a0", r) }) {
		switch month := monthNamed(word); {
		case isDigits(word) && len(word) <= 4 && len(numbers) < 2:
			n, _ := strconv.Atoi(word) // at most four digits
			numbers = append(numbers, n)
		case month > 0 && d.month == 0:
			d.month = month
		default:
			return date{}, false
		}
	}
	switch {
	case d.month == 0 || len(numbers) == 0:
		return date{}, false
	case len(numbers) == 2 && numbers[0] > 31: // 2026-Mar-8
		d.day, d.year = numbers[1], century(numbers[0])
	case len(numbers) == 2: // 8-Mar-26
		d.day, d.year = numbers[0], century(numbers[1])
	case numbers[0] > 31: // Mar-32
		d.day, d.year = 1, century(numbers[0])
	default: // 8-Mar, Mar 8
		d.day = numbers[0]
	}
	return d, true
}

// century completes a year of two digits as spreadsheets do (from memory):
// years below 30 are in this century, the others in the last.
func century(year int) int {
	switch {
	case year < 30:
		return 2000 + year
	case year < 100:
		return 1900 + year
	}
	return year
}

// monthNamed gives the number of the month that a word names or begins to
// name in English, German, French, Spanish, Italian, Dutch or Portuguese, 0
// where it names none.
func monthNamed(word string) int {
	if n := len(word); n < 3 || n > 12 {
		return 0
	}
	plain := strings.Map(func(r rune) rune {
		switch r = unicode.ToLower(r); r {
		case 'ä':
			return 'a'
		case 'é', 'è':
			return 'e'
		case 'û':
			return 'u'
		case 'ç':
			return 'c'
		}
		return r
	}, word)
	for month, names := range [...]string{
		"january januar janvier januari janeiro enero gennaio",
		"february februar fevrier februari fevereiro febrero febbraio",
		"march marz mrz mars maart mrt marzo marco",
		"april avril abril aprile",
		"may mai mei mayo maggio maio",
		"june juni juin junio giugno junho",
		"july juli juillet julio luglio julho",
		"august aout augustus agosto",
		"september septembre settembre septiembre setembro",
		"october oktober octobre octubre ottobre outubro",
		"november novembre noviembre novembro",
		"december dezember decembre dicembre diciembre dezembro", //nolint:misspell // other languages than English
	} {
		for name := range strings.FieldsSeq(names) {
			if strings.HasPrefix(name, plain) && unambiguous(plain) {
				return month + 1
			}
		}
	}
	return 0
}

// unambiguous is false of "jui", with which both June and July begin in
// French.
func unambiguous(name string) bool { return name != "jui" }
