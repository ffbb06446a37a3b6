package fit

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"midstroke/internal/linkage"
	"midstroke/internal/note"
	"midstroke/internal/unit"
)

// mountMove is one real mount of a linkage moved along the damper's line, so
// that the needed travel is another too.
type mountMove struct {
	linkage.Shift
	by     unit.Length
	margin Both    // left over the least travel of the moved linkage
	ratio  float64 // the motion ratio at ride, moved
}

// moveGrain is what a move is rounded up to: finer than any workshop, and exact
// as it is written in either system.
const moveGrain = 8 * unit.Grain

// bare is how little is left where rounding the moved point as it is written
// might undo a move: half a millionth of an inch in x, y and z.
const bare = 30 * unit.Nanometre

// roundUp gives the least multiple of moveGrain that is not less than l.
func roundUp(l unit.Length) unit.Length { return (l + moveGrain - 1) / moveGrain * moveGrain }

// move gives the least move of a mount, one way, that makes a damper fit whose
// effective lengths lack at least so much; false where there is none within
// reach.
//
// The working length is the moved linkage's length at ride plus the reading's
// offset from the points, and the needs are from there to the moved linkage's
// extremes; so both margins come down to
//
//	compression = shortest + offset - compressed,
//	extension   = extended - offset - longest.
func (k *kinematics) move(m linkage.Mount, apart bool, compressed, extended, lacks unit.Length) (mountMove, bool) {
	d, ok := k.sweep.LeastShift(m, apart, k.byPoints(compressed), k.byPoints(extended), remedyMost.Mm())
	if !ok {
		return mountMove{}, false
	}
	// One length can't change by more than its mount moves.
	by := roundUp(max(unit.FromMm(d), lacks))
	// A second try is for what was rounded to the nanometre below.
	for range 2 {
		move := mountMove{Shift: linkage.Shift{Mount: m, Apart: by.Mm()}, by: by}
		if !apart {
			move.Apart = -move.Apart
		}
		x, err := k.sweep.Shifted(move.Shift)
		if err != nil || by > remedyMost {
			return mountMove{}, false
		}
		move.ratio = x.MotionRatio
		move.margin = Both{
			Compression: x.Shortest.Length + k.offset - compressed,
			Extension:   extended - k.offset - x.Longest.Length,
		}
		if least := min(move.margin.Compression, move.margin.Extension); least >= bare || least >= 0 && k.asPointed(&move, compressed, extended) {
			return move, true
		}
		by += moveGrain
	}
	return mountMove{}, false
}

// asPointed says whether a move that leaves next to nothing is enough with its
// point where an answer puts it, in millimetres or in inches, and a reading that
// is longer by the move: as a request for the moved linkage would have it.
func (k *kinematics) asPointed(m *mountMove, compressed, extended unit.Length) bool {
	to := k.vector(m)
	inches := to
	for i := range inches {
		inches[i] = unit.Inch.Scale(to[i].In(unit.Inches))
	}
	return k.enoughAt(m, to, compressed, extended) && k.enoughAt(m, inches, compressed, extended)
}

func (k *kinematics) enoughAt(m *mountMove, to [3]unit.Length, compressed, extended unit.Length) bool {
	l, err := k.linkage.Move(m.Mount, r3.Vec{X: to[0].Mm(), Y: to[1].Mm(), Z: to[2].Mm()})
	if err != nil {
		return false
	}
	now, _, err := l.At(0)
	if err != nil {
		return false
	}
	s, err := l.Sweep(k.ride, k.judged)
	if err != nil {
		return false
	}
	shortest, longest := s.Extremes()
	offset := k.offset + k.now + unit.FromMm(m.Apart) - unit.FromMm(now)
	return shortest.Length+offset >= compressed && extended-offset >= longest.Length
}

// vector is how a move's point goes: x, y, z.
func (k *kinematics) vector(m *mountMove) [3]unit.Length {
	v := k.sweep.Vector(m.Shift)
	return [3]unit.Length{unit.FromMm(v.X), unit.FromMm(v.Y), unit.FromMm(v.Z)}
}

// byPoints is a length as the points have it, mm.
func (k *kinematics) byPoints(l unit.Length) float64 { return (l - k.offset).Mm() }

// ways calls f with each mount and each way to move it that may help a damper
// that is short.
func (k *kinematics) ways(short Both, f func(m linkage.Mount, apart bool)) {
	for _, apart := range [2]bool{true, false} {
		// What the right way mends the other makes worse.
		if k.plain && (short.Compression > 0 && !apart || short.Extension > 0 && apart) {
			continue
		}
		f(linkage.UpperMount, apart)
		f(linkage.LowerMount, apart)
	}
}

// eachMove calls f with the least move of each mount each way.
func (k *kinematics) eachMove(short Both, compressed, extended unit.Length, f func(mountMove)) {
	k.ways(short, func(m linkage.Mount, apart bool) {
		if move, ok := k.move(m, apart, compressed, extended, max(short.Compression, short.Extension)); ok {
			f(move)
		}
	})
}

// moveBound gives at little cost what no move of a mount is less than; false
// where there is none.
func (k *kinematics) moveBound(short Both, compressed, extended unit.Length) (by unit.Length, ok bool) {
	least := remedyMost.Mm()
	k.ways(short, func(m linkage.Mount, apart bool) {
		bound, may := k.sweep.ShiftBound(m, apart, k.byPoints(compressed), k.byPoints(extended), least)
		if may {
			least, ok = bound, true
		}
	})
	// Not rounded up, or by rounding it might be more than a move.
	return unit.Length(math.Floor(least * 1e6)), ok
}

// mountRemedies are the moves of the real mounts that make a damper fit.
func (t *task) mountRemedies(short Both, compressed, extended unit.Length) []Remedy {
	var list []Remedy
	t.kin.eachMove(short, compressed, extended, func(m mountMove) { list = append(list, t.kin.remedy(&m)) })
	return list
}

// remedy puts a move in words.
func (k *kinematics) remedy(m *mountMove) Remedy {
	kind, code := MoveMountsApart, "move_mount_away"
	if m.Apart < 0 {
		kind, code = MoveMountsTogether, "move_mount_nearer"
	}
	to := &PointMove{Point: "upper", Vector: k.vector(m), MotionRatio: m.ratio}
	if m.Mount == linkage.LowerMount {
		to.Point = "lower"
	}
	// Each as it is: a little more of one of them might be too much.
	just := func(name string, l unit.Length) note.Value { return note.Within(name, l, l, l) }
	return Remedy{Kind: kind, By: m.by, Margin: m.margin, Move: to, Text: note.New(code,
		note.Word("point", to.Point), just("by", m.by),
		just("x", to.Vector[0]), just("y", to.Vector[1]), just("z", to.Vector[2]),
		note.Len("compression", m.margin.Compression), note.Len("extension", m.margin.Extension),
		note.Num("motion_ratio", m.ratio, ""))}
}

// leastByPoints is leastRemedy for a damper that is short, with a linkage.
func (t *task) leastByPoints(short Both, compressed, extended unit.Length, maySpare bool) (by unit.Length, ok bool) {
	by = t.giveUp(short).sum()
	if maySpare && t.kin.plain {
		return by, true // no move is less than what is lacking
	}
	ok = maySpare
	t.kin.eachMove(short, compressed, extended, func(m mountMove) {
		if !ok || m.by < by {
			by, ok = m.by, true
		}
	})
	return by, ok
}
