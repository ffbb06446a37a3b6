package httpapi

import (
	"errors"
	"fmt"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"github.com/labstack/echo/v4"

	"midstroke/internal/fault"
	"midstroke/internal/note"
	"midstroke/internal/unit"
	"midstroke/internal/wire"
)

// query reads the parameters of a request one by one and notes every fault.
// An empty parameter counts as not given, as an empty cell of a sheet does.
type query struct {
	values url.Values
	asked  []string
	units  unit.System
	faults wire.Faults
}

// parseQuery takes a query apart. One that can't be parsed whole is refused,
// with a fault for each parameter that can't be read.
func parseQuery(raw string) (*query, error) {
	values, err := url.ParseQuery(raw)
	if err != nil || !plainText(values) {
		return nil, brokenQuery(raw)
	}
	values.Del(keyParameter) // admit has read it
	return &query{values: values}, nil
}

// plainText says that every value is a text and has a name.
func plainText(values url.Values) bool {
	for name, all := range values {
		if name == "" || isNoText(name) || slices.ContainsFunc(all, isNoText) {
			return false
		}
	}
	return true
}

// isText says that a text is UTF-8 without the NUL that no database keeps.
func isText(s string) bool { return utf8.ValidString(s) && strings.IndexByte(s, 0) < 0 }

func isNoText(s string) bool { return !isText(s) }

// brokenQuery says of each part of a query why it can't be read.
func brokenQuery(raw string) *problem {
	var found fault.List
	tell := func(name string, code fault.Code) {
		f := fault.Fault{Place: fault.Place{Parameter: shortened(name)}, Code: code}
		if !slices.ContainsFunc(found, func(told fault.Fault) bool { return told.Place == f.Place && told.Code == code }) {
			found = append(found, f)
		}
	}
	for part := range strings.SplitSeq(raw, "&") {
		if part == "" {
			continue
		}
		rawName, rawValue, _ := strings.Cut(part, "=")
		name, nameErr := url.QueryUnescape(rawName)
		if nameErr != nil {
			name = rawName
		}
		value, valueErr := url.QueryUnescape(rawValue)
		switch {
		case nameErr != nil || valueErr != nil || strings.Contains(part, ";"):
			tell(name, badEncoding)
		case name == "":
			tell("", noName)
		case !utf8.ValidString(name) || !utf8.ValidString(value):
			tell(name, notUTF8)
		case isNoText(name) || isNoText(value):
			tell(name, notText)
		}
	}
	return listed(found, 0)
}

func (q *query) fail(name, code, format string, args ...any) {
	q.faults = append(q.faults, wire.Fault{Parameter: name, Code: code, Detail: fmt.Sprintf(format, args...)})
}

// all gives every value of a parameter that may stand more than once.
func (q *query) all(name string) []string {
	q.asked = append(q.asked, name)
	return slices.DeleteFunc(slices.Clone(q.values[name]), func(v string) bool { return v == "" })
}

// one gives the value of a parameter that may stand once.
func (q *query) one(name string) (string, bool) {
	all := q.all(name)
	switch len(all) {
	case 0:
		return "", false
	case 1:
		return all[0], true
	}
	q.fail(name, "duplicate_field", "may stand only once")
	return all[0], true
}

// readUnits reads the units, which stand before every length.
func (q *query) readUnits() {
	text, given := q.one("units")
	if !given {
		q.fail("units", "missing", `say units=in or units=mm`)
		return
	}
	units, ok := unit.ParseSystem(text)
	if !ok {
		q.fail("units", "not_allowed", "must be one of in, mm")
		return
	}
	q.units = units
}

// mostText is the longest text that is read, in characters: a search or a note.
const mostText = 100

// text reads a text, "" where there is none.
func (q *query) text(name string) string {
	text, _ := q.one(name)
	if utf8.RuneCountInString(text) > mostText {
		q.fail(name, "text_too_long", "must have at most %d characters", mostText)
		return ""
	}
	return text
}

