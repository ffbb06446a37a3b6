package catalog

import (
	"midstroke/internal/mount"
	"midstroke/internal/unit"
)

// Index finds dampers by compressed and extended length without looking at
// them all. Dampers that bolt up alike stand in one Group; each group is a
// tree over the plane of the two lengths, whose nodes know the bounds of what
// lies below them. A search walks the trees best bound first.
type Index struct {
	ends   []mount.End
	groups []Group
	places []place // by the damper's place in the list by code
}

// place is where a damper stands.
type place struct{ group, point int32 }

// Group is the dampers of the same two ends.
type Group struct {
	// Upper and Lower number the ends in Index.End.
	Upper, Lower int32
	// UpperStyle and LowerStyle are their styles.
	UpperStyle, LowerStyle mount.Style

	points []Point
	nodes  []node
}

// Point is one damper in its group's tree.
type Point struct {
	Compressed, Extended unit.Length
	Tolerance            unit.Length
	Body                 unit.Length
	Price                mount.Price
	// Damper is the damper's place in the list by code.
	Damper int32
	Traits Traits
}

// Stroke is the length between the damper's two limits.
func (p *Point) Stroke() unit.Length { return p.Extended - p.Compressed }

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

// Groups lists every group in a fixed order.
func (x *Index) Groups() []Group { return x.groups }

// End gives an end by its number.
func (x *Index) End(number int32) *mount.End { return &x.ends[number] }

// Ends is how many different ends there are.
func (x *Index) Ends() int { return len(x.ends) }

// Find gives a damper's group and point by its place in the list by code.
func (x *Index) Find(damper int32) (*Group, *Point) {
	at := x.places[damper]
	g := &x.groups[at.group]
	return g, &g.points[at.point]
}

// Points lists the group's dampers in no order that means anything.
func (g *Group) Points() []Point { return g.points }

// Root is the number of a group's topmost node.
const Root = 0

// Box bounds the points below a node.
func (g *Group) Box(number int32) *Box { return &g.nodes[number].Box }

// Below gives a node's two children or, for a leaf, its points.
func (g *Group) Below(number int32) (lower, upper int32, leaf []Point) {
	n := &g.nodes[number]
	if n.upper == 0 {
		return 0, 0, g.points[n.from:n.to]
	}
	return number + 1, n.upper, nil
}

// newIndex makes the index of dampers, which are sorted by code.
func newIndex(dampers []Damper) *Index {
	x := &Index{}
	member := x.sort(dampers)
	for i := range dampers {
		d := &dampers[i]
		g := &x.groups[member[i]]
		g.points = append(g.points, Point{
			Compressed: d.Compressed, Extended: d.Extended, Tolerance: d.LengthTolerance,
			Body: d.BodyDiameter, Price: d.Price, Damper: int32(i), Traits: d.Traits(),
		})
	}
	x.places = make([]place, len(dampers))
	for n := range x.groups {
		g := &x.groups[n]
		g.nodes = make([]node, 0, 2*(len(g.points)/leafSize+1))
		g.grow(0, int32(len(g.points)))
		for i := range g.points {
			x.places[g.points[i].Damper] = place{int32(n), int32(i)}
		}
	}
	return x
}

// sort makes the ends and the groups, with room for their dampers, and gives
// each damper's group.
func (x *Index) sort(dampers []Damper) (member []int32) {
	endNumbers := map[mount.End]int32{}
	numberOf := func(e mount.End) int32 {
		n, ok := endNumbers[e]
		if !ok {
			n = int32(len(x.ends))
			x.ends = append(x.ends, e)
			endNumbers[e] = n
		}
		return n
	}
	type pair struct{ upper, lower int32 }
	groupOf := map[pair]int32{}
	member = make([]int32, len(dampers))
	var sizes []int
	for i := range dampers {
		d := &dampers[i]
		p := pair{numberOf(d.Upper), numberOf(d.Lower)}
		n, ok := groupOf[p]
		if !ok {
			n = int32(len(x.groups))
			groupOf[p] = n
			x.groups = append(x.groups, Group{Upper: p.upper, Lower: p.lower, UpperStyle: d.Upper.Style, LowerStyle: d.Lower.Style})
			sizes = append(sizes, 0)
		}
		member[i] = n
		sizes[n]++
	}
	for n := range x.groups {
		x.groups[n].points = make([]Point, 0, sizes[n])
	}
	return member
}

// grow appends the tree over points[from:to] and gives its top's number. It
// splits at the median along the wider side, so that boxes stay near square.
func (g *Group) grow(from, to int32) int32 {
	number := int32(len(g.nodes))
	g.nodes = append(g.nodes, node{Box: bound(g.points[from:to]), from: from, to: to})
	if to-from <= leafSize {
		return number
	}
	box, run := &g.nodes[number].Box, g.points[from:to]
	if box.CompressedMost-box.CompressedLeast >= box.ExtendedMost-box.ExtendedLeast {
		halve(run, func(p *Point) unit.Length { return p.Compressed })
	} else {
		halve(run, func(p *Point) unit.Length { return p.Extended })
	}
	middle := from + (to-from)/2
	g.grow(from, middle)
	upper := g.grow(middle, to)
	g.nodes[number].upper = upper
	return number
}

func bound(points []Point) Box {
	first := &points[0]
	b := Box{
		CompressedLeast: first.Compressed, CompressedMost: first.Compressed,
		ExtendedLeast: first.Extended, ExtendedMost: first.Extended,
		StrokeLeast: first.Stroke(), ToleranceLeast: first.Tolerance, BodyLeast: first.Body,
		PriceLeast: first.Price.OrDearest(), DamperLeast: first.Damper,
	}
	for i := range points {
		p := &points[i]
		b.CompressedLeast = min(b.CompressedLeast, p.Compressed)
		b.CompressedMost = max(b.CompressedMost, p.Compressed)
		b.ExtendedLeast = min(b.ExtendedLeast, p.Extended)
		b.ExtendedMost = max(b.ExtendedMost, p.Extended)
		b.StrokeLeast = min(b.StrokeLeast, p.Stroke())
		b.ToleranceLeast = min(b.ToleranceLeast, p.Tolerance)
		b.BodyLeast = min(b.BodyLeast, p.Body)
		b.PriceLeast = min(b.PriceLeast, p.Price.OrDearest())
		b.DamperLeast = min(b.DamperLeast, p.Damper)
		b.Traits.Add(p.Traits)
	}
	return b
}
