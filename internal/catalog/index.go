package catalog

import (
	"cmp"
	"slices"

	"midstroke/internal/mount"
	"midstroke/internal/unit"
)

// Index finds dampers by compressed and extended length without looking at
// them all. Dampers that bolt up alike and that the same yes-or-no limits
// admit stand in one Group; each group is a tree over the plane of the two
// lengths, whose nodes know the bounds of what lies below them. A search walks
// the trees best bound first.
type Index struct {
	ends   []mount.End
	groups []Group
}

// Group is dampers that differ only in lengths, body, price and code.
type Group struct {
	// Upper and Lower number the ends in Index.End.
	Upper, Lower int32
	// UpperStyle and LowerStyle are their styles.
	UpperStyle, LowerStyle mount.Style

	Construction Construction
	Gas          bool
	Adjusters    Adjusters
	Invertible   bool
	InStock      bool

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
}

// Box bounds the dampers below a node of a tree.
type Box struct {
	CompressedLeast, CompressedMost unit.Length
	ExtendedLeast, ExtendedMost     unit.Length
	StrokeLeast, StrokeMost         unit.Length
	ToleranceLeast                  unit.Length
	BodyLeast                       unit.Length
	// PriceLeast counts a damper without a price as the dearest.
	PriceLeast mount.Price
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
// at than to bound. From measurement, anything from 8 to 32 does as well.
const leafSize = 12

// Groups lists every group in a fixed order.
func (x *Index) Groups() []Group { return x.groups }

// End gives an end by its number; Ends says how many there are.
func (x *Index) End(number int32) *mount.End { return &x.ends[number] }

// Ends is how many different ends the dampers have.
func (x *Index) Ends() int { return len(x.ends) }

// Len is how many dampers the group holds.
func (g *Group) Len() int { return len(g.points) }

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
	type key struct {
		upper, lower int32
		construction Construction
		adjusters    Adjusters
		gas          bool
		invertible   bool
		inStock      bool
	}
	groupOf := map[key]int{}
	member := make([]int32, len(dampers))
	sizes := []int{}
	for i := range dampers {
		d := &dampers[i]
		k := key{numberOf(d.Upper), numberOf(d.Lower), d.Construction, d.Adjusters, d.Gas, d.Invertible, d.InStock}
		n, ok := groupOf[k]
		if !ok {
			n = len(x.groups)
			groupOf[k] = n
			x.groups = append(x.groups, Group{
				Upper: k.upper, Lower: k.lower, UpperStyle: d.Upper.Style, LowerStyle: d.Lower.Style,
				Construction: d.Construction, Gas: d.Gas, Adjusters: d.Adjusters,
				Invertible: d.Invertible, InStock: d.InStock,
			})
			sizes = append(sizes, 0)
		}
		member[i] = int32(n)
		sizes[n]++
	}
	for n := range x.groups {
		x.groups[n].points = make([]Point, 0, sizes[n])
	}
	for i := range dampers {
		d := &dampers[i]
		g := &x.groups[member[i]]
		g.points = append(g.points, Point{
			Compressed: d.Compressed, Extended: d.Extended, Tolerance: d.LengthTolerance,
			Body: d.BodyDiameter, Price: d.Price, Damper: int32(i),
		})
	}
	for n := range x.groups {
		g := &x.groups[n]
		g.nodes = make([]node, 0, 2*(len(g.points)/leafSize+1))
		g.grow(0, int32(len(g.points)))
	}
	return x
}

// grow appends the tree over points[from:to] and gives its top's number. It
// splits at the median along the wider side, so that boxes stay near square.
func (g *Group) grow(from, to int32) int32 {
	number := int32(len(g.nodes))
	g.nodes = append(g.nodes, node{Box: bound(g.points[from:to]), from: from, to: to})
	if to-from <= leafSize {
		return number
	}
	box := &g.nodes[number].Box
	run := g.points[from:to]
	if box.CompressedMost-box.CompressedLeast >= box.ExtendedMost-box.ExtendedLeast {
		slices.SortFunc(run, func(a, b Point) int {
			return cmp.Or(cmp.Compare(a.Compressed, b.Compressed), cmp.Compare(a.Damper, b.Damper))
		})
	} else {
		slices.SortFunc(run, func(a, b Point) int {
			return cmp.Or(cmp.Compare(a.Extended, b.Extended), cmp.Compare(a.Damper, b.Damper))
		})
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
		StrokeLeast: first.Stroke(), StrokeMost: first.Stroke(),
		ToleranceLeast: first.Tolerance, BodyLeast: first.Body,
		PriceLeast: first.Price.OrDearest(), DamperLeast: first.Damper,
	}
	for i := range points[1:] {
		p := &points[1+i]
		b.CompressedLeast = min(b.CompressedLeast, p.Compressed)
		b.CompressedMost = max(b.CompressedMost, p.Compressed)
		b.ExtendedLeast = min(b.ExtendedLeast, p.Extended)
		b.ExtendedMost = max(b.ExtendedMost, p.Extended)
		b.StrokeLeast = min(b.StrokeLeast, p.Stroke())
		b.StrokeMost = max(b.StrokeMost, p.Stroke())
		b.ToleranceLeast = min(b.ToleranceLeast, p.Tolerance)
		b.BodyLeast = min(b.BodyLeast, p.Body)
		b.PriceLeast = min(b.PriceLeast, p.Price.OrDearest())
		b.DamperLeast = min(b.DamperLeast, p.Damper)
	}
	return b
}

// Stroke is the length between the damper's two limits.
func (p *Point) Stroke() unit.Length { return p.Extended - p.Compressed }
