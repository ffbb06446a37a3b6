package fit

import (
	"math"
	"sort"

	"gonum.org/v1/gonum/spatial/r3"

	"midstroke/internal/linkage"
	"midstroke/internal/note"
	"midstroke/internal/unit"
)

// mountMove is one real mount of a linkage moved along the damper's line, which
// changes the needed travel too.
type mountMove struct {
	linkage.Shift
	by unit.Length
	// margin is left over the least travel of the moved linkage.
	margin Both
	// ratio is the motion ratio at ride, moved.
	ratio float64
}

// moveGrain is the step that a move is rounded up to. It is finer than any workshop
// needs, and written exactly in either system.
const moveGrain = 8 * unit.Grain

// roundingMargin is the margin below which rounding the moved point, as it is written,
// might undo a move: half a millionth of an inch in x, y and z.
const roundingMargin = 30 * unit.Nanometre

// roundUp gives the least multiple of moveGrain that is not less than l.
func roundUp(l unit.Length) unit.Length { return (l + moveGrain - 1) / moveGrain * moveGrain }

// move gives the least move of a mount, one way, after which a damper of those
// lengths holds the travel of the moved linkage; false where there is none within
// reach. No move is less than lacks, the greater of what it lacks each way.
//
// The working length is the moved linkage's length at ride plus the reading's
// offset from the points, and the needs are from there to the moved linkage's
// extremes. So both margins come down to
//
//	compression = shortest + offset of the shorter side - compressed,
//	extension   = extended - offset of the longer side - longest.
func (k *kinematics) move(m linkage.Mount, apart bool, s span, lacks, reach unit.Length) (mountMove, bool) {
	d, ok := k.sweep.LeastShift(m, apart, k.compressedByPoints(s.compressed), k.extendedByPoints(s.extended), reach.Mm())
	if !ok {
		return mountMove{}, false
	}
	// One length can't change by more than its mount moves.
	by := roundUp(max(unit.FromMm(d), lacks))
	// A second try makes up for what was rounded to the nanometre below.
	for range 2 {
		move, ok := k.moved(m, apart, by, s)
		if !ok || by > reach {
			return mountMove{}, false
		}
		if least := min(move.margin.Compression, move.margin.Extension); least >= roundingMargin || least >= 0 && k.asPointed(&move, s) {
			return move, true
		}
		by += moveGrain
	}
	return mountMove{}, false
}

// moved is a move of a mount by an amount; false where the linkage can't be moved
// so.
func (k *kinematics) moved(m linkage.Mount, apart bool, by unit.Length, s span) (mountMove, bool) {
	move := mountMove{Shift: linkage.Shift{Mount: m, Apart: by.Mm()}, by: by}
	if !apart {
		move.Apart = -move.Apart
	}
	x, err := k.sweep.Shifted(move.Shift)
	if err != nil {
		return mountMove{}, false
	}
	move.ratio = x.MotionRatio
	move.margin = Both{
		Compression: x.Shortest.Length + k.shorter - s.compressed,
		Extension:   s.extended - k.longer - x.Longest.Length,
	}
	return move, true
}

// secured is move for a grade better than marginal: the damper must hold the
// least travel, or the wanted, with every tolerance against it.
func (t *task) secured(g Grade, m linkage.Mount, apart bool, s span) (mountMove, bool) {
	k := t.kinematics
	least, lacks := t.lacks(Marginal, s), t.lacks(g, s)
	// Like a damper that is longer compressed and shorter extended by that.
	strict := span{
		compressed: s.compressed + lacks.Compression - least.Compression,
		extended:   s.extended - lacks.Extension + least.Extension,
	}
	below, above, err := k.taped.doubt(k.linkage)
	if err != nil {
		return mountMove{}, false
	}
	tries, slack := 1, unit.Length(0)
	if k.taped.byGaps {
		// On the moved linkage the gaps' tolerance counts differently, and is rounded
		// to the nanometre there.
		tries, slack = 4, roundingMargin
	}
	for range tries {
		short := max(0, lacks.Compression, lacks.Extension)
		move, ok := k.move(m, apart, strict, short, securedMost)
		if !ok {
			return mountMove{}, false
		}
		moreBelow, moreAbove, err := k.doubtAfter(&move)
		if err != nil {
			return mountMove{}, false
		}
		moreBelow, moreAbove = moreBelow-below, moreAbove-above
		if move.margin.Compression >= moreBelow+slack && move.margin.Extension >= moreAbove+slack {
			move.margin.Compression += strict.compressed - s.compressed
			move.margin.Extension += s.extended - strict.extended
			return t.inTimeFor(g, move, s)
		}
		below, above = below+moreBelow, above+moreAbove
		strict.compressed, strict.extended = strict.compressed+moreBelow+slack, strict.extended-moreAbove-slack
		slack = 0
	}
	return mountMove{}, false
}

