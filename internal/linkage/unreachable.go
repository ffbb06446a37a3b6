package linkage

import (
	"errors"
	"fmt"
	"math"
	"strconv"

	"midstroke/internal/fault"
	"midstroke/internal/unit"
)

// TravelError tells that a wheel travel, or an axle's pose, has no answer.
type TravelError struct {
	// Code is "unreachable", "no_length" (the damper's ends meet there) or
	// "out_of_range" (not a number).
	Code string
	// What is what Travel is: "wheel travel" where empty.
	What string
	// Travel is what was asked for; Low and High are what can be reached, mm.
	Travel, Low, High float64
	// relative is set where Travel is a difference, and has no ride height.
	relative bool
	// Point is the pointer, within the linkage, of the point that ends the
	// travel; Reason says why, in words.
	Point, Reason string
}

// Error tells it in millimetres.
func (e *TravelError) Error() string { return e.Text(unit.Millimetres) }

// Text tells it in the units of s.
func (e *TravelError) Text(s unit.System) string {
	what := e.What
	if what == "" {
		what = "wheel travel"
	}
	switch e.Code {
	case "unreachable":
		low, high := inward(e.Low, e.High, s)
		return fmt.Sprintf("%s %s cannot be reached: %s; it can be from %s to %s",
			what, shown(e.Travel, s), e.Reason, low, high)
	case "no_length":
		return fmt.Sprintf("at %s %s %s", what, shown(e.Travel, s), e.Reason)
	}
	return e.Reason
}

// From gives the error with wheel travel counted from another ride height, which
// is a wheel travel in mm on the count so far.
func (e *TravelError) From(ride float64) *TravelError {
	told := *e
	if !e.relative {
		told.Travel, told.Low, told.High = e.Travel-ride, e.Low-ride, e.High-ride
	}
	return &told
}

func (l *Linkage) unreachable(z float64) error {
	if math.IsNaN(z) {
		return notANumber("the wheel travel")
	}
	e := l.high
	if z < l.low.z {
		e = l.low
	}
	return &TravelError{
		Code: "unreachable", Travel: z, Low: l.low.z, High: l.high.z, Point: e.at, Reason: e.reason,
	}
}

func (l *Linkage) endsMeet(z float64) error {
	return &TravelError{
		Code: "no_length", Travel: z, Low: l.low.z, High: l.high.z,
		Point: "/damper/lower", Reason: "the damper's two ends meet",
	}
}

func notANumber(what string) error {
	return &TravelError{Code: "out_of_range", Reason: what + " is not a number"}
}

// addError makes err, which came from asking for the field at pointer, a fault
// in the units of s.
func addError(faults *fault.List, pointer string, err error, s unit.System) {
	var e *TravelError
	if errors.As(err, &e) {
		faults.Add(pointer, fault.Code(e.Code), "%s", e.Text(s))
		return
	}
	faults.Add(pointer, "unreachable", "%s", err)
}

// step is what a range is told to: 0.1 mm or 1/100 in.
func step(s unit.System) (mm float64, places int) {
	if s == unit.Inches {
		return unit.Inch.Mm() / 100, 2
	}
	return 0.1, 1
}

func shown(mm float64, s unit.System) string {
	_, places := step(s)
	return strconv.FormatFloat(mm/s.One().Mm(), 'f', places, 64) + " " + unitName(s)
}

// inward tells a range without telling more than it holds.
func inward(low, high float64, s unit.System) (string, string) {
	d, _ := step(s)
	return shown(math.Ceil(low/d)*d, s), shown(math.Floor(high/d)*d, s)
}

func unitName(s unit.System) string {
	if s == unit.Inches {
		return "in"
	}
	return "mm"
}
