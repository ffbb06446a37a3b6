package linkage

import (
	"strconv"

	"gonum.org/v1/gonum/spatial/r3"

	"midstroke/internal/fault"
	"midstroke/internal/note"
	"midstroke/internal/unit"
)

// ClearanceLeast is the gap that a moving damper needs around its body: common
// practice, no source.
const ClearanceLeast = 12 * unit.Millimetre

// MostObstacles is how many obstacles are looked at at once.
const MostObstacles = 20

// Obstacle is something near the damper, as a ball: a spot of a tyre's inner wall,
// of an exhaust, of a frame rail.
type Obstacle struct {
	Name string
	// Point is at ride height, in the linkage's axes: [x, y, z], for a planar double
	// wishbone [y, z] as well.
	Point  Point
	Radius unit.Length // 0: the point itself
	// WithWheel says that it moves with the wheel, and not with the body.
	WithWheel bool
}

// Body is the damper's body, as a cylinder around the line between the damper's
// ends. The zero value is that line alone, over its whole length.
type Body struct {
	Diameter unit.Length
	// Length is how far the body reaches from the end that carries it; 0 is as far
	// as the other end.
	Length unit.Length
	// AtUpper says that the upper end carries it; else the lower one does.
	AtUpper bool
}

// check reports figures of a body that can't be.
func (b *Body) check() fault.List {
	var faults fault.List
	if b.Diameter < 0 || b.Diameter > farthest {
		faults.Add("/diameter", bodyOutOfRange)
	}
	if b.Length < 0 || b.Length > farthest {
		faults.Add("/length", bodyOutOfRange)
	}
	return faults
}

// Gap is the least gap between a damper's body and an obstacle over a range,
// negative where they meet, and where it is.
type Gap struct {
	Gap unit.Length
	Where
}

// Surroundings are the obstacles near a damper over one range of wheel travel,
// kept for the bodies of many dampers. They never change once made.
type Surroundings struct {
	linkage   *Linkage
	ride      float64
	obstacles []Obstacle
	grid      *grid // its spots are the damper's lower end and then the obstacles
}

// CheckObstacles reports figures of obstacles near this linkage that can't be, with
// pointers from their list.
func (l *Linkage) CheckObstacles(obstacles []Obstacle) fault.List {
	var faults fault.List
	if len(obstacles) > MostObstacles {
		faults.Add("", tooManyObstacles, note.Num("most", MostObstacles, ""))
		return faults
	}
	for i := range obstacles {
		o, pointer := &obstacles[i], "/"+strconv.Itoa(i)
		if len(o.Point) != 3 && !(l.planar && len(o.Point) == 2) {
			faults.Add(pointer+"/point", obstacleNotInSpace)
		}
		for j, c := range o.Point {
			if c > farthest || c < -farthest {
				faults.Add(pointer+"/point/"+strconv.Itoa(j), obstacleOutOfRange)
			}
		}
		if o.Radius < 0 || o.Radius > farthest {
			faults.Add(pointer+"/radius", radiusOutOfRange)
		}
	}
	return faults
}

// Surroundings places obstacles that have passed CheckObstacles over a range of
// wheel travel about a ride height, which is a wheel travel in mm on the linkage's
// own count. The range must be within reach.
func (l *Linkage) Surroundings(ride float64, r Range, obstacles []Obstacle) *Surroundings {
	spots := []spot{l.spotOn(l.motion, l.lower)}
	wheel := l.withWheel()
	for i := range obstacles {
		o := &obstacles[i]
		if p := o.at(); o.WithWheel {
			spots = append(spots, l.spotOn(wheel, p))
		} else {
			spots = append(spots, still(p))
		}
	}
	return &Surroundings{l, ride, obstacles, l.newGrid(ride-r.Droop.Mm(), ride+r.Bump.Mm(), spots)}
}

// at is the obstacle's point in mm.
func (o *Obstacle) at() r3.Vec {
	p := o.Point
	if len(p) == 2 {
		return r3.Vec{Y: p[0].Mm(), Z: p[1].Mm()}
	}
	return r3.Vec{X: p[0].Mm(), Y: p[1].Mm(), Z: p[2].Mm()}
}

// Gaps gives the least gap to each obstacle, in their order.
func (s *Surroundings) Gaps(b Body) []Gap {
	gaps := make([]Gap, len(s.obstacles))
	for i := range gaps {
		gap, at := s.grid.least(func(at *setting) float64 { return s.gap(&b, i, at) })
		gaps[i] = Gap{unit.FromMm(gap), at.from(s.ride)}
	}
	return gaps
}

// GapsAt gives the gap to each obstacle at a wheel travel from ride; for an axle
// with both wheels alike.
func (s *Surroundings) GapsAt(b Body, wheelTravel unit.Length) []unit.Length {
	gaps := make([]unit.Length, len(s.obstacles))
	at := s.linkage.settingAt(s.ride + wheelTravel.Mm())
	for i := range gaps {
		gaps[i] = unit.FromMm(s.gap(&b, i, &at))
	}
	return gaps
}

// gap is the distance in mm between the body's surface and that of obstacle i: the
// distance of the obstacle's point from the body's axis, a part of the line
// between the damper's ends, less both radii. At its ends the body counts as
// round, which is the safe side.
func (s *Surroundings) gap(b *Body, i int, at *setting) float64 {
	from, to := s.grid.at(at, 0), s.linkage.upper
	if b.AtUpper {
		from, to = to, from
	}
	line := r3.Sub(to, from)
	n := length(line)
	reach := n
	if b.Length > 0 {
		reach = min(n, b.Length.Mm())
	}
	off := r3.Sub(s.grid.at(at, i+1), from)
	along := max(0, min(reach, r3.Dot(off, line)/n))
	away := length(r3.Sub(off, r3.Scale(along/n, line)))
	return away - b.Diameter.Mm()/2 - s.obstacles[i].Radius.Mm()
}

// clear fills in how much room the obstacles leave over a travel.
func (l *Linkage) clear(t *Travel, o *Options) {
	if len(o.Obstacles) == 0 {
		return
	}
	around := l.Surroundings(0, t.Range, o.Obstacles)
	for i, gap := range around.Gaps(o.Body) {
		t.Clearances = append(t.Clearances, Clearance{Name: o.Obstacles[i].Name, Gap: gap, Trace: make([]unit.Length, len(t.Trace))})
		t.Cautions = append(t.Cautions, gap.Caution(o.Obstacles[i].Name)...)
	}
	for i := range t.Trace {
		for k, gap := range around.GapsAt(o.Body, t.Trace[i].WheelTravel) {
			t.Clearances[k].Trace[i] = gap
		}
	}
}

// Caution is clearance_small where the gap to an obstacle of that name is less
// than ClearanceLeast, else none.
func (g Gap) Caution(name string) []note.Note {
	if g.Gap >= ClearanceLeast {
		return nil
	}
	return []note.Note{note.New("clearance_small",
		note.Word("name", name), note.AtMost("gap", g.Gap), note.Size("least", ClearanceLeast))}
}
