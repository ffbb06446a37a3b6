package quote

import (
	"fmt"
	"slices"

	"midstroke/internal/enum"
)

// State is what has become of a quote.
type State uint8

// The states.
const (
	// Kept is how a quote begins.
	Kept State = iota + 1
	// Ordered has taken its parts from the stock.
	Ordered
	// Fitted is final: the parts are on the vehicle.
	Fitted
	// Cancelled is final. An ordered quote gives its parts back.
	Cancelled
)

var stateNames = enum.Names[State]{Kept: "kept", Ordered: "ordered", Fitted: "fitted", Cancelled: "cancelled"}

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

// next are the states that may follow each.
var next = map[State][]State{
	Kept:    {Ordered, Cancelled},
	Ordered: {Fitted, Cancelled},
}

// StateError says that a state can't follow another.
type StateError struct{ From, To State }

func (e *StateError) Error() string { return fmt.Sprintf("%s can't follow %s", e.To, e.From) }

// Follows gives a *StateError where a state can't follow another.
func (s State) Follows(before State) error {
	if slices.Contains(next[before], s) {
		return nil
	}
	return &StateError{before, s}
}
