package wire

import (
	"net/url"
	"slices"
	"strconv"
	"strings"

	"midstroke/internal/fit"
)

// Format is how an answer is written.
type Format uint8

// The formats. Unstated leaves it to the caller's other wishes.
const (
	Unstated Format = iota
	JSON
	CSV
	Text // one bare value
)

var formatNames = []string{"json", "csv", "text"}

// Show is how the query of a request wants its answer to be shown.
type Show struct {
	Format Format
	// Pick is the dotted path of a value within a fit, and Rank says of which;
	// of Format Text alone.
	Pick string
	Rank int
	// ErrorsAsText asks for problems as one line of text under 200, which a
	// spreadsheet's cell can show.
	ErrorsAsText bool
}

// showNames are the parameters that say how an answer is shown.
var showNames = []string{"format", "pick", "rank", "errors"}

const mostPick = 100 // characters

// ReadShow takes the parameters that say how an answer is shown out of values.
// What remains is returned; the caller's values stay as they are. As much as
// could be read is returned with faults, too, so that these can be told as
// ErrorsAsText asks.
func ReadShow(values url.Values) (Show, url.Values, Faults) {
	s := Show{Rank: 1}
	rest := make(url.Values, len(values))
	for name, all := range values {
		if !slices.Contains(showNames, name) {
			rest[name] = all
		}
	}
	var faults Faults
	fail := func(name, code, detail string) {
		faults = append(faults, Fault{Parameter: name, Code: code, Detail: detail})
	}
	one := func(name string) (string, bool) {
		all := slices.DeleteFunc(slices.Clone(values[name]), func(v string) bool { return v == "" })
		switch len(all) {
		case 0:
			return "", false
		case 1:
			return all[0], true
		}
		fail(name, duplicateField, "may stand only once")
		return "", false
	}
	choose := func(name string, allowed ...string) (int, bool) {
		v, given := one(name)
		if !given {
			return 0, false
		}
		i := slices.Index(allowed, v)
		if i < 0 {
			fail(name, notAllowed, "must be one of "+strings.Join(allowed, ", ")+", not "+quoted(v))
		}
		return i, i >= 0
	}
	_, s.ErrorsAsText = choose("errors", "text")
	format, ok := choose("format", formatNames...)
	if ok {
		s.Format = Format(format + 1)
	}
	pick, picked := one("pick")
	switch {
	case picked && len(pick) > mostPick:
		fail("pick", textTooLong, "must have at most "+strconv.Itoa(mostPick)+" characters")
	case picked && s.Format != Text:
		fail("pick", notTogether, "goes with format=text alone")
	case !picked && s.Format == Text:
		fail("pick", missingField, "pick is missing: format=text gives one value, as pick=damper.code")
	}
	s.Pick = pick
	if v, given := one("rank"); given {
		n, err := strconv.Atoi(v)
		switch {
		case err != nil || n < 1 || n > fit.MostListed:
			fail("rank", outOfRange, "must be a whole number from 1 to "+strconv.Itoa(fit.MostListed))
		case !picked:
			fail("rank", notTogether, "goes with pick alone")
		default:
			s.Rank = n
		}
	}
	return s, rest, faults
}
