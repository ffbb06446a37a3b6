package damping

import (
	"math"

	"midstroke/internal/enum"
	"midstroke/internal/fault"
	"midstroke/internal/note"
	"midstroke/internal/ride"
	"midstroke/internal/unit"
)

// Ends is how the ends of a coil spring are made.
type Ends uint8

// The ends.
const (
	Plain Ends = iota + 1
	PlainGround
	Squared
	SquaredGround
)

// SpringEnds names the ends in requests and answers.
var SpringEnds = enum.Names[Ends]{"", Plain: "plain", PlainGround: "plain_ground", Squared: "squared", SquaredGround: "squared_ground"}

// String gives "plain", "plain_ground", "squared", "squared_ground" or "".
func (e Ends) String() string { return SpringEnds[e] }

// dead are the turns that don't work, and solid the turns more than the total ones
// that the solid length has (Shigley, 10th ed., table 10-1).
var dead, solid = [...]float64{Plain: 0, PlainGround: 1, Squared: 2, SquaredGround: 2},
	[...]float64{Plain: 1, PlainGround: 0, Squared: 1, SquaredGround: 0}

// Spring is a helical compression spring of round wire and its seats. What isn't
// known is 0.
type Spring struct {
	// Wire is the diameter of the wire and Mean that of the coil to the middle of
	// the wire, mm. Turns are all turns. Where they aren't known, Rate and Solid are
	// given in their place, N/mm and mm.
	Wire, Mean, Turns float64
	Ends              Ends
	Rate, Solid       float64
	Free              float64 // length without load, mm
	// ShearModulus is in GPa, 0 for spring steel. ShearYield is the shear stress at
	// which the wire sets, MPa.
	ShearModulus, ShearYield float64
	// RateTolerance is how far the rate may be off, as a part of it.
	RateTolerance float64
	// Fixity is the factor of the free length for buckling: 0.5 between flat
	// parallel seats, 0.7 with one end pivoted, 1 with both, 2 with one free.
	Fixity float64
	// SeatsAtRide is the distance between the seats at ride height, unladen, mm.
	SeatsAtRide float64
	// Bump and Droop are the wheel's travel from ride height to its stops, mm.
	Bump, Droop float64
}

const (
	// steelShear is the shear modulus of spring steel, GPa (EN 13906-1 gives 81.5
	// for patented wire, Shigley 77 to 82; from memory).
	steelShear = 79.3
	// steelYoung is the modulus of elasticity that goes with it, GPa.
	steelYoung = 206
	// usualRateTolerance is common practice, no source.
	usualRateTolerance = 0.05
	flatSeats          = 0.5
)

// The limits of springs are our choice.
const (
	MostWire   = 100    // mm
	MostLength = 10_000 // mm
	MostTurns  = 200
)

// Faults tells what cannot be. Its pointers are names of the spring's fields.
func (s *Spring) Faults() fault.List {
	var faults fault.List
	if s.Wire != 0 || s.Mean != 0 || s.Turns != 0 {
		s.wireFaults(&faults)
	} else if !(s.Rate > 0 && s.Rate <= ride.MostRate) {
		faults.Add("/rate_n_mm", coilMissing, note.Num("most", ride.MostRate, "N/mm"))
	}
	for _, f := range []struct {
		pointer string
		v       float64
		most    float64
		unit    string
	}{
		{"/solid_length", s.Solid, MostLength, "mm"}, {"/free_length", s.Free, MostLength, "mm"},
		{"/shear_modulus_gpa", s.ShearModulus, 300, "GPa"}, {"/shear_yield_mpa", s.ShearYield, 5000, "MPa"},
		{"/rate_tolerance", s.RateTolerance, 0.5, ""}, {"/fixity", s.Fixity, 2, ""},
		{"/seats_at_ride", s.SeatsAtRide, MostLength, "mm"},
		{"/bump", s.Bump, MostLength, "mm"}, {"/droop", s.Droop, MostLength, "mm"},
	} {
		optional(&faults, f.pointer, f.v, 0, f.most, springOutOfRange, f.unit)
	}
	if len(faults) == 0 && s.Free > 0 && s.solid() >= s.Free {
		faults.Add("/free_length", freeBelowSolid, note.Size("free", unit.FromMm(s.Free)), note.Size("solid", unit.FromMm(s.solid())))
	}
	return faults
}

