package fit

import (
	"cmp"
	"math"
	"math/bits"

	"midstroke/internal/mount"
	"midstroke/internal/unit"
)

// rank is a fit's place in the contract's order, the most significant field first.
// Lower bounds of each field make a lower bound of the whole.
type rank struct {
	grade    Grade
	adapters uint8
	damping  uint8 // 0 in the wanted range or not asked, 1 not known, 2 outside
	step     int32 // of nearness to the preferred ride position, 0.05 each
	parts    int32
	stroke   unit.Length
	price    mount.Price // OrDearest
	inverted uint8
	damper   int32 // place in the list by code
	// Of one damper's arrangements that are equal so far: the hardware's cost, and
	// the place of its adapters by code.
	cost  hardwareCost
	place int64
}

func (a *rank) compare(b *rank) int {
	switch {
	case a.grade != b.grade:
		return cmp.Compare(a.grade, b.grade)
	case a.adapters != b.adapters:
		return cmp.Compare(a.adapters, b.adapters)
	case a.damping != b.damping:
		return cmp.Compare(a.damping, b.damping)
	case a.step != b.step:
		return cmp.Compare(a.step, b.step)
	case a.parts != b.parts:
		return cmp.Compare(a.parts, b.parts)
	case a.stroke != b.stroke:
		return cmp.Compare(a.stroke, b.stroke)
	case a.price != b.price:
		return cmp.Compare(a.price, b.price)
	case a.inverted != b.inverted:
		return cmp.Compare(a.inverted, b.inverted)
	}
	return cmp.Or(cmp.Compare(a.damper, b.damper), a.cost.compare(b.cost), cmp.Compare(a.place, b.place))
}

// key is a rank, or a bound of ranks, packed so that two are compared at once. A
// rank that comes before another never has the greater key. Where a field has no room,
// all ranks with so large a one have the same key.
type key struct{ first, second uint64 }

func (k key) less(o key) bool {
	return k.first < o.first || k.first == o.first && k.second < o.second
}

// Bits of the fields in a key, as far as they are not whole words.
const (
	stepBits, partBits, strokeBits = 5, 6, 47
	priceBits, damperBits          = 32, 31
)

func (a *rank) key() key {
	const mostParts, mostStroke, noPrice = 1<<partBits - 1, 1<<strokeBits - 1, 1<<priceBits - 1
	first := ((uint64(a.grade)<<2|uint64(a.adapters))<<2|uint64(a.damping))<<stepBits | uint64(a.step)
	if a.parts >= mostParts {
		return key{(first<<partBits | mostParts) << strokeBits, 0}
	}
	first = first<<partBits | uint64(a.parts)
	if a.stroke >= mostStroke {
		return key{first<<strokeBits | mostStroke, 0}
	}
	first = first<<strokeBits | uint64(max(0, a.stroke))
	price := uint64(noPrice)
	if a.price != mount.NoPrice.OrDearest() {
		if price = uint64(a.price); price >= noPrice-1 {
			return key{first, (noPrice - 1) << (1 + damperBits)}
		}
	}
	return key{first, (price<<1|uint64(a.inverted))<<damperBits | uint64(a.damper)}
}

// stepsPerWhole is how many steps of nearness there are in a whole stroke: 20
// of 0.05.
const stepsPerWhole = 20

// nearness gives the step of |travel/stroke − prefer|: 0 up to and including
// 0.05, 1 up to and including 0.10 and so on. The arithmetic is exact: a
// difference on a boundary belongs to the nearer step. 0 ≤ travel ≤ stroke,
// 0 < stroke.
func nearness(travel, stroke unit.Length, prefer Ratio) int32 {
	approx := math.Abs(float64(travel)/float64(stroke)-prefer.Float()) * stepsPerWhole
	if whole := math.Round(approx); math.Abs(approx-whole) > 1e-6 {
		return int32(math.Ceil(approx)) - 1
	}
	return nearnessExact(travel, stroke, prefer)
}

// nearnessExact is nearness by 128-bit integers: 20·|t·d − n·s| against whole
// multiples of s·d, for the prefer n/d. Both products stay under 2^68.
func nearnessExact(travel, stroke unit.Length, prefer Ratio) int32 {
	aHi, aLo := bits.Mul64(uint64(travel), uint64(prefer.Den))
	bHi, bLo := bits.Mul64(uint64(prefer.Num), uint64(stroke))
	if aHi < bHi || aHi == bHi && aLo < bLo {
		aHi, aLo, bHi, bLo = bHi, bLo, aHi, aLo
	}
	lo, borrow := bits.Sub64(aLo, bLo, 0)
	hi, _ := bits.Sub64(aHi, bHi, borrow)
	carry, lo := bits.Mul64(lo, stepsPerWhole)
	hi = hi*stepsPerWhole + carry
	dHi, dLo := bits.Mul64(uint64(stroke), uint64(prefer.Den))
	// The quotient is at most 20, so subtracting is as fast as dividing.
	steps := int32(0)
	for hi > dHi || hi == dHi && lo > dLo {
		lo, borrow = bits.Sub64(lo, dLo, 0)
		hi, _ = bits.Sub64(hi, dHi, borrow)
		steps++
	}
	return steps
}
