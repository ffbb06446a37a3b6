package wire

import (
	"midstroke/internal/damping"
	"midstroke/internal/unit"
)

// quantity is a kind of figure. The name of its member ends in the unit. Where
// lengths are in inches, a second member tells the same figure in the unit that goes
// with them.
type quantity struct {
	unit string  // as unit.System.Figure knows it
	si   float64 // what one of it is in SI units, 1 for km/h as the core has them
	told told
	// besideInches is how it is told where lengths are in inches.
	besideInches told
}

// told is how a figure is told: the end of its member's name, and to how many
// decimals.
type told struct {
	suffix   string
	decimals int
}

// The quantities of spring and damping.
var (
	aMass     = quantity{"kg", 1, told{"_kg", ofMass}, told{"_lb", ofMass}}
	aForce    = quantity{"N", 1, told{"_n", ofNewtons}, told{"_lbf", 3}}
	aRate     = quantity{"N/mm", 1000, told{"_n_mm", ofRate}, told{"_lbf_in", ofRate}}
	aDamping  = quantity{"N·s/m", 1, told{"_ns_m", ofDamping}, told{"_lbf_s_in", 6}}
	aVelocity = quantity{"m/s", 1, told{"_m_s", ofVelocity}, told{"_in_s", 4}}
	aSpeed    = quantity{"km/h", 1, told{"_kmh", decimals}, told{"_mph", 4}}
	aStress   = quantity{"MPa", 1e6, told{"_mpa", ofStress}, told{"_psi", 0}}
)

// both makes the members of a quantity: make gives one, by its name, its decimals and
// by what a figure in SI units is multiplied for it.
func both[T any](name string, q quantity, make func(name string, decimals int, factor float64) member[T]) member[T] {
	inches, _ := unit.Inches.Figure(1/q.si, q.unit)
	return allOf(members[T]{
		make(name+q.told.suffix, q.told.decimals, 1/q.si),
		besideInches(make(name+q.besideInches.suffix, q.besideInches.decimals, inches)),
	}, itself)
}

// aFigure is a quantity by its name without the unit. get gives it in SI units.
//
//go:noinline
func aFigure[T any](name string, q quantity, get func(*T) float64) member[T] {
	return both(name, q, func(name string, decimals int, factor float64) member[T] {
		return aNumber(name, decimals, func(v *T) float64 { return get(v) * factor })
	})
}

//go:noinline
func aFigureOrNull[T any](name string, q quantity, get func(*T) float64) member[T] {
	return both(name, q, func(name string, decimals int, factor float64) member[T] {
		return aNumberOrNull(name, decimals, func(v *T) float64 { return get(v) * factor })
	})
}

// aRange is a wanted figure with the least and the most that are good.
//
//go:noinline
func aRange[T any](name string, q quantity, get func(*T) *damping.Range) member[T] {
	return both(name, q, func(name string, decimals int, factor float64) member[T] {
		return anObject(name, rangeMembers(decimals, factor), get)
	})
}

// aRangeOrNull is a range in which a figure of 0 stands for one that can't be had: null,
// as all is where none can.
//
//go:noinline
func aRangeOrNull[T any](name string, q quantity, get func(*T) *damping.Range) member[T] {
	return both(name, q, func(name string, decimals int, factor float64) member[T] {
		return anObjectOrNull(name, members[damping.Range]{
			aNumberOrNull("low", decimals, func(r *damping.Range) float64 { return r.Low * factor }),
			aNumberOrNull("wanted", decimals, func(r *damping.Range) float64 { return r.Wanted * factor }),
			aNumberOrNull("high", decimals, func(r *damping.Range) float64 { return r.High * factor }),
		}, func(v *T) *damping.Range {
			if r := get(v); *r != (damping.Range{}) {
				return r
			}
			return nil
		})
	})
}

func rangeMembers(decimals int, factor float64) members[damping.Range] {
	return members[damping.Range]{
		aNumber("low", decimals, func(r *damping.Range) float64 { return r.Low * factor }),
		aNumber("wanted", decimals, func(r *damping.Range) float64 { return r.Wanted * factor }),
		aNumber("high", decimals, func(r *damping.Range) float64 { return r.High * factor }),
	}
}
