package linkage

// Corner gives the damper's length in mm at the travels of the left and of the
// right wheel centre in mm. The error is a [*TravelError] where the two are
// farther apart than the axle is wide.
func (a Axle) Corner(left, right float64) (float64, error) {
	if err := a.apart(left, right); err != nil {
		return 0, err
	}
	l := a.axle.length(a.axle.corner(left, right))
	if l < tellApart {
		return 0, &TravelError{Code: endsMeetAtCorner, Travel: left, Right: right, Point: "/damper/lower"}
	}
	return l, nil
}
