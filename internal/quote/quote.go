// Package quote has the rules of quotes: a chosen fit that is kept, its states, and
// what would differ if it were kept today. It knows neither HTTP nor a database.
package quote

import (
	"crypto/rand"
	"encoding/base64"
	"errors"
	"fmt"
	"time"

	"github.com/google/uuid"

	"midstroke/internal/enum"
)

// The bounds of what callers say.
const (
	MostReference = 200  // characters, as of this and the next two
	MostRemark    = 2000 //
	MostBy        = 100
	MostReason    = 500
	MostAxles     = 2
	MostDays      = 365 // that the link of a sheet is good for
	UsualDays     = 30
)

// Axle is which axle of the vehicle dampers are for.
type Axle uint8

// The axles.
const (
	Front Axle = iota + 1
	Rear
)

var axleNames = enum.Names[Axle]{Front: "front", Rear: "rear"}

// String gives the axle's name.
func (a Axle) String() string {
	if int(a) < len(axleNames) {
		return axleNames[a]
	}
	return ""
}

// ParseAxle reads an axle's name.
func ParseAxle(name string) (Axle, bool) { return axleNames.Parse(name) }

// Axles lists the names of the axles.
func Axles() []string { return axleNames.All() }

// Risk says who accepts a damper that doesn't fit, and why.
type Risk struct{ By, Reason string }

// Event is a state that a quote came into.
type Event struct {
	State State
	At    time.Time
	// Key is the prefix of the key that it came with, and By who it was, in the
	// caller's words.
	Key, By string
}

// Link is how a quote can be read without a key. The zero Link is none.
type Link struct {
	Secret  string
	Expires time.Time
}

// secretBytes is how long a link's secret is: nobody guesses 160 bits.
const secretBytes = 20

// NewLink makes a link that is good for so many days, none where there are none.
func NewLink(days int, now time.Time) Link {
	if days == 0 {
		return Link{}
	}
	var raw [secretBytes]byte
	_, _ = rand.Read(raw[:]) // never fails: crypto/rand ends the process before
	return Link{base64.RawURLEncoding.EncodeToString(raw[:]), now.AddDate(0, 0, days)}
}

// IsLink says whether a text has the form of a link, so that it is worth looking up.
func IsLink(text string) bool {
	raw, err := base64.RawURLEncoding.Strict().DecodeString(text)
	return err == nil && len(raw) == secretBytes
}

// Total is what a pick list costs, as answers say it.
type Total struct {
	Amount, Currency string
	Complete         bool
}

// Quote is a choice that was kept.
type Quote struct {
	ID    string
	State State
	// Reference and Remark are the caller's own words.
	Reference, Remark string
	// Catalog and Revision are what it was kept from.
	Catalog  string
	Revision int

	Created, Changed time.Time
	CreatedBy        string // the prefix of a key
	History          []Event
	Link             Link

	// Content is the JSON of what never changes: the axles with their requests and
	// answers, the pick list and the total.
	Content []byte
	// Dampers are the codes of the chosen dampers, an axle each; Codes are those of
	// all parts.
	Dampers, Codes []string
	Total          Total
	// Needs are how many of each part it takes, and Taken what it has taken from the
	// stock.
	Needs []Need
	Taken []Taken
}

// NewID makes the name of a quote. Later ones sort behind earlier ones.
func NewID() string { return uuid.Must(uuid.NewV7()).String() }

// IsID says whether a text has the form of a quote's name, so that it is worth
// looking up.
func IsID(text string) bool {
	id, err := uuid.Parse(text)
	return err == nil && id.String() == text
}

// Moment is when something was kept or changed: now, in UTC, as finely as Postgres
// tells times.
func Moment(now time.Time) time.Time { return now.UTC().Truncate(time.Microsecond) }

// Change is what is to become of a quote. What is nil stays.
type Change struct {
	State             State // 0 stays
	By, Key           string
	Location          string // to take the parts from, "" for any
	Reference, Remark *string
	Days              *int // that a new link is good for
}

// Apply changes a quote. It gives a *StateError where its state doesn't allow that.
func (q *Quote) Apply(c *Change, now time.Time) error {
	if c.State != 0 {
		if err := c.State.Follows(q.State); err != nil {
			return err
		}
		q.State = c.State
		q.History = append(q.History, Event{State: c.State, At: now, Key: c.Key, By: c.By})
	}
	if c.Reference != nil {
		q.Reference = *c.Reference
	}
	if c.Remark != nil {
		q.Remark = *c.Remark
	}
	if c.Days != nil {
		q.Link = NewLink(*c.Days, now)
	}
	q.Changed = now
	return nil
}

// ErrNotFound says that the shop has no such quote.
var ErrNotFound = errors.New("there is no such quote")

// ErasedError says that a quote was erased.
type ErasedError struct {
	ID string
	At time.Time
}

func (e *ErasedError) Error() string {
	return fmt.Sprintf("the quote %s was erased on %s", e.ID, e.At.Format(time.RFC3339))
}

// Filter says which quotes are wanted. What is zero narrows nothing.
type Filter struct {
	Reference string // a part of it
	Code      string
	State     State
	From, To  time.Time // kept at From or later, and before To
	// Before is the name of the quote behind which the list goes on.
	Before string
	Limit  int
}
