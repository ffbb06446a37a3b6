package fit

import (
	"sort"

	"midstroke/internal/unit"
)

// late says whether the bump stop asked about is solid only after the damper is,
// or no bump stop can be solid in time. Such a damper fits marginally at best.
func (t *task) late(s span) bool {
	switch {
	case t.asked.bumpStop == nil:
		return false
	case t.kinematics == nil:
		return t.lateBy(s) > 0
	}
	stops, _ := t.stops(&Fit{
		Compressed: s.compressed, Extended: s.extended,
		Travel: Both{t.shorter - s.compressed, s.extended - t.longer},
	})
	return stops.late
}

// lateBy is how much more compression a damper needs for the bump stop to be solid
// in time, by the motion ratio; 0 or less where it is in time.
func (t *task) lateBy(s span) unit.Length {
	return t.inTime - (t.shorter - s.compressed)
}

// inTimeFrom is the least compression travel from ride height with which the bump
// stop asked about is solid in time, by the motion ratio.
func (t *task) inTimeFrom() unit.Length {
	stop, ratio := t.asked.bumpStop, t.heights.ratio
	if stop == nil || ratio <= 0 {
		return 0
	}
	return unit.Length(sort.Search(int(unit.MaxLength), func(compression int) bool {
		by := (unit.Length(compression) - stop.Reserve).Scale(1 / ratio)
		return by >= 0 && stop.For(by).InTime
	}))
}

// demoted is the grade of a damper whose lengths reach g: marginal where its bump
// stop is late.
func (t *task) demoted(g Grade, s span) Grade {
	if g < Marginal && t.late(s) {
		return Marginal
	}
	return g
}

// lacksInTime is lacks, and for a grade better than marginal what the bump stop
// lacks as well. It is for changes of the length at ride that leave the bump stop
// as it is.
func (t *task) lacksInTime(g Grade, s span) Both {
	l := t.lacks(g, s)
	if g < Marginal && t.asked.bumpStop != nil && t.kinematics == nil {
		l.Compression = max(l.Compression, t.lateBy(s))
	}
	return l
}
