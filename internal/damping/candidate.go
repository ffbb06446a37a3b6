package damping

import "midstroke/internal/ride"

// Candidate is a damper beside others in a picture.
type Candidate struct {
	Name   string
	Table  *Table
	Rating *Rating
}

// States are the corner at each load, unladen first, without gas force.
func (r *Rater) States() []ride.State { return r.states }

// Car is the unladen corner as a quarter car with a damping at the wheel, N·s/m.
func (r *Rater) Car(atWheel float64) ride.QuarterCar {
	car := r.states[0].Car
	car.Damping = atWheel
	return car
}
