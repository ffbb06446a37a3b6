package linkage

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// spot is a point of the vehicle, given by its place at ride height, that the
// suspension may carry.
type spot interface {
	// at is the spot's place in mm at a setting of the linkage.
	at(s *setting) r3.Vec
}

// still is a spot on the body, or on the axis that its part turns about.
type still r3.Vec

func (p still) at(*setting) r3.Vec { return r3.Vec(p) }

// carriedBy is a spot on the part that a motion carries.
type carriedBy struct{ motion motion }

func (p carriedBy) at(s *setting) r3.Vec {
	at, _, _ := p.motion.carry(s.left, s.pose)
	return at
}

// onAxle is a spot on a solid axle.
type onAxle r3.Vec

func (p onAxle) at(s *setting) r3.Vec { return s.axle.carried(r3.Vec(p), s.rolled) }

// carried is where a pose of the axle puts a point of it.
func (a *axle) carried(p r3.Vec, at rolled) r3.Vec {
	roll := r3.Vec{Y: a.roll.y, Z: a.roll.z}
	p = r3.Add(roll, at.turn(r3.Sub(p, roll)))
	p.Z += at.heave
	return p
}

// spotOn is the spot at p on the part that m carries.
func (l *Linkage) spotOn(m motion, p r3.Vec) spot {
	if _, ok := m.(axle); ok {
		return onAxle(p)
	}
	if held := m.holding(l.upper, p); held != nil {
		return carriedBy{held}
	}
	return still(p) // it lies on the axis of its arm
}

// withWheel is how the wheel's own part moves. That is the part that carries the
// damper, except for a double wishbone, whose wheel is on the upright.
func (l *Linkage) withWheel() motion {
	w, ok := l.motion.(*wishbone)
	if !ok {
		return l.motion
	}
	upright := *w
	upright.damper.on = Upright
	return &upright
}

// setting is a linkage at one wheel travel, or an axle at the travels of its two
// wheels, in mm on the linkage's own count.
type setting struct {
	left, right float64
	pose        pose // near this setting; not of an axle
	axle        *axle
	rolled      rolled // of an axle
	// spots are the places of the grid's spots; nil where they weren't asked for.
	spots []r3.Vec
}

// grid is a linkage over a range of wheel travel, at settings so close together
// that every local extreme of a smooth function shows between its neighbours. For
// an axle it covers the square of left and right travels.
type grid struct {
	linkage   *Linkage
	low, high float64
	step      float64
	across    int // settings along one side
	settings  []setting
	spots     []spot
}

// How many settings a grid has along one side, and how near in mm of wheel travel
// an extreme is looked for.
const (
	fewestSettings = 201
	mostSettings   = 401
	axleSettings   = 31
	settingsApart  = 2.0
	nearEnough     = 1e-3
)

// newGrid lays a grid over low to high, and places the spots at each setting.
func (l *Linkage) newGrid(low, high float64, spots []spot) *grid {
	g := &grid{linkage: l, low: low, high: high, spots: spots}
	a, isAxle := l.motion.(axle)
	g.across = min(mostSettings, max(fewestSettings, 1+int((high-low)/settingsApart)))
	if isAxle {
		g.across = axleSettings
	}
	g.step = (high - low) / float64(g.across-1)
	along := func(i int) float64 { return low + (high-low)*float64(i)/float64(g.across-1) }
	if !isAxle {
		near := pose{}
		for i := range g.across {
			s := setting{left: along(i), right: along(i)}
			_, _, near = l.motion.carry(s.left, near)
			s.pose = near
			g.settings = append(g.settings, s)
		}
	} else {
		for i := range g.across {
			for j := range g.across {
				s := setting{left: along(i), right: along(j), axle: &a}
				s.rolled = a.corner(s.left, s.right)
				g.settings = append(g.settings, s)
			}
		}
	}
	for i := range g.settings {
		s := &g.settings[i]
		s.spots = make([]r3.Vec, len(spots))
		for k, p := range spots {
			s.spots[k] = p.at(s)
		}
	}
	return g
}

// at is the place of the grid's spot number k at a setting.
func (g *grid) at(s *setting, k int) r3.Vec {
	if s.spots != nil {
		return s.spots[k]
	}
	return g.spots[k].at(s)
}

// moved is the setting a way off from another, kept within the grid's range.
func (g *grid) moved(s *setting, left, right float64) setting {
	to := setting{
		left:  max(g.low, min(g.high, s.left+left)),
		right: max(g.low, min(g.high, s.right+right)),
		pose:  s.pose, axle: s.axle,
	}
	if s.axle == nil {
		to.right = to.left
	} else {
		to.rolled = s.axle.corner(to.left, to.right)
	}
	return to
}

// least gives the least value of f over the grid's range and where it is. It
// looks closer at every setting that is no worse than its neighbours, by steps
// that are halved where none of them helps.
func (g *grid) least(f func(*setting) float64) (value float64, at setting) {
	values := make([]float64, len(g.settings))
	for i := range g.settings {
		values[i] = f(&g.settings[i])
	}
	value = math.Inf(1)
	for i := range g.settings {
		if !g.leastAround(values, i) {
			continue
		}
		if v, s := g.descend(f, values[i], g.settings[i]); v < value {
			value, at = v, s
		}
	}
	return value, at
}

// leastAround says whether the value at a setting is no more than those beside
// it.
func (g *grid) leastAround(values []float64, i int) bool {
	row, column, rows := i/g.across, i%g.across, len(values)/g.across
	for r := max(0, row-1); r <= min(rows-1, row+1); r++ {
		for c := max(0, column-1); c <= min(g.across-1, column+1); c++ {
			if values[r*g.across+c] < values[i] {
				return false
			}
		}
	}
	return true
}

// descend goes from a setting to the least value beside it.
func (g *grid) descend(f func(*setting) float64, value float64, s setting) (float64, setting) {
	ways := [][2]float64{{1, 0}, {-1, 0}}
	if s.axle != nil {
		ways = append(ways, [][2]float64{{0, 1}, {0, -1}, {1, 1}, {1, -1}, {-1, 1}, {-1, -1}}...)
	}
	for step := g.step / 2; step > nearEnough/2; {
		better := false
		for _, w := range ways {
			to := g.moved(&s, w[0]*step, w[1]*step)
			if v := f(&to); v < value {
				value, s, better = v, to, true
			}
		}
		if !better {
			step /= 2
		}
	}
	return value, s
}
