package damping

import (
	"midstroke/internal/note"
	"midstroke/internal/unit"
)

// num is a figure in the reader's units, to four significant digits.
func num(name string, v float64, unitName string) note.Value { return note.Figure(name, v, unitName) }

// highHz is above what bodies on springs have: a sign of a wrong unit.
const highHz = 10

// Cautions tell what is unusual about a corner, with the figure and what cures
// it. They don't stop the calculation.
func (r *Rater) Cautions() []note.Note {
	var list []note.Note
	loads := r.loads()
	say := func(code note.Code, values ...note.Value) { list = append(list, note.New(code, values...)) }
	c := r.corner
	if c.UnsprungKg > c.SprungKg {
		say("unsprung_over_sprung", num("unsprung", c.UnsprungKg, "kg"), num("sprung", c.SprungKg, "kg"))
	}
	unladen := &loads[0]
	hz := r.targets.RideHz.Range
	switch f := unladen.RideHz; {
	case f > highHz:
		say("frequency_high", num("frequency", f, "Hz"), num("most", highHz, "Hz"))
	case (f < hz.Low || f > hz.High) && unladen.WantedWheelRate.Wanted > 0:
		say("frequency_outside", num("frequency", f, "Hz"), num("low", hz.Low, "Hz"), num("high", hz.High, "Hz"),
			num("rate", unladen.WantedWheelRate.Wanted/1000, "N/mm"))
	case unladen.WantedWheelRate.Wanted == 0:
		say("tyre_too_soft", num("frequency", hz.High, "Hz"), num("tyre_rate", c.TyreRate, "N/mm"))
	}
	w := &r.wanted
	switch {
	case w.AtDamper.Wanted == 0:
		say("friction_enough", num("friction", c.Friction, "N"))
	case w.AtDamper.Low > w.AtDamper.High:
		last := &loads[len(loads)-1]
		say("loads_apart", num("unladen", unladen.Ratio, ""), num("laden", last.Ratio, ""),
			num("low", r.targets.Ratio.Range.Low, ""), num("high", r.targets.Ratio.Range.High, ""))
	}
	return list
}

// steps is the arithmetic, for the unladen corner and then what all loads want.
func (r *Rater) steps(a *Answer) []note.Step {
	const (
		perMetre      = 1000
		virtualWork   = "virtual work; the force term is often left out"
		linearCar     = "linear quarter car; Gobbi and Mastinu, J. Sound Vib. 245 (2001), from memory"
		linearisation = "statistical linearisation; Roberts and Spanos (1990), from memory"
		vibration     = "natural frequency of a mass on a spring"
	)
	var list []note.Step
	add := func(code note.Code, result note.Value, source string, values ...note.Value) {
		list = append(list, note.Step{Note: note.New(code, values...), Result: result, Source: source})
	}
	c, w := r.corner, &a.Wanted
	u := &a.Loads[0]
	if c.SpringRate > 0 {
		add("rate_at_wheel", num("wheel_rate", u.WheelRate/perMetre, "N/mm"), virtualWork,
			num("spring_rate", c.SpringRate, "N/mm"), num("ratio", u.SpringRatio, ""), num("force", u.SpringForce, "N"), num("change", c.SpringRatioChange, "1/m"))
	}
	for i := range a.Loads {
		l := &a.Loads[i]
		mass := num("mass", l.SprungKg, "kg")
		if i > 0 {
			add("load_sinks", note.Len("sink", unit.FromMm(l.Sink*perMetre)), "", mass)
		}
		add("ride_frequency", num("frequency", l.RideHz, "Hz"), vibration, mass,
			num("wheel_rate", l.WheelRate/perMetre, "N/mm"), num("tyre_rate", c.TyreRate, "N/mm"))
		add("critical_damping", num("critical", l.Critical, "N·s/m"), vibration, mass, num("wheel_rate", l.WheelRate/perMetre, "N/mm"))
	}
	add("hop_frequency", num("frequency", u.HopHz, "Hz"), vibration, num("mass", c.UnsprungKg, "kg"),
		num("wheel_rate", u.WheelRate/perMetre, "N/mm"), num("tyre_rate", c.TyreRate, "N/mm"))
	ratio := r.targets.Ratio
	add("ratio_wanted", num("ratio", ratio.Range.Wanted, ""), ratio.Source, num("low", ratio.Range.Low, ""), num("high", ratio.Range.High, ""),
		note.Word("use", r.targets.Use.String()))
	if len(a.Loads) > 1 {
		add("ratio_between_loads", num("ratio", u.Ratio, ""), ourChoice, num("laden", a.Loads[1].Ratio, ""))
	}
	add("damping_at_wheel", num("damping", w.AtWheel, "N·s/m"), "", num("ratio", u.Ratio, ""), num("critical", u.Critical, "N·s/m"))
	if c.Friction > 0 {
		add("friction_share", num("damping", w.FrictionAtWheel, "N·s/m"), linearisation, num("friction", c.Friction, "N"),
			num("velocity", w.Velocity/u.DamperRatio, "m/s"))
	}
	add("damping_at_damper", num("damping", w.AtDamper.Wanted, "N·s/m"), "virtual work", num("damping", w.AtWheel-w.FrictionAtWheel, "N·s/m"),
		num("ratio", u.DamperRatio, ""), num("dampers", c.Count(), ""))
	add("split", num("rebound", w.Rebound.Wanted, "N·s/m"), r.targets.SplitSource, num("split", r.targets.Split, ""), num("compression", w.Compression.Wanted, "N·s/m"))
	add("velocity_on_road", num("velocity", w.Velocity, "m/s"), linearCar, note.Word("class", r.targets.Class.String()), num("speed", r.targets.SpeedKmh, "km/h"),
		num("power", r.power, "W"))
	return list
}
