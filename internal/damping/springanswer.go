package damping

import (
	"math"

	"midstroke/internal/note"
	"midstroke/internal/ride"
	"midstroke/internal/unit"
)

// SpringAnswer judges a spring on a corner that stands at ride height, unladen,
// as its seats are set for that. Lengths are in mm, rates in N/mm, stresses in
// MPa. What can't be told is 0.
type SpringAnswer struct {
	Rate, RateLow, RateHigh float64
	Active, Index           float64
	Free, Solid             float64
	Loads                   []SpringLoad
	// AtBump and AtDroop are the spring at the ends of the wheel's travel.
	// AtDroop's force is the preload; a negative deflection is how far the spring
	// is loose.
	AtBump, AtDroop *SpringLoad
	StressSolid     float64
	// Buckles says that the spring leaves its axis when it is compressed by
	// BucklesAt.
	Buckles   bool
	BucklesAt float64
	// WantedFree is the free length at which the spring carries the body on the
	// given seats, and SeatsCloser how much closer the seats would have to be for
	// this one.
	WantedFree, SeatsCloser float64
	Cautions                []note.Note
}

// SpringLoad is a spring under a force.
type SpringLoad struct {
	Load               ride.Load
	Force              float64 // N
	Deflection, Length float64 // from the free length; Length is 0 where that isn't known
	// ToBind is what is left until the coils touch, and ToBindAtWheel the wheel's
	// travel up for that, with what the spring is loose by. It is 0 where the coils
	// never touch, since the ratio falls to nothing before or the linkage ends.
	ToBind, ToBindAtWheel float64
	Stress                float64
}

// judge works out a spring on a corner with its states.
func (s *Spring) judge(c *ride.Corner, states []ride.State, loads []LoadAnswer) SpringAnswer {
	k, motion := s.rate(), c.SpringMotion()
	tolerance := s.RateTolerance
	if tolerance == 0 {
		tolerance = usualRateTolerance
	}
	a := SpringAnswer{
		Rate: k, RateLow: k * (1 - tolerance), RateHigh: k * (1 + tolerance),
		Free: s.Free, Solid: s.solid(),
	}
	if s.Wire > 0 {
		a.Active, a.Index = s.active(), s.index()
	}
	atRide := states[0].SpringForce
	for i := range states {
		// The spring carries more because the wheel moved up; its own rate says how far.
		a.Loads = append(a.Loads, s.under(states[i].Load, states[i].SprungKg*ride.Gravity/states[i].SpringRatio, &motion, states[i].Sink))
	}
	a.AtBump = s.at(&motion, atRide, s.Bump/perMetre)
	a.AtDroop = s.at(&motion, atRide, -s.Droop/perMetre)
	if s.Free > 0 && a.Solid > 0 {
		a.StressSolid = s.stress(k * (s.Free - a.Solid))
	}
	a.BucklesAt, a.Buckles = s.buckles()
	if a.Buckles && a.Solid > 0 && a.BucklesAt >= s.Free-a.Solid {
		a.Buckles, a.BucklesAt = false, 0 // the coils touch before
	}
	if s.SeatsAtRide > 0 {
		a.WantedFree = s.SeatsAtRide + atRide/k
		if s.Free > 0 {
			a.SeatsCloser = a.WantedFree - s.Free
		}
	}
	a.Cautions = s.cautions(&a, loads, s.at(&motion, atRide, motion.MostShortened(s.Bump/perMetre)))
	return a
}

const perMetre = 1000

// at is the spring with the wheel at a travel up from ride height, m; nil where that is 0
// or can't be reached.
func (s *Spring) at(m *ride.Motion, atRide, travel float64) *SpringLoad {
	moved, ok := m.At(travel)
	if travel == 0 || !ok {
		return nil
	}
	u := s.under(ride.Unladen, atRide+s.rate()*perMetre*moved.Shorter, m, travel)
	return &u
}

// under is the spring under a force, with the wheel at a travel up from ride height, m.
func (s *Spring) under(load ride.Load, force float64, m *ride.Motion, travel float64) SpringLoad {
	u := SpringLoad{Load: load, Force: max(0, force), Deflection: force / s.rate(), Stress: s.stress(max(0, force))}
	if s.Free > 0 {
		u.Length = s.Free - max(0, u.Deflection)
		if solid := s.solid(); solid > 0 {
			u.ToBind = u.Length - solid
			wheel, _ := m.WheelFor((u.ToBind-min(0, u.Deflection))/perMetre, travel)
			u.ToBindAtWheel = wheel * perMetre
		}
	}
	return u
}

// A spring should keep a reserve of this part of its greatest deflection before
// its coils touch (Shigley, 10th ed., eq. 10-17, from memory), and its index
// should be in these limits (the same, eq. 10-18).
const (
	bindReserve = 0.15
	leastIndex  = 4
	mostIndex   = 12
	// rateDiffers is by how much a coil's rate may differ from the corner's before
	// that is told (our choice).
	rateDiffers = 0.1
)

// cautions are those of a spring that bump presses to most, nil without bump.
func (s *Spring) cautions(a *SpringAnswer, loads []LoadAnswer, most *SpringLoad) []note.Note {
	var list []note.Note
	say := func(code note.Code, values ...note.Value) { list = append(list, note.New(code, values...)) }
	if own := loads[0].SpringRate / 1000; math.Abs(a.Rate-own) > rateDiffers*own {
		say("spring_rates_differ", num("coil", a.Rate, "N/mm"), num("corner", own, "N/mm"))
	}
	if b := most; b != nil && s.Free > 0 && a.Solid > 0 {
		need := bindReserve * b.Deflection
		switch {
		case b.ToBind < 0:
			say("spring_binds", note.AtLeast("short", unit.FromMm(-b.ToBind)), note.Len("bump", unit.FromMm(s.Bump)),
				note.AtMost("possible", unit.FromMm(max(0, a.Loads[0].ToBindAtWheel))), note.AtLeast("free", unit.FromMm(s.Free-b.ToBind+need)))
		case b.ToBind < need:
			say("spring_near_bind", note.AtMost("left", unit.FromMm(b.ToBind)), note.AtLeast("wanted", unit.FromMm(need)))
		}
	}
	if d := a.AtDroop; d != nil && d.Deflection < 0 {
		say("spring_loose", note.AtLeast("loose", unit.FromMm(-d.Deflection)), note.Len("droop", unit.FromMm(s.Droop)))
	}
	if s.ShearYield > 0 && a.StressSolid > s.ShearYield {
		say("spring_sets", num("stress", a.StressSolid, "MPa"), num("yield", s.ShearYield, "MPa"))
	}
	if b := most; a.Buckles && b != nil && b.Deflection >= a.BucklesAt {
		say("spring_buckles", note.AtMost("at", unit.FromMm(a.BucklesAt)), note.AtLeast("bump", unit.FromMm(b.Deflection)))
	}
	if a.Index != 0 && (a.Index < leastIndex || a.Index > mostIndex) {
		say("spring_index", num("index", a.Index, ""), num("least", leastIndex, ""), num("most", mostIndex, ""))
	}
	return list
}