// inTimeFor is the move that makes a grade, or where its bump stop is late the next
// farther one that keeps the grade with the stop in time; false where there is none
// within reach. A mount that is moved farther the same way leaves ever more of the
// damper's travel on the one side and ever less on the other.
func (t *task) inTimeFor(g Grade, move mountMove, s span) (mountMove, bool) {
	if !t.lateAfter(&move, s) {
		return move, true
	}
	farther := func(steps int) (mountMove, bool) {
		m, ok := t.kinematics.moved(move.Mount, move.Apart > 0, move.by+unit.Length(steps)*moveGrain, s)
		return m, ok && t.keepsGrade(g, &m, s)
	}
	most := sort.Search(int((securedMost-move.by)/moveGrain), func(i int) bool {
		_, keeps := farther(i + 1)
		return !keeps
	})
	steps := 1 + sort.Search(most, func(i int) bool {
		m, keeps := farther(i + 1)
		return keeps && !t.lateAfter(&m, s)
	})
	if steps > most {
		return mountMove{}, false
	}
	// One step more, where there is one: a point rounded to the nanometre must not
	// make the stop late again.
	return farther(min(steps+1, most))
}

// keepsGrade says whether a damper's lengths reach a grade once a mount has been moved,
// with some nanometres to spare for rounding the point.
func (t *task) keepsGrade(g Grade, m *mountMove, s span) bool {
	below, above, err := t.kinematics.taped.doubt(t.kinematics.linkage)
	if err != nil {
		return false
	}
	moreBelow, moreAbove, err := t.kinematics.doubtAfter(m)
	if err != nil {
		return false
	}
	least, lacks := t.lacks(Marginal, s), t.lacks(g, s)
	return m.margin.Compression >= lacks.Compression-least.Compression+moreBelow-below+roundingMargin &&
		m.margin.Extension >= lacks.Extension-least.Extension+moreAbove-above+roundingMargin
}

// lateAfter is late once a mount has been moved.
func (t *task) lateAfter(m *mountMove, s span) bool {
	return t.lateAt(m.Mount, t.kinematics.vector(m), s)
}

// lateAt is late once a mount has been moved by x, y, z.
func (t *task) lateAt(m linkage.Mount, by [3]unit.Length, s span) bool {
	if t.asked.bumpStop == nil {
		return false
	}
	k := *t.kinematics
	var err error
	if k.linkage, err = k.moveMount(m, by); err != nil {
		return true
	}
	if k.sweep, err = k.linkage.Sweep(k.ride, k.judged); err != nil {
		return true
	}
	k.shortest, k.longest = k.sweep.Extremes()
	moved := *t
	moved.kinematics = &k
	return moved.late(s)
}

// doubtAfter is taped.doubt once a mount has been moved.
func (k *kinematics) doubtAfter(m *mountMove) (below, above unit.Length, err error) {
	if !k.taped.byGaps {
		return 0, 0, nil
	}
	moved, err := k.moveMount(m.Mount, k.vector(m))
	if err != nil {
		return 0, 0, err
	}
	return k.taped.doubt(moved)
}

// asPointed says whether a move that leaves almost no margin is enough with its
// point where an answer puts it, in millimetres and in inches, and a reading that
// is longer by the move. So a request for the moved linkage has it.
func (k *kinematics) asPointed(m *mountMove, s span) bool {
	to := k.vector(m)
	inches := to
	for i := range inches {
		inches[i] = unit.Inch.Scale(to[i].In(unit.Inches))
	}
	return k.enoughAt(m, to, s) && k.enoughAt(m, inches, s)
}

