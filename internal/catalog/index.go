package catalog

import (
	"math/bits"

	"midstroke/internal/mount"
	"midstroke/internal/unit"
)

// Index finds dampers by compressed and extended length without looking at
// them all. The dampers whose two ends have the same styles stand in one Tree
// over the plane of the two lengths. Each node of it knows the bounds of what lies
// below, and which ends the dampers there have. A search walks the trees best bound
// first.
type Index struct {
	ends   []mount.End
	bits   []uint8 // of each end in an EndSet
	shared map[mount.Style]*[endBits][]int32
	forces *forceTables
	trees  []Tree
	places []place // by the damper's place in the list by code
}

// place is where a damper stands.
type place struct{ tree, point int32 }

// Tree is the dampers of the same two end styles.
type Tree struct {
	UpperStyle, LowerStyle mount.Style

	points []Point
	nodes  []node
}

// Point is one damper in its tree.
type Point struct {
	Compressed, Extended unit.Length
	Tolerance            unit.Length
	Body                 unit.Length
	Price                mount.Price
	// Damper is the damper's place in the list by code.
	Damper int32
	// Upper and Lower number the ends in Index.End.
	Upper, Lower int32
	Traits       Traits
	// valving is one more than the number of the damper's valving, 0 for none, or
	// farValving.
	valving uint16
}

// Stroke is the length between the damper's two limits.
func (p *Point) Stroke() unit.Length { return p.Extended - p.Compressed }

// EndSet is a set of ends of one style. Each end has a bit, which ends share where
// a style has more than 64: such a set may hold more than was put in, never less.
type EndSet uint64

const endBits = 64

// Box bounds the dampers below a node of a tree.
type Box struct {
	CompressedLeast, CompressedMost unit.Length
	ExtendedLeast, ExtendedMost     unit.Length
	StrokeLeast                     unit.Length
	ToleranceLeast                  unit.Length
	BodyLeast                       unit.Length
	// PriceLeast counts a damper without a price as the dearest.
	PriceLeast mount.Price
	// Traits are all that any of the dampers has.
	Traits TraitSet
	// UpperEnds and LowerEnds are the ends that any of them has.
	UpperEnds, LowerEnds EndSet
	// Forces are the force tables that any of them has.
	Forces ForceSet
	// DamperLeast is the least place in the list by code.
	DamperLeast int32
}

// node is a box, the run of points it bounds and, unless it is a leaf, the
// place of its upper child; the lower child follows the node itself.
type node struct {
	Box
	from, to int32
	upper    int32 // 0 for a leaf
}

// leafSize is how many points a leaf holds: the few that are cheaper to look
// at than to bound.
const leafSize = 32

// Trees lists every tree in a fixed order.
func (x *Index) Trees() []Tree { return x.trees }

// End gives an end by its number.
func (x *Index) End(number int32) *mount.End { return &x.ends[number] }

// Ends is how many different ends there are.
func (x *Index) Ends() int { return len(x.ends) }

// Set gives the set of an end alone.
func (x *Index) Set(end int32) EndSet { return 1 << x.bits[end] }

// Sharing lists the ends of a style whose set is the one given, of a single bit.
func (x *Index) Sharing(style mount.Style, set EndSet) []int32 {
	if shared := x.shared[style]; shared != nil {
		return shared[bits.TrailingZeros64(uint64(set))%endBits]
	}
	return nil
}

// Find gives a damper's tree and point by its place in the list by code.
func (x *Index) Find(damper int32) (*Tree, *Point) {
	at := x.places[damper]
	t := &x.trees[at.tree]
	return t, &t.points[at.point]
}

// Points lists the tree's dampers in no order that means anything.
func (t *Tree) Points() []Point { return t.points }

// Root is the number of a tree's topmost node.
const Root = 0

// Box bounds the points below a node.
func (t *Tree) Box(number int32) *Box { return &t.nodes[number].Box }

// Below gives a node's two children or, for a leaf, its points.
func (t *Tree) Below(number int32) (lower, upper int32, leaf []Point) {
	n := &t.nodes[number]
	if n.upper == 0 {
		return 0, 0, t.points[n.from:n.to]
	}
	return number + 1, n.upper, nil
}

// newIndex makes the index of dampers, which are sorted by code, with their force
// tables.
func newIndex(dampers []Damper, forces *forceTables) *Index {
	x := &Index{forces: forces, shared: map[mount.Style]*[endBits][]int32{}}
	x.addPoints(dampers)
	x.places = make([]place, len(dampers))
	for n := range x.trees {
		t := &x.trees[n]
		t.nodes = make([]node, 0, 4*(len(t.points)/leafSize+1))
		x.addNodes(t, 0, int32(len(t.points)))
		for i := range t.points {
			x.places[t.points[i].Damper] = place{int32(n), int32(i)}
		}
	}
	return x
}

