package httpapi

import (
	"net/url"
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	"github.com/labstack/echo/v4"

	"midstroke/internal/fault"
	"midstroke/internal/form"
	"midstroke/internal/mount"
	"midstroke/internal/note"
	"midstroke/internal/quote"
	"midstroke/internal/unit"
	"midstroke/internal/wire"
)

// query is the parameters of a request.
type query struct {
	*form.Query
	values url.Values
	units  unit.System
}

// parseQuery takes a query apart. One that can't be parsed whole is refused,
// with a fault for each parameter that can't be read.
func parseQuery(raw string) (*query, error) {
	values, err := url.ParseQuery(raw)
	if err != nil || !plainText(values) {
		return nil, brokenQuery(raw)
	}
	values.Del(keyParameter) // admit has read it
	q := &query{Query: form.QueryOf(values), values: values}
	form.Param(q.Query, languageParameter, languageTag) // h.language reads it
	return q, nil
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
			tell(name, form.NotUTF8)
		case isNoText(name) || isNoText(value):
			tell(name, form.NotText)
		}
	}
	return listed(found, 0)
}

// moment reads a date, or a date and time; zero where there is none. A date stands for
// its beginning in UTC, or for its end.
func (q *query) moment(name string, end bool) time.Time {
	text, given := form.Param(q.Query, name, momentText)
	if !given {
		return time.Time{}
	}
	if day, err := time.Parse(time.DateOnly, text); err == nil {
		if end {
			day = day.AddDate(0, 0, 1)
		}
		return day
	}
	// A + that wasn't escaped is a blank in a query.
	at, err := time.Parse(time.RFC3339, strings.Replace(text, " ", "+", 1))
	if err != nil {
		q.Fail(name, notAMoment)
	}
	return at
}

// readUnits reads the units, which stand before every length.
func (q *query) readUnits() { q.units = q.Units() }

// mostText is the longest text that is read, in characters: a search or a note.
const mostText = 100

var (
	shortText   = form.Text(0, mostText)
	languageTag = form.Text(1, mostText)
	momentText  = form.Text(1, 40)
	quotedCode  = form.Text(1, mount.MostCode)
	// quotedReference may be as long as a quote's own.
	quotedReference = form.Text(0, quote.MostReference)
)

// text reads a text, "" where there is none.
func (q *query) text(name string) string {
	text, _ := form.Param(q.Query, name, shortText)
	return text
}

// choice reads one of names by parse, which knows them.
func choice[T any](q *query, name string, names []string, parse func(string) (T, bool)) (T, bool) {
	return form.Param(q.Query, name, form.OneOf(names, parse))
}

// flag reads true or false; nil for none.
func (q *query) flag(name string) *bool {
	if flag, ok := form.Param(q.Query, name, form.Flag); ok {
		return &flag
	}
	return nil
}

// upTo reads a whole number from 1 to most, or gives otherwise.
func (q *query) upTo(name string, most, otherwise int) int {
	if n, ok := form.Param(q.Query, name, form.Whole(1, most)); ok {
		return n
	}
	return otherwise
}

// between reads the least and the most of a length, min_ and max_ before its
// name.
func (q *query) between(name string) lengths {
	var l lengths
	l.least, l.hasLeast = form.Param(q.Query, "min_"+name, form.LengthOrZero)
	l.most, l.hasMost = form.Param(q.Query, "max_"+name, form.LengthOrZero)
	if l.hasLeast && l.hasMost && l.least > l.most {
		q.Fail("min_"+name, leastOverMost, note.Word("least", "min_"+name), note.Word("most", "max_"+name))
	}
	return l
}

// close refuses parameters that nobody asked for, and gives all faults.
func (q *query) close() error {
	if faults := q.Close(); len(faults) > 0 {
		return &wire.Refused{Faults: faults, Units: q.units}
	}
	return nil
}

// errorsAsText lets errors=text stand, which tell reads for itself.
func (q *query) errorsAsText() { form.Param(q.Query, "errors", form.NameOf([]string{"text"})) }

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

// unknownParameters gives a fault for each parameter that is left over.
func unknownParameters(left url.Values) fault.List { return form.QueryOf(left).Close() }

// lengths is a range of lengths, each end of it included.
type lengths struct {
	least, most       unit.Length
	hasLeast, hasMost bool
}

func (l lengths) holds(length unit.Length) bool {
	return (!l.hasLeast || length >= l.least) && (!l.hasMost || length <= l.most)
}