func (k *kinematics) enoughAt(m *mountMove, to [3]unit.Length, s span) bool {
	at, ok := k.movedTo(m.Mount, to)
	if !ok {
		return false
	}
	rounding := k.now + unit.FromMm(m.Apart) - at.now
	return at.shortest+k.shorter+rounding >= s.compressed && s.extended-k.longer-rounding >= at.longest
}

// movedLinkage is a linkage with a mount moved: the lengths between its points at ride
// height, and the shortest and longest over its travel.
type movedLinkage struct {
	linkage                *linkage.Linkage
	now, shortest, longest unit.Length
}

func (k *kinematics) movedTo(m linkage.Mount, by [3]unit.Length) (at movedLinkage, ok bool) {
	l, err := k.moveMount(m, by)
	if err != nil {
		return at, false
	}
	now, _, err := l.At(0)
	if err != nil {
		return at, false
	}
	sweep, err := l.Sweep(k.ride, k.judged)
	if err != nil {
		return at, false
	}
	shortest, longest := sweep.Extremes()
	return movedLinkage{l, unit.FromMm(now), shortest.Length, longest.Length}, true
}

// roundedInText says how far words may round the coordinates of a move away from 0: by
// the last digit of a size where the damper has the grade at the points that are then
// told, else not at all. A point that is rounded lies beside the damper's line, too.
func (t *task) roundedInText(g Grade, m *mountMove, s span) unit.Length {
	exact, most := t.kinematics.vector(m), unit.Length(0)
	for _, units := range [2]unit.System{unit.Inches, unit.Millimetres} {
		step := unit.SizeStep(units)
		most = max(most, step)
		away := func(l unit.Length) unit.Length {
			up := (l.Abs() + step - 1) / step * step
			if l < 0 {
				return -up
			}
			return up
		}
		told := exact
		for i := range told {
			told[i] = away(told[i])
		}
		if !t.hasGradeAt(g, m.Mount, told, away(unit.FromMm(m.Apart)), s) {
			return 0
		}
	}
	return most
}

// hasGradeAt says whether a damper has a grade once a mount has been moved by x, y, z,
// whether the reading is then taken anew or is the old one and apart, what the mount was
// moved along the damper.
func (t *task) hasGradeAt(g Grade, m linkage.Mount, by [3]unit.Length, apart unit.Length, s span) bool {
	k := t.kinematics
	at, ok := k.movedTo(m, by)
	if !ok {
		return false
	}
	var asked Both // more than the least
	if g < Marginal {
		if t.lateAt(m, by, s) {
			return false
		}
		below, above, err := k.taped.doubt(k.linkage)
		if err != nil {
			return false
		}
		moreBelow, moreAbove, err := k.taped.doubt(at.linkage)
		if err != nil {
			return false
		}
		least, lacks := t.lacks(Marginal, s), t.lacks(g, s)
		asked = Both{lacks.Compression - least.Compression + moreBelow - below, lacks.Extension - least.Extension + moreAbove - above}
	}
	for _, rounding := range [2]unit.Length{0, k.now + apart - at.now} {
		if at.shortest+k.shorter+rounding-s.compressed < asked.Compression+roundingMargin ||
			s.extended-k.longer-rounding-at.longest < asked.Extension+roundingMargin {
			return false
		}
	}
	return true
}

// moveMount gives the linkage with one mount moved by x, y, z.
func (k *kinematics) moveMount(m linkage.Mount, by [3]unit.Length) (*linkage.Linkage, error) {
	return k.linkage.Move(m, r3.Vec{X: by[0].Mm(), Y: by[1].Mm(), Z: by[2].Mm()})
}

// vector is how a move's point goes: x, y, z.
func (k *kinematics) vector(m *mountMove) [3]unit.Length {
	v := k.sweep.Vector(m.Shift)
	return [3]unit.Length{unit.FromMm(v.X), unit.FromMm(v.Y), unit.FromMm(v.Z)}
}