// addPoints numbers the ends and gives each tree its points.
func (x *Index) addPoints(dampers []Damper) {
	numbers := map[mount.End]int32{}
	numberOf := func(e *mount.End) int32 {
		n, ok := numbers[*e]
		if !ok {
			n = x.add(e)
			numbers[*e] = n
		}
		return n
	}
	type styles struct{ upper, lower mount.Style }
	sizes := map[styles]int{}
	for i := range dampers {
		sizes[styles{dampers[i].Upper.Style, dampers[i].Lower.Style}]++
	}
	treeOf := map[styles]int{}
	for i := range dampers {
		d := &dampers[i]
		pair := styles{d.Upper.Style, d.Lower.Style}
		n, ok := treeOf[pair]
		if !ok {
			n = len(x.trees)
			treeOf[pair] = n
			x.trees = append(x.trees, Tree{UpperStyle: pair.upper, LowerStyle: pair.lower, points: make([]Point, 0, sizes[pair])})
		}
		t := &x.trees[n]
		t.points = append(t.points, Point{
			Compressed: d.Compressed, Extended: d.Extended, Tolerance: d.LengthTolerance,
			Body: d.BodyDiameter, Price: d.Price, Damper: int32(i), Upper: numberOf(&d.Upper), Lower: numberOf(&d.Lower), Traits: d.Traits(), valving: x.forces.near(int32(i)),
		})
	}
}

// add gives an end its number and its bit.
func (x *Index) add(e *mount.End) int32 {
	number := int32(len(x.ends))
	shared := x.shared[e.Style]
	if shared == nil {
		shared = new([endBits][]int32)
		x.shared[e.Style] = shared
	}
	bit := uint8(0) // the first of those that the fewest ends have
	for b := range shared {
		if len(shared[b]) < len(shared[bit]) {
			bit = uint8(b)
		}
	}
	shared[bit] = append(shared[bit], number)
	x.ends, x.bits = append(x.ends, *e), append(x.bits, bit)
	return number
}

// addNodes appends the nodes over a tree's points[from:to] and gives the top's number.
// It splits at the median along the wider side, so that boxes stay near square.
func (x *Index) addNodes(t *Tree, from, to int32) int32 {
	number := int32(len(t.nodes))
	t.nodes = append(t.nodes, node{from: from, to: to})
	if to-from <= leafSize {
		t.nodes[number].Box = x.bound(t.points[from:to])
		return number
	}
	run := t.points[from:to]
	if wider(run) {
		halve(run, func(p *Point) unit.Length { return p.Compressed })
	} else {
		halve(run, func(p *Point) unit.Length { return p.Extended })
	}
	middle := from + (to-from)/2
	lower := x.addNodes(t, from, middle)
	upper := x.addNodes(t, middle, to)
	t.nodes[number].upper = upper
	t.nodes[number].Box = t.nodes[lower].with(&t.nodes[upper].Box)
	return number
}

// wider says whether compressed lengths spread at least as far as extended ones.
func wider(points []Point) bool {
	cLeast, cMost := points[0].Compressed, points[0].Compressed
	eLeast, eMost := points[0].Extended, points[0].Extended
	for i := range points {
		p := &points[i]
		cLeast, cMost = min(cLeast, p.Compressed), max(cMost, p.Compressed)
		eLeast, eMost = min(eLeast, p.Extended), max(eMost, p.Extended)
	}
	return cMost-cLeast >= eMost-eLeast
}

// bound gives the box of at least one point.
func (x *Index) bound(points []Point) Box {
	b := x.boxOf(&points[0])
	for i := range points[1:] {
		one := x.boxOf(&points[1+i])
		b = b.with(&one)
	}
	return b
}

// boxOf gives the box of one point.
func (x *Index) boxOf(p *Point) Box {
	b := Box{
		CompressedLeast: p.Compressed, CompressedMost: p.Compressed,
		ExtendedLeast: p.Extended, ExtendedMost: p.Extended,
		StrokeLeast: p.Stroke(), ToleranceLeast: p.Tolerance, BodyLeast: p.Body,
		PriceLeast: p.Price.OrDearest(), DamperLeast: p.Damper,
		UpperEnds: x.Set(p.Upper), LowerEnds: x.Set(p.Lower), Forces: x.forces.set(p.Damper),
	}
	b.Traits.Add(p.Traits)
	return b
}

// with gives the box around both.
func (b Box) with(o *Box) Box {
	b.CompressedLeast = min(b.CompressedLeast, o.CompressedLeast)
	b.CompressedMost = max(b.CompressedMost, o.CompressedMost)
	b.ExtendedLeast = min(b.ExtendedLeast, o.ExtendedLeast)
	b.ExtendedMost = max(b.ExtendedMost, o.ExtendedMost)
	b.StrokeLeast = min(b.StrokeLeast, o.StrokeLeast)
	b.ToleranceLeast = min(b.ToleranceLeast, o.ToleranceLeast)
	b.BodyLeast = min(b.BodyLeast, o.BodyLeast)
	b.PriceLeast = min(b.PriceLeast, o.PriceLeast)
	b.DamperLeast = min(b.DamperLeast, o.DamperLeast)
	b.UpperEnds |= o.UpperEnds
	b.LowerEnds |= o.LowerEnds
	b.Forces |= o.Forces
	b.Traits = b.Traits.With(&o.Traits)
	return b
}
