// Package damping says which spring and which damping a corner of a vehicle
// wants, and how a damper's force table compares with that.
//
// Units are SI inside. Where a name has a unit (N/mm, km/h), that is its unit.
package damping

import (
	"slices"

	"midstroke/internal/enum"
)

// Point is one line of a force table.
type Point struct {
	// Velocity is that of the piston in the body, m/s, 0 or more.
	Velocity float64
	// Compression and Rebound are the forces that resist it, N. Both are
	// magnitudes: a force that resists the movement is positive.
	Compression, Rebound float64
}

// Curve is the forces of a damper at one position of its adjusters.
type Curve struct {
	// Position names the position, as "4" or "firm". It may be "" where the table
	// has a single curve.
	Position string
	// Points are in order of velocity. Forces are linear between them. Below the
	// first, they are linear from 0 at rest. Above the last, the table says nothing.
	Points []Point
}

// Reservoir says where the gas of a damper is.
type Reservoir uint8

// The places of the gas. The zero value is for one that isn't known.
const (
	NoReservoir       Reservoir = iota + 1 // in the damper's body, or no gas
	AttachedReservoir                      // in a second body, fixed to the first
	RemoteReservoir                        // in a second body at the end of a hose
)

// Reservoirs names the places of the gas in requests, answers and files.
var Reservoirs = enum.Names[Reservoir]{"", NoReservoir: "none", AttachedReservoir: "attached", RemoteReservoir: "remote"}

// String gives "none", "attached", "remote" or "".
func (r Reservoir) String() string { return Reservoirs[r] }

// Table is what a test of a damper gave: its forces and its gas force.
type Table struct {
	// Curves are the forces at each position of the adjusters, from the softest
	// to the firmest. There may be none where only the gas force is known.
	Curves []Curve
	// GasForce pushes the rod out at the middle of the stroke, N. It is 0 where
	// there is none or where it isn't known.
	GasForce float64
	// GasIncluded says that the forces of Curves include GasForce: it adds to
	// compression and takes away from rebound.
	GasIncluded bool
	Reservoir   Reservoir
	// Celsius is the damper's temperature in the test, where TemperatureKnown.
	Celsius          float64
	TemperatureKnown bool
}

// Force gives the forces of a point without the gas force.
func (t *Table) Force(p Point) (compression, rebound float64) {
	if t.GasIncluded {
		return p.Compression - t.GasForce, p.Rebound + t.GasForce
	}
	return p.Compression, p.Rebound
}

// Equal says whether both tables say the same.
func (t *Table) Equal(u *Table) bool {
	if t.GasForce != u.GasForce || t.GasIncluded != u.GasIncluded || t.Reservoir != u.Reservoir ||
		t.Celsius != u.Celsius || t.TemperatureKnown != u.TemperatureKnown {
		return false
	}
	return slices.EqualFunc(t.Curves, u.Curves, func(a, b Curve) bool {
		return a.Position == b.Position && slices.Equal(a.Points, b.Points)
	})
}
