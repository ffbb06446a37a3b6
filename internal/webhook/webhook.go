// Package webhook has the rules of webhooks: what a shop can be told of, how that is
// signed, where it may be sent, and when it is tried again. It knows no database.
package webhook

import (
	"crypto/hmac"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"encoding/json"
	"errors"
	"strconv"
	"strings"
	"time"

	"github.com/google/uuid"

	"midstroke/internal/enum"
	"midstroke/internal/note"
)

// The bounds of what callers say.
const (
	MostOfShop      = 10 // webhooks
	MostURL         = 2000
	MostEvents      = 10
	MostDescription = 200
	// MostFormer is how many former secrets sign beside a webhook's own, and
	// MostFormerHours and UsualFormerHours for how long.
	MostFormer       = 4
	MostFormerHours  = 168
	UsualFormerHours = 24
	// MostLines is how many lines of stock an event lists.
	MostLines = 100
)

// EventType is what a shop can be told of.
type EventType uint8

// The types of events.
const (
	QuoteKept EventType = iota + 1
	QuoteOrdered
	QuoteCancelled
	CatalogPublished
	StockLow
)

var eventNames = enum.Names[EventType]{
	QuoteKept: "quote.kept", QuoteOrdered: "quote.ordered", QuoteCancelled: "quote.cancelled", CatalogPublished: "catalog.published", StockLow: "stock.low",
}

// String gives the type's name.
func (t EventType) String() string { return eventNames[t] }

// ParseEventType reads a type's name.
func ParseEventType(name string) (EventType, bool) { return eventNames.Parse(name) }

// EventTypes lists the names of the types.
func EventTypes() []string { return eventNames.All() }

// Event is something that happened.
type Event struct {
	Type EventType
	At   time.Time
	// Data is what it says, which becomes JSON.
	Data any
}

// Body is what is sent of an event.
func (e *Event) Body() ([]byte, error) {
	return json.Marshal(struct {
		Type      string    `json:"type"`
		Timestamp time.Time `json:"timestamp"`
		Data      any       `json:"data"`
	}{e.Type.String(), e.At.UTC(), e.Data})
}

// Webhook is where a shop wants to be told of events.
type Webhook struct {
	ID          string
	URL         string
	Events      []string // names of types
	Description string
	Active      bool
	Created     time.Time
	CreatedBy   string // the prefix of a key
	Secret      Secret
	Former      []FormerSecret // the last first
}

// FormerSecret is a secret that was replaced. It signs beside the new one until a time.
type FormerSecret struct {
	Secret Secret
	Until  time.Time
}

// Renew gives a webhook another secret. The former one stays good for a while, as do
// those before it that still are; without a while none does.
func (w *Webhook) Renew(fresh Secret, now time.Time, while time.Duration) {
	former := []FormerSecret{}
	if while > 0 {
		former = append(former, FormerSecret{w.Secret, now.Add(while)})
		former = append(former, w.Former...)
	}
	w.Secret, w.Former = fresh, former[:min(len(former), MostFormer)]
}

// Signatures gives the signatures of a message by every secret that is good, that of
// the newest first, with spaces between as Standard Webhooks says.
func (w *Webhook) Signatures(id string, at time.Time, body []byte) string {
	all := w.Secret.Sign(id, at, body)
	for _, former := range w.Former {
		if at.Before(former.Until) {
			all += " " + former.Secret.Sign(id, at, body)
		}
	}
	return all
}

// Change is what is to become of a webhook. What is nil stays.
type Change struct {
	URL         *string
	Events      []string
	Description *string
	Active      *bool
}

// Apply changes a webhook.
func (w *Webhook) Apply(c *Change) {
	if c.URL != nil {
		w.URL = *c.URL
	}
	if c.Events != nil {
		w.Events = c.Events
	}
	if c.Description != nil {
		w.Description = *c.Description
	}
	if c.Active != nil {
		w.Active = *c.Active
	}
}

// NewID makes the name of a webhook or a delivery. Later ones sort behind earlier ones.
func NewID() string { return uuid.Must(uuid.NewV7()).String() }

// IsID says whether a text has the form of such a name, so that it is worth looking up.
func IsID(text string) bool {
	id, err := uuid.Parse(text)
	return err == nil && id.String() == text
}

var (
	// ErrNotFound says that the shop has no such webhook or delivery.
	ErrNotFound = errors.New("there is no such webhook or delivery")
	// ErrTooMany says that the shop has as many webhooks as it may.
	ErrTooMany = errors.New("the shop has as many webhooks as it may")
)

// Secret is what a webhook's events are signed by.
type Secret []byte

// secretMark is in front of a secret that is written down, by Standard Webhooks.
const secretMark = "whsec_"

// NewSecret makes a secret.
func NewSecret() Secret {
	s := make(Secret, sha256.Size)
	_, _ = rand.Read(s) // never fails: crypto/rand ends the process before
	return s
}

// Written gives the secret as its owner keeps it.
func (s Secret) Written() string { return secretMark + base64.StdEncoding.EncodeToString(s) }

// ReadSecret reads a secret that is written down.
func ReadSecret(written string) (Secret, error) {
	return base64.StdEncoding.DecodeString(strings.TrimPrefix(written, secretMark))
}

// Sign gives the signature of a message by Standard Webhooks 1.0.0, "Signature scheme":
// the HMAC-SHA-256 of its id, the seconds since 1970 and its body, joined by full stops.
func (s Secret) Sign(id string, at time.Time, body []byte) string {
	h := hmac.New(sha256.New, s)
	h.Write([]byte(id + "." + strconv.FormatInt(at.Unix(), 10) + "."))
	h.Write(body)
	return "v1," + base64.StdEncoding.EncodeToString(h.Sum(nil))
}

// waits are how long to wait after each attempt that failed: two and a half days in all.
var waits = []time.Duration{
	2 * time.Second, 10 * time.Second, time.Minute, 5 * time.Minute, 20 * time.Minute, time.Hour,
	3 * time.Hour, 6 * time.Hour, 12 * time.Hour, 15 * time.Hour, 22 * time.Hour,
}

// Again says how long to wait after so many attempts have failed, and whether to try
// again at all.
func Again(attempts int) (time.Duration, bool) {
	if attempts < 1 || attempts > len(waits) {
		return 0, false
	}
	return waits[attempts-1], true
}

// State is what has become of a delivery.
type State uint8

// The states.
const (
	Waiting State = iota + 1
	Delivered
	Failed // it isn't tried again
)

var stateNames = enum.Names[State]{Waiting: "waiting", Delivered: "delivered", Failed: "failed"}

// String gives the state's name.
func (s State) String() string {
	if int(s) < len(stateNames) {
		return stateNames[s]
	}
	return ""
}

// ParseState reads a state's name.
func ParseState(name string) (State, bool) { return stateNames.Parse(name) }

// States lists the names of the states.
func States() []string { return stateNames.All() }

// Delivery is an event on its way to a webhook.
type Delivery struct {
	ID       string
	State    State
	Attempts int
	Created  time.Time
	Next     time.Time // when it is tried next, zero for at once and for never
	Last     *Attempt  // nil before the first
	Body     []byte
}

// Attempt is a try to deliver an event.
type Attempt struct {
	At     time.Time
	Took   time.Duration
	Status int // of the answer, 0 where there was none
	// Fault says why it failed, "" where it didn't, and Detail what the network said.
	Fault  note.Code
	Detail string
}

// Filter says which deliveries are wanted. What is zero narrows nothing.
type Filter struct {
	State State
	// Before is the name of the delivery behind which the list goes on.
	Before string
	Limit  int
}
