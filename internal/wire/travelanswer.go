package wire

import "midstroke/internal/linkage"

// AppendTravel appends a linkage's travel as JSON.
func AppendTravel(dst []byte, t *linkage.Travel, r *TravelRequest, lang string) []byte {
	w := writer{b: dst, units: r.Units, lang: lang}
	w.open()
	w.text("units", r.Units.String())
	w.length("ride_length", t.RideLength)
	w.key("motion_ratio")
	w.open()
	w.number("at_ride", t.MotionRatio.AtRide, decimals)
	w.number("least", t.MotionRatio.Least, decimals)
	w.number("most", t.MotionRatio.Most, decimals)
	w.close()
	w.extreme("shortest", &t.Shortest, t.Kind)
	w.extreme("longest", &t.Longest, t.Kind)
	w.key("required")
	w.open()
	w.length("compression", t.Compression)
	w.length("extension", t.Extension)
	w.close()
	w.key("curve")
	w.openList()
	for i := range t.Curve {
		s := &t.Curve[i]
		w.open()
		w.length("wheel_travel", s.WheelTravel)
		w.length("length", s.Length)
		w.number("motion_ratio", s.MotionRatio, decimals)
		w.close()
	}
	w.closeList()
	w.key("poses")
	w.openList()
	for i := range t.Poses {
		p := &t.Poses[i]
		w.open()
		w.length("heave", p.Heave)
		w.number("roll_deg", p.RollDeg, decimals)
		w.length("length", p.Length)
		w.close()
	}
	w.closeList()
	w.notes("cautions", t.Cautions)
	w.close()
	return append(w.b, '\n')
}

// extreme writes the shortest or the longest length and where the wheel, or
// each wheel of an axle, is then.
func (w *writer) extreme(name string, e *linkage.Extreme, kind linkage.Kind) {
	w.key(name)
	w.open()
	w.length("length", e.Length)
	if kind == linkage.SolidAxle {
		w.length("left", e.Left)
		w.length("right", e.Right)
	} else {
		w.length("wheel_travel", e.WheelTravel)
	}
	w.flag("interior", e.Interior)
	w.close()
}
