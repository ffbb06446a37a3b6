package mount

import (
	"slices"
	"strings"

	"midstroke/internal/enum"
	"midstroke/internal/fault"
	"midstroke/internal/note"
)

// Plane is what the tape was held to at one end. The zero value stands for
// the style's own reference, Reference.
type Plane uint8

// The planes. "Near" is nearer the damper's other end.
const (
	StylesOwn Plane = iota
	BoltCentre
	NearEdge
	FarEdge
	BarCentre
	SeatFace
	InnerWasher
	FrameFace
	FrameFarFace
	StudTip
)

// Planes names the planes in requests.
var Planes = enum.Names[Plane]{
	StylesOwn: "", BoltCentre: "bolt_centre", NearEdge: "near_edge", FarEdge: "far_edge",
	BarCentre: "bar_centre", SeatFace: "seat_face",
	InnerWasher: "inner_washer", FrameFace: "frame_face", FrameFarFace: "frame_far_face", StudTip: "stud_tip",
}

// String gives the plane's name in requests.
func (p Plane) String() string { return Planes[p] }

// wrongPlane is the fault of a plane that a style doesn't have.
const wrongPlane fault.Code = "wrong_plane"

// CheckPlane says what is wrong with an end of style s that was measured to
// plane p: its style isn't given, or has no such plane.
func CheckPlane(s Style, p Plane) fault.List {
	var faults fault.List
	switch {
	case s == NoStyle:
		faults.Add("/style", styleMissing, note.Word("styles", strings.Join(Styles.All(), ", ")))
	case p != StylesOwn && !slices.Contains(s.Planes(), p):
		faults.Add("/measured_to", wrongPlane, note.Word("style", s.String()))
	}
	return faults
}

// Or gives p, or the reference of style s where p is StylesOwn.
func (p Plane) Or(s Style) Plane {
	if p == StylesOwn {
		if own := s.Planes(); len(own) > 0 {
			return own[0]
		}
	}
	return p
}
