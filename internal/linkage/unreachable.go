package linkage

import (
	"errors"
	"math"

	"midstroke/internal/fault"
	"midstroke/internal/note"
	"midstroke/internal/unit"
)

// TravelError says that a wheel travel, or an axle's pose, has no answer.
type TravelError struct {
	// Code's public part is "unreachable", "no_length" (the damper's ends meet
	// there) or "out_of_range".
	Code fault.Code
	// What names the quantity in Travel where it isn't plain wheel travel.
	What string
	// Travel is what was asked for; Low and High are what can be reached, mm.
	Travel, Low, High float64
	// Right is the right wheel's travel where Travel is the left wheel's alone.
	Right float64
	// relative is set where Travel is a difference of two wheel travels, which
	// doesn't depend on the ride height.
	relative bool
	// Point is the pointer, within the linkage, of the point that ends the
	// travel.
	Point string
}

// Error gives the words in English, with lengths in millimetres.
func (e *TravelError) Error() string {
	f := e.Fault(e.Point)
	return f.Text("en", unit.Millimetres)
}

// Fault gives the error as a fault of the field at pointer.
func (e *TravelError) Fault(pointer string) fault.Fault {
	what := e.What
	if what == "" {
		what = "wheel_travel"
	}
	values := []note.Value{
		note.Word("what", what), note.Len("travel", bounded(e.Travel)),
	}
	switch {
	case e.Code == endsMeetAtCorner:
		values = append(values, note.Len("right", bounded(e.Right)))
	case e.Code.Public() == unreachable:
		// Rounded inwards: the words must not name a travel that is out of reach.
		low, high := bounded(e.Low), bounded(e.High)
		values = append(values, note.Within("low", low, low, high), note.Within("high", high, low, high))
	}
	return fault.New(pointer, e.Code, values...)
}

// bounded gives mm as a length; what is beyond any length, as the longest.
func bounded(mm float64) unit.Length {
	most := unit.MaxLength.Mm()
	if math.IsNaN(mm) {
		return 0
	}
	return unit.FromMm(max(-most, min(most, mm)))
}

// From gives the error with wheel travel counted from another ride height, which
// is a wheel travel in mm on the count so far.
func (e *TravelError) From(ride float64) *TravelError {
	told := *e
	if !e.relative {
		told.Travel, told.Low, told.High, told.Right = e.Travel-ride, e.Low-ride, e.High-ride, e.Right-ride
	}
	return &told
}

func (l *Linkage) unreachable(z float64) error {
	if math.IsNaN(z) {
		return &TravelError{Code: notANumber}
	}
	e := l.high
	if z < l.low.z {
		e = l.low
	}
	return &TravelError{Code: e.reason, Travel: z, Low: l.low.z, High: l.high.z, Point: e.at}
}

func (l *Linkage) endsMeet(z float64) error {
	return &TravelError{
		Code: endsMeetAt, Travel: z, Low: l.low.z, High: l.high.z, Point: "/damper/lower",
	}
}

// report makes a TravelError, which came from asking for the field at pointer, a
// fault of that field.
func report(faults *fault.List, pointer string, err error) {
	var e *TravelError
	errors.As(err, &e)
	*faults = append(*faults, e.Fault(pointer))
}
