package catalog

// Traits are what is either so or not so of a damper, packed so that the sets
// of them below a node of the index fit in two words.
type Traits uint8

const (
	traitMonotube Traits = 1 << iota
	traitGas
	traitCompression // the three adjusters, in their own order
	traitRebound
	traitRideHeight
	traitInStock
	traitInvertible
)

// traitKinds is how many different Traits there are.
const traitKinds = 1 << 7

// Traits packs what is so of the damper.
func (d *Damper) Traits() Traits {
	t := Traits(d.Adjusters) * traitCompression
	if d.Construction == Monotube {
		t |= traitMonotube
	}
	if d.Gas {
		t |= traitGas
	}
	if d.InStock {
		t |= traitInStock
	}
	if d.Invertible {
		t |= traitInvertible
	}
	return t
}

// Construction is how the damper is built.
func (t Traits) Construction() Construction {
	if t&traitMonotube != 0 {
		return Monotube
	}
	return TwinTube
}

// Gas says that it is charged with gas.
func (t Traits) Gas() bool { return t&traitGas != 0 }

// Adjusters is what can be adjusted.
func (t Traits) Adjusters() Adjusters {
	return Adjusters(t / traitCompression & (1<<len(adjusterNames) - 1))
}

// InStock says that it is in stock.
func (t Traits) InStock() bool { return t&traitInStock != 0 }

// Invertible says that it may also be mounted the other way up.
func (t Traits) Invertible() bool { return t&traitInvertible != 0 }

// TraitSet is a set of Traits.
type TraitSet [traitKinds / 64]uint64

// SetOfTraits gives the traits for which in holds.
func SetOfTraits(in func(Traits) bool) TraitSet {
	var s TraitSet
	for t := range Traits(traitKinds) {
		if in(t) {
			s.Add(t)
		}
	}
	return s
}

// Add puts t in the set.
func (s *TraitSet) Add(t Traits) { s[t/64] |= 1 << (t % 64) }

// With gives the set of what is in either.
func (s TraitSet) With(o *TraitSet) TraitSet { return TraitSet{s[0] | o[0], s[1] | o[1]} }

// Has says whether t is in the set.
func (s *TraitSet) Has(t Traits) bool { return s[t/64]&(1<<(t%64)) != 0 }

// Meets says whether the two sets have any member in common.
func (s *TraitSet) Meets(o *TraitSet) bool { return s[0]&o[0]|s[1]&o[1] != 0 }