// choice reads one of names by parse, which knows them.
func choice[T any](q *query, name string, names []string, parse func(string) (T, bool)) (T, bool) {
	text, given := q.one(name)
	if !given {
		var none T
		return none, false
	}
	value, ok := parse(text)
	if !ok {
		q.fail(name, "not_allowed", "must be one of %s", strings.Join(names, ", "))
	}
	return value, ok
}

// flag reads true or false in any case, as sheets write them; nil for none.
func (q *query) flag(name string) *bool {
	text, given := q.one(name)
	if !given {
		return nil
	}
	flag := strings.EqualFold(text, "true")
	if !flag && !strings.EqualFold(text, "false") {
		q.fail(name, "wrong_type", "must be true or false")
		return nil
	}
	return &flag
}

// whole reads a whole number from least to most, or gives otherwise.
func (q *query) whole(name string, least, most, otherwise int) int {
	text, given := q.one(name)
	if !given {
		return otherwise
	}
	n, err := strconv.Atoi(text)
	if err != nil || n < least || n > most {
		q.fail(name, "out_of_range", "must be a whole number from %d to %d", least, most)
		return otherwise
	}
	return n
}

// between reads the least and the most of a length, min_ and max_ before its
// name.
func (q *query) between(name string) lengths {
	var l lengths
	l.least, l.hasLeast = q.length("min_" + name)
	l.most, l.hasMost = q.length("max_" + name)
	if l.hasLeast && l.hasMost && l.least > l.most {
		q.fail("min_"+name, "contradiction", "min_%s is more than max_%s, so that nothing could be listed", name, name)
	}
	return l
}

func (q *query) length(name string) (unit.Length, bool) {
	text, given := q.one(name)
	if !given {
		return 0, false
	}
	l, err := unit.Parse(text, q.units)
	var syntax *unit.SyntaxError
	switch {
	case errors.As(err, &syntax) && syntax.Code == "unit_missing":
		// That units are missing is a fault of its own already.
		return 0, false
	case errors.As(err, &syntax):
		q.fail(name, string(syntax.Code), "%s", note.FaultText("en", q.units, string(syntax.Code), nil))
		return 0, false
	case err != nil:
		q.fail(name, "wrong_type", "must be a length")
		return 0, false
	case l < 0:
		q.fail(name, "negative", "must not be less than zero")
		return 0, false
	}
	return l, true
}

// close refuses parameters that nobody asked for, and gives all faults.
func (q *query) close() error {
	var unknown []string
	for name := range q.values {
		if !slices.Contains(q.asked, name) {
			unknown = append(unknown, name)
		}
	}
	slices.Sort(unknown)
	for _, name := range unknown {
		q.fail(name, "unknown_field", "there is no parameter of this name; there are %s", strings.Join(q.asked, ", "))
	}
	if len(q.faults) > 0 {
		return q.faults
	}
	return nil
}

// errorsAsText lets errors=text stand, which tell reads for itself.
func (q *query) errorsAsText() {
	if text, given := q.one("errors"); given && text != "text" {
		q.fail("errors", "not_allowed", "must be text")
	}
}

// plainQuery refuses all parameters but errors=text, for what is asked by
// body alone.
func plainQuery(c echo.Context) error {
	raw := c.Request().URL.RawQuery
	if raw == "" {
		return nil
	}
	q, err := parseQuery(raw)
	if err != nil {
		return err
	}
	q.errorsAsText()
	return q.close()
}

// onlyThese gives a fault for each parameter that is left over, where there
// are but those named.
func onlyThese(left url.Values, names ...string) wire.Faults {
	q := query{values: left, asked: names}
	_ = q.close()
	return q.faults
}

// lengths is a range of lengths, each end of it included.
type lengths struct {
	least, most       unit.Length
	hasLeast, hasMost bool
}

func (l lengths) holds(length unit.Length) bool {
	return (!l.hasLeast || length >= l.least) && (!l.hasMost || length <= l.most)
}
