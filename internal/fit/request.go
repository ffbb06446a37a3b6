package fit

import (
	"midstroke/internal/catalog"
	"midstroke/internal/damping"
	"midstroke/internal/enum"
	"midstroke/internal/linkage"
	"midstroke/internal/measure"
	"midstroke/internal/mount"
	"midstroke/internal/ride"
	"midstroke/internal/unit"
)

// Request is what is known of a vehicle and what is wanted of a damper. The
// caller has read its values and checked each by itself; Find checks what only
// the whole shows.
type Request struct {

	// Readings are what was taped, with the ends' styles and planes.
	Readings measure.Readings
	// Upper and Lower are the brackets at the two ends.
	Upper, Lower mount.Bracket

	// LeanDeg is the damper's angle from upright as installed, negative where
	// it wasn't stated. A tape held vertical and a linkage tell it too: the
	// largest that is known counts.
	LeanDeg float64

	Suspension Suspension
	Travel     Travel
	Linkage    *linkage.Spec // of travel basis ByLinkage
	// Heights is the range of ride heights that the vehicle is driven at.
	Heights Heights

	Limits Limits
	// Prefer is the ride position wanted, nil for the one that shares the
	// stroke in the ratio of the wanted travels.
	Prefer *Ratio

	// Codes, where any, are the only dampers to judge.
	Codes []string
	// Top is how many fits are listed, 1 to MostListed.
	Top int
	// NearMisses is how many near misses are listed, 0 to MostListed; nil for as
	// many as the fits fall short of Top.
	NearMisses *int
	// Dampers is how many the pick list is for.
	Dampers int
	// Working says that hardware is told with its arithmetic.
	Working bool
	// Explain counts every damper of the catalogue.
	Explain bool

	// BumpStop and Strap, where given, are judged for each fit by the linkage or
	// the motion ratio; a bump stop on the damper's rod needs neither. Their figures
	// are at the ride height wanted, after a planned change.
	BumpStop *BumpStop
	Strap    *Strap

	// DroopLimit is what ends droop in the vehicle, nil where none was given.
	DroopLimit *DroopLimit

	// Obstacles are near the damper, with a linkage.
	Obstacles []linkage.Obstacle

	// Corner is what the dampers work on, nil where their damping isn't judged. It
	// takes its damper's ratio from the request where it has none. Targets are what
	// is wanted of the damping, nil for what is usual.
	Corner  *ride.Corner
	Targets *damping.Targets
}

// The bounds and defaults of a request.
const (
	DefaultTop     = 10
	MostListed     = 50
	DefaultDampers = 2 // the pair on an axle
)

// Suspension is how the wheels of an axle hang together.
type Suspension uint8

// The suspensions; the zero value was not given.
const (
	SolidAxle Suspension = iota + 1
	Independent
)

// Suspensions names the suspensions in requests.
var Suspensions = enum.Names[Suspension]{"", SolidAxle: "solid_axle", Independent: "independent"}

// String gives the suspension's name in requests.
func (s Suspension) String() string { return Suspensions[s] }

// Basis is what the needed travel is computed from.
type Basis uint8

// The bases.
const (
	ByRule Basis = iota
	Stated
	ByWheel
	Measured
	ByLinkage
	ByRoad
)

// Bases names the bases in requests.
var Bases = enum.Names[Basis]{ByRule: "rule", Stated: "stated", ByWheel: "wheel", Measured: "measured", ByLinkage: "linkage", ByRoad: "road"}

// String gives the basis's name in requests.
func (b Basis) String() string { return Bases[b] }

// Heights is a range of ride heights at the wheel, from the ride height wanted:
// the vehicle is driven anywhere from Below to Above it. Neither is negative.
type Heights struct{ Below, Above unit.Length }

// Travel is how much travel is needed each way.
type Travel struct {
	Basis Basis
	// Compression and Extension at the damper, of basis Stated.
	Compression, Extension unit.Length
	// GivenUp is by how much less than was first needed that is, of basis Stated.
	// Nothing is computed from it: it says that stops are still to be set.
	GivenUp Both
	// Bump and Droop at the wheel, of basis ByWheel and ByLinkage, to stops that
	// are fixed in the vehicle.
	Bump, Droop unit.Length
	// AtBump and AtDroop are the lengths taped at full bump and full droop to
	// the same planes as the readings, of basis Measured.
	AtBump, AtDroop unit.Length
	// Reserve is wanted beyond what is computed; DefaultReserve unless given.
	Reserve unit.Length
	// Road is of basis ByRoad. Its corner is left out where the request has one.
	Road *ride.Road
}

// DefaultReserve is wanted beyond a computed travel: common practice, no
// source.
const DefaultReserve = 10 * unit.Millimetre

// Limits rule dampers out. The zero value rules out only dampers that carry load.
type Limits struct {
	MaxBodyDiameter unit.Length // 0: any
	MaxCompressed   unit.Length // 0: any
	Construction    catalog.Construction
	Adjusters       catalog.Adjusters // all of these
	InStock         bool              // the damper and all of its hardware
	InStockAt       string            // the location where all of it must be, "" for anywhere
	MaxPrice        mount.Price       // NoPrice or 0 with HasMaxPrice false: any
	HasMaxPrice     bool
	Mounting        Mounting
	NoAdapters      bool
	// LoadCarrying admits dampers that carry load, which are those that adjust the
	// ride height. A damper's bracket isn't made for load. Adjusters that name the
	// ride height admit them as well.
	LoadCarrying bool
	// Damping are the verdicts that are admitted, none for all.
	Damping Verdicts
}

// carriesLoad says whether a damper with those adjusters carries load.
func carriesLoad(a catalog.Adjusters) bool { return a.Has(catalog.RideHeight) }

// admitsLoad says whether dampers that carry load are admitted.
func (l *Limits) admitsLoad() bool { return l.LoadCarrying || carriesLoad(l.Adjusters) }

// Mounting is which way up a damper may go.
type Mounting uint8

// The mountings.
const (
	AnyWayUp Mounting = iota
	AsListed
	Inverted
)

// Mountings names the mountings in requests.
var Mountings = enum.Names[Mounting]{AnyWayUp: "any", AsListed: "as_listed", Inverted: "inverted"}

// BumpStop is the bump stop of the suspension.
type BumpStop struct {
	linkage.BumpStop
	// Reserve is what it must leave of the damper's own travel when solid. The
	// caller puts DefaultStopReserve where none was asked for.
	Reserve unit.Length
	// OnRod says that it rides on the damper's rod. Of the other fields only Height
	// and Squash count then.
	OnRod bool
}

// Strap is a limit strap whose length is wanted.
type Strap struct {
	linkage.Strap
	// Reserve is what it must leave of the damper's own travel when tight, as
	// for a bump stop.
	Reserve unit.Length
}

// Ratio is an exact fraction, Den > 0.
type Ratio struct{ Num, Den int64 }

// Float gives r as a number.
func (r Ratio) Float() float64 { return float64(r.Num) / float64(r.Den) }
