package wire

import (
	"midstroke/internal/damping"
	"midstroke/internal/unit"
)

// ratingMembers are a damper's damping on a corner: its verdict and ratios at the
// position to start from, then all positions.
var ratingMembers = members[damping.Rating]{
	aTextOrNull("verdict", func(r *damping.Rating) string { return r.Verdict.String() }),
	aTextOrNull("start_from", func(r *damping.Rating) string { return r.Start().Name }),
	aNumber("damping_ratio", ofRatio, func(r *damping.Rating) float64 { return r.Start().Loads[0].Ratio }),
	aNumberOrNull("laden_damping_ratio", ofRatio, func(r *damping.Rating) float64 {
		if loads := r.Start().Loads; len(loads) > 1 {
			return loads[1].Ratio
		}
		return 0
	}),
	aNumber("least_damping_ratio", ofRatio, func(r *damping.Rating) float64 { return r.Least(0) }),
	aNumber("greatest_damping_ratio", ofRatio, func(r *damping.Rating) float64 { return r.Most(0) }),
	aLength("gas_rise", func(r *damping.Rating) unit.Length { return metres(r.GasRise) }),
	onlyJSON(aList("positions", members[damping.Position]{
		aTextOrNull("position", func(p *damping.Position) string { return p.Name }),
		aTextOrNull("verdict", func(p *damping.Position) string { return p.Verdict.String() }),
		aFigure("velocity", aVelocity, func(p *damping.Position) float64 { return p.Velocity }),
		aFigure("coefficient", aDamping, func(p *damping.Position) float64 { return p.Coefficient }),
		aFigure("compression", aDamping, func(p *damping.Position) float64 { return p.Compression }),
		aFigure("rebound", aDamping, func(p *damping.Position) float64 { return p.Rebound }),
		aNumber("beyond_table", ofRatio, func(p *damping.Position) float64 { return p.Beyond }),
		aLength("pull_down", func(p *damping.Position) unit.Length { return metres(p.PullDown) }),
		aList("loads", members[damping.LoadRatio]{
			aText("load", func(l *damping.LoadRatio) string { return l.Load.String() }),
			aNumber("damping_ratio", ofRatio, func(l *damping.LoadRatio) float64 { return l.Ratio }),
			aNumber("hop_damping_ratio", ofRatio, func(l *damping.LoadRatio) float64 { return l.HopRatio }),
			aFigure("at_wheel", aDamping, func(l *damping.LoadRatio) float64 { return l.AtWheel }),
		}, func(p *damping.Position) []damping.LoadRatio { return p.Loads }),
	}, func(r *damping.Rating) []damping.Position { return r.Positions })),
}

// briefRating are those of a fit, without the figures of each position.
var briefRating = members[damping.Brief]{
	aTextOrNull("verdict", func(b *damping.Brief) string { return b.Verdict.String() }),
	aTextOrNull("start_from", func(b *damping.Brief) string { return b.Start }),
	aNumber("damping_ratio", ofRatio, func(b *damping.Brief) float64 { return b.Ratio }),
	aNumberOrNull("laden_damping_ratio", ofRatio, func(b *damping.Brief) float64 { return b.LadenRatio }),
	aNumber("least_damping_ratio", ofRatio, func(b *damping.Brief) float64 { return b.Least }),
	aNumber("greatest_damping_ratio", ofRatio, func(b *damping.Brief) float64 { return b.Greatest }),
	aLength("gas_rise", func(b *damping.Brief) unit.Length { return metres(b.GasRise) }),
}

// dampersComparedWith is what dampers are compared with.
var dampersComparedWith = members[damping.Rater]{
	allOf(resolvedMembers, func(r *damping.Rater) *damping.Resolved {
		t := r.Targets()
		return &t
	}),
	anObject("wanted", membersNamed(wantedMembers, "at_damper_ns_m", "velocity_m_s"), func(r *damping.Rater) *damping.Wanted {
		w := r.Wanted()
		return &w
	}),
}