// compressedByPoints and extendedByPoints are a damper's lengths as the points
// have them, mm, on the side where they count.
func (k *kinematics) compressedByPoints(l unit.Length) float64 { return (l - k.shorter).Mm() }
func (k *kinematics) extendedByPoints(l unit.Length) float64   { return (l - k.longer).Mm() }

// ways calls f with each mount and each way to move it that may help a damper
// that is short.
func (k *kinematics) ways(short Both, f func(m linkage.Mount, apart bool)) {
	for _, apart := range [2]bool{true, false} {
		// In a plain sweep the wrong way only makes it worse.
		if k.plain && (short.Compression > 0 && !apart || short.Extension > 0 && apart) {
			continue
		}
		f(linkage.UpperMount, apart)
		f(linkage.LowerMount, apart)
	}
}

// eachMove calls f with the least move of each mount each way that makes a
// marginal fit.
func (k *kinematics) eachMove(short Both, s span, f func(mountMove)) {
	k.ways(short, func(m linkage.Mount, apart bool) {
		if move, ok := k.move(m, apart, s, max(short.Compression, short.Extension), remedyMost); ok {
			f(move)
		}
	})
}

// moveBound gives at little cost what no move of a mount is less than; false
// where there is none.
func (k *kinematics) moveBound(short Both, compressed, extended unit.Length) (by unit.Length, ok bool) {
	least := remedyMost.Mm()
	k.ways(short, func(m linkage.Mount, apart bool) {
		bound, may := k.sweep.ShiftBound(m, apart, k.compressedByPoints(compressed), k.extendedByPoints(extended), least)
		if may {
			least, ok = bound, true
		}
	})
	// Rounded down: rounded up it might be more than a move.
	return unit.Length(math.Floor(least * 1e6)), ok
}

// mountRemedies are the moves of the real mounts that make a damper fit.
func (t *task) mountRemedies(short Both, s span) []Remedy {
	var list []Remedy
	t.kinematics.eachMove(short, s, func(least mountMove) {
		best, grade := least, Marginal
		for g := Clear; g < Marginal; g++ {
			if move, ok := t.secured(g, least.Mount, least.Apart > 0, s); ok {
				best, grade = move, g
				break
			}
		}
		list = append(list, t.kinematics.remedy(&best, grade, least.by, t.roundedInText(grade, &best, s)))
	})
	return list
}

// remedy puts a move in words, which may round its coordinates by so much away from 0.
func (k *kinematics) remedy(m *mountMove, grade Grade, least, rounding unit.Length) Remedy {
	kind, code := MoveMountsApart, note.Code("move_mount_away")
	if m.Apart < 0 {
		kind, code = MoveMountsTogether, "move_mount_nearer"
	}
	to := &PointMove{Point: "upper", Vector: k.vector(m), MotionRatio: m.ratio}
	if m.Mount == linkage.LowerMount {
		to.Point = "lower"
	}
	along := func(name string, l unit.Length) note.Value {
		if l < 0 {
			return note.SizeWithin(name, l, l-rounding, l)
		}
		return note.SizeWithin(name, l, l, l+rounding)
	}
	return Remedy{Kind: kind, Grade: grade, Least: least, By: m.by, Margin: m.margin, Move: to, Text: note.New(code,
		note.Word("point", to.Point), along("by", m.by), note.SizeWithin("least", least, least, unit.MaxLength), note.Word("grade", grade.String()),
		along("x", to.Vector[0]), along("y", to.Vector[1]), along("z", to.Vector[2]),
		note.AtMost("compression", m.margin.Compression), note.AtMost("extension", m.margin.Extension),
		note.Num("motion_ratio", m.ratio, ""))}
}

// leastByPoints is leastRemedy for a damper that is short, with a linkage.
func (t *task) leastByPoints(short Both, s span) (by unit.Length, ok bool) {
	if t.mayGiveUp(s, short) {
		least, _ := t.giveUp(Marginal, s)
		by, ok = least.up.sum(), true
		if t.kinematics.plain {
			return by, true // no move is less than what is lacking
		}
	}
	t.kinematics.eachMove(short, s, func(m mountMove) {
		if !ok || m.by < by {
			by, ok = m.by, true
		}
	})
	return by, ok
}
