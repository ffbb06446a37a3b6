package quote

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"midstroke/internal/catalog"
)

// The bounds of a line of stock.
const (
	MostLocation = 64        // characters
	MostQuantity = 1_000_000 // of one part at one location
	MostLines    = 200_000   // in one file
)

// StockLine is a line of a shop's stock as it is told and read.
type StockLine struct {
	Code, Location string
	Quantity       int
	Low            *int // at or below which the shop wants to be told; nil for never
	Changed        time.Time
}

// StockFilter says which lines are wanted. What is zero narrows nothing.
type StockFilter struct {
	Code, Location string
	// AfterCode and AfterLocation are the line behind which the list goes on.
	AfterCode, AfterLocation string
	Limit                    int
}

// Need is how many of a part a quote takes.
type Need struct {
	Code     string `json:"code"`
	Quantity int    `json:"quantity"`
}

// Taken is how many of a part were taken from a location.
type Taken struct {
	Code     string `json:"code"`
	Location string `json:"location"`
	Quantity int    `json:"quantity"`
}

// Short is a part of which there isn't enough. Location is "" where any was good.
type Short struct {
	Code, Location string
	Wanted, Left   int
}

// ShortError says of which parts there isn't enough.
type ShortError struct{ Short []Short }

func (e *ShortError) Error() string {
	var all []string
	for _, s := range e.Short {
		all = append(all, fmt.Sprintf("%d of %d of %s", s.Left, s.Wanted, s.Code))
	}
	return "there are only " + strings.Join(all, ", ")
}

// Take says what to take from where for some needs, given the stock's lines of the
// parts, sorted by location. at is the one location to take from, "" for any. A part
// without lines isn't taken: its stock isn't counted. It gives a *ShortError where there
// isn't enough.
func Take(needs []Need, lines []catalog.StockLine, at string) ([]Taken, error) {
	var taken []Taken
	var short []Short
	for _, n := range needs {
		counted, left := false, n.Quantity
		for _, l := range lines {
			if l.Code != n.Code {
				continue
			}
			counted = true
			if take := min(left, l.Quantity); take > 0 && (at == "" || l.Location == at) {
				taken = append(taken, Taken{l.Code, l.Location, take})
				left -= take
			}
		}
		if counted && left > 0 {
			short = append(short, Short{n.Code, at, n.Quantity, n.Quantity - left})
		}
	}
	if len(short) > 0 {
		return nil, &ShortError{short}
	}
	return taken, nil
}

// NeedsOf adds up lines of a pick list by part. Parts without a code aren't counted.
func NeedsOf(lines []Line) []Need {
	var needs []Need
	for _, l := range lines {
		if l.Code == "" {
			continue
		}
		if i := slices.IndexFunc(needs, func(n Need) bool { return n.Code == l.Code }); i >= 0 {
			needs[i].Quantity += l.Quantity
		} else {
			needs = append(needs, Need{l.Code, l.Quantity})
		}
	}
	slices.SortFunc(needs, func(a, b Need) int { return strings.Compare(a.Code, b.Code) })
	return needs
}
