package linkage

import (
	"slices"
	"strings"

	"gonum.org/v1/gonum/spatial/r3"

	"midstroke/internal/unit"
)

// Place is where one of a linkage's points is at some wheel travel.
type Place struct {
	// Point is the JSON pointer of the point in the linkage, as "/damper/lower".
	Point string
	// At is the place as requests give points: [x, y, z], or [y, z] of a planar
	// double wishbone.
	At []unit.Length
}

// carriedPoint is a point that moves with the wheel's part, and where it is at ride.
type carriedPoint struct {
	pointer string
	at      r3.Vec
}

// onBody are the last steps of pointers to points that stay with the body.
var onBody = []string{"pivot_a", "pivot_b", "front", "rear", "inner"}

// carriedPoints gives the points of a layout that move with the wheel's part. An
// arm's outer joint is a point of the upright too.
func (l *layout) carriedPoints(at place) []carriedPoint {
	var moving []carriedPoint
	for _, pointer := range l.points {
		if !slices.Contains(onBody, pointer[strings.LastIndexByte(pointer, '/')+1:]) {
			moving = append(moving, carriedPoint{pointer, at[pointer]})
		}
	}
	return moving
}

// PlacesAt gives the places of all points that move, the damper's lower end first,
// at wheel travel z in mm within reach; for an axle with both wheels alike.
func (l *Linkage) PlacesAt(z float64) []Place {
	s := l.settingAt(z)
	places := []Place{l.placed("/damper/lower", l.spotOn(l.motion, l.lower), &s)}
	wheel := l.withWheel()
	for _, p := range l.carried {
		places = append(places, l.placed(p.pointer, l.spotOn(wheel, p.at), &s))
	}
	return places
}

func (l *Linkage) placed(pointer string, p spot, s *setting) Place {
	v := p.at(s)
	at := []unit.Length{unit.FromMm(v.X), unit.FromMm(v.Y), unit.FromMm(v.Z)}
	if l.planar {
		at = at[1:]
	}
	return Place{Point: pointer, At: at}
}