func (s *Spring) wireFaults(faults *fault.List) {
	const leastIndex = 2 // a coil can't be wound closer
	before := len(*faults)
	within := func(pointer string, v, most float64, unitName string) {
		switch {
		case v == 0:
			faults.Add(pointer, coilFigureMissing)
		case !(v > 0 && v <= most):
			faults.Add(pointer, springOutOfRange, limit("least", 0, unitName), limit("most", most, unitName))
		}
	}
	within("/wire", s.Wire, MostWire, "mm")
	within("/mean_diameter", s.Mean, MostLength, "mm")
	within("/turns", s.Turns, MostTurns, "")
	if s.Ends == 0 {
		faults.Add("/ends", endsMissing)
	}
	if s.Rate != 0 {
		faults.Add("/rate_n_mm", rateTwice)
	}
	if len(*faults) > before {
		return
	}
	if s.Mean < leastIndex*s.Wire {
		faults.Add("/mean_diameter", coilTooTight, note.Size("mean", unit.FromMm(s.Mean)), note.Size("wire", unit.FromMm(s.Wire)))
	}
	if s.active() <= 0 {
		faults.Add("/turns", turnsTooFew, note.Num("turns", s.Turns, ""), note.Num("dead", dead[s.Ends], ""))
	}
}

func (s *Spring) active() float64 { return s.Turns - dead[s.Ends] }

// solid is the length with all turns touching, mm, 0 where it isn't known:
// d N_t with ground ends, else d (N_t + 1) (Shigley, 10th ed., table 10-1).
func (s *Spring) solid() float64 {
	if s.Solid > 0 || s.Wire == 0 {
		return s.Solid
	}
	return s.Wire * (s.Turns + solid[s.Ends])
}

// rate is the spring's rate in N/mm: G d⁴/(8 D³ N_a), for G in MPa and lengths in
// mm (Shigley, 10th ed., eq. 10-9; the same in EN 13906-1).
func (s *Spring) rate() float64 {
	if s.Wire == 0 {
		return s.Rate
	}
	return s.shear() * 1000 * math.Pow(s.Wire, 4) / (8 * math.Pow(s.Mean, 3) * s.active())
}

func (s *Spring) shear() float64 {
	if s.ShearModulus > 0 {
		return s.ShearModulus
	}
	return steelShear
}

// index is D/d.
func (s *Spring) index() float64 { return s.Mean / s.Wire }

// stress is the shear stress at the inside of the coil under a force in N, MPa:
// K_B 8 F D/(π d³), with Bergsträsser's factor K_B = (4C + 2)/(4C - 3) for
// curvature and direct shear (Shigley, 10th ed., eq. 10-5 and 10-7; EN 13906-1 has
// the same factor as (w + 0.5)/(w - 0.75)). It is 0 where the wire isn't known.
func (s *Spring) stress(force float64) float64 {
	if s.Wire == 0 {
		return 0
	}
	c := s.index()
	return (4*c + 2) / (4*c - 3) * 8 * force * s.Mean / (math.Pi * math.Pow(s.Wire, 3))
}

// buckles is the deflection in mm at which the spring leaves its axis, and false
// where it never does:
//
//	y = L0 C1 [1 - √(1 - C2/λ²)]
//
// with λ = α L0/D, α for the seats,
// C1 = E/(2(E-G)) and C2 = 2π²(E-G)/(2G+E) (10th ed., eq. 10-10; EN 13906-1's
// formula is the same one).
func (s *Spring) buckles() (deflection float64, ok bool) {
	if s.Mean == 0 || s.Free == 0 {
		return 0, false
	}
	fixity := s.Fixity
	if fixity == 0 {
		fixity = flatSeats
	}
	g := s.shear()
	slenderness := fixity * s.Free / s.Mean
	c1 := steelYoung / (2 * (steelYoung - g))
	c2 := 2 * math.Pi * math.Pi * (steelYoung - g) / (2*g + steelYoung)
	if under := 1 - c2/(slenderness*slenderness); under > 0 {
		return s.Free * c1 * (1 - math.Sqrt(under)), true
	}
	return 0, false
}
