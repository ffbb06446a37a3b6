package fit

import (
	"midstroke/internal/fault"
	"midstroke/internal/note"
	"midstroke/internal/unit"
)

// given says whether the vehicle is driven at more than one height.
func (h Heights) given() bool { return h != Heights{} }

// stopsFixed says whether the needs were computed to stops that are fixed in the
// vehicle. Then the wheel's travel between them is the same from every ride
// height, and a change of ride height changes need and travel alike.
func (b Basis) stopsFixed() bool { return b == ByWheel || b == Measured || b == ByLinkage }

// checkHeights finds what is wrong with the range of ride heights.
func (r *Request) checkHeights(faults *fault.List) {
	h := r.Heights
	for _, end := range [2]struct {
		name   string
		length unit.Length
	}{{"below", h.Below}, {"above", h.Above}} {
		if end.length < 0 || end.length > unit.MaxLength {
			faults.Add("/ride_height_range/"+end.name, heightsOutOfRange)
		}
	}
	// ByWheel and ByRoad report the missing ratio themselves.
	reported := r.Travel.Basis == ByWheel || r.Travel.Basis == ByRoad
	if h.given() && r.Travel.Basis != ByLinkage && r.Readings.MotionRatio <= 0 && !reported {
		faults.Add("/motion_ratio", ratioMissingForRange)
	}
}

// needAtHeights makes the needs hold at both ends of the range of ride heights,
// where they count from the ride height: compression at the lowest, extension at
// the highest. Needs to fixed stops stay as they are.
func (r *Request) needAtHeights(n *Required) {
	h := r.Heights
	if !h.given() {
		return
	}
	if n.Basis.stopsFixed() {
		n.held = wheelTravel{max(n.held.up, h.Below), max(n.held.down, h.Above)}
		n.addStep("heights_within_stops", "", note.Given("below", h.Below), note.Given("above", h.Above))
		return
	}
	below, belowWorst := r.atDamper(h.Below)
	above, aboveWorst := r.atDamper(h.Above)
	n.Compression = n.Compression.plus(below, belowWorst)
	n.Extension = n.Extension.plus(above, aboveWorst)
	n.compressionBy, n.extensionBy = n.compressionBy.plus(below, belowWorst), n.extensionBy.plus(above, aboveWorst)
	n.held = wheelTravel{n.held.up + h.Below, n.held.down + h.Above}
	n.addStep("heights_added", "", note.Given("below", h.Below), note.Given("above", h.Above),
		note.GivenNum("motion_ratio", r.Readings.MotionRatio, ""),
		note.AtLeast("compression", n.Compression.Least), note.AtLeast("extension", n.Extension.Least),
		note.AtLeast("compression_wanted", n.Compression.Wanted), note.AtLeast("extension_wanted", n.Extension.Wanted))
}

// plus is a need with more asked both at least and wanted.
func (n Need) plus(nominal, worst unit.Length) Need {
	return Need{n.Least + nominal, n.Wanted + nominal, n.LeastWorst + worst, n.WantedWorst + worst}
}

// heightShift is by how much the damper's length changes from the ride height to
// the lowest and to the highest of the range.
type heightShift struct{ lowest, highest unit.Length }

// heightShift computes it by the motion ratio, or along the linkage's curve.
func (r *Request) heightShift(k *kinematics) heightShift {
	if k != nil {
		return k.heights
	}
	ratio := r.Readings.MotionRatio
	return heightShift{lowest: -r.Heights.Below.Scale(ratio), highest: r.Heights.Above.Scale(ratio)}
}

// atHeights is the travel that a fit has at the ends of the range of ride
// heights; nil where none was given.
func (t *task) atHeights(f *Fit) *AtHeights {
	if !t.drivenAt.given() {
		return nil
	}
	at := func(shift unit.Length) Both {
		return Both{f.Travel.Compression + shift, f.Travel.Extension - shift}
	}
	return &AtHeights{Lowest: at(t.shift.lowest), Highest: at(t.shift.highest)}
}
