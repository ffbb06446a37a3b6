package damping

import (
	"math"

	"midstroke/internal/note"
	"midstroke/internal/ride"
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
	case unladen.WantedWheelRate.Wanted == 0:
		say("tyre_too_soft", num("frequency", hz.Wanted, "Hz"), num("tyre_rate", c.TyreRate, "N/mm"))
	case f < hz.Low || f > hz.High:
		say("frequency_outside", num("frequency", f, "Hz"), num("low", hz.Low, "Hz"), num("high", hz.High, "Hz"),
			num("rate", unladen.WantedWheelRate.Wanted/1000, "N/mm"))
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

// BeyondTables warns of the table, of those that dampers were rated by, that gives the
// most of its damping beyond its end at the position to start from. part is 0 to 1.
func BeyondTables(damper string, part float64) []note.Note {
	if part < tellBeyond {
		return nil
	}
	return []note.Note{note.New("beyond_table", note.Word("damper", damper), num("part", 100*part, "%"))}
}

// GasNeverSettles warns of listed dampers with whose gas force the corner never settles, so
// that they can't be rated. It names the first.
func GasNeverSettles(dampers []string) []note.Note {
	if len(dampers) == 0 {
		return nil
	}
	values := []note.Value{note.Word("damper", dampers[0])}
	if others := len(dampers) - 1; others > 0 {
		values = append(values, num("others", float64(others), ""))
	}
	return []note.Note{note.New("gas_never_settles", values...)}
}

// part is a figure that a step's result is worked out from. It has so many digits
// that a pocket calculator comes to the result, which num tells to four.
func part(name string, v float64, unitName string) note.Value {
	return note.FigureTo(name, v, unitName, partDigits)
}

const partDigits = 6

// Where the arithmetic came from.
const (
	virtualWork   = "virtual work; the force term is often left out"
	linearCar     = "linear quarter car; Gobbi and Mastinu, J. Sound Vib. 245 (2001), from memory"
	linearisation = "statistical linearisation; Roberts and Spanos (1990), from memory"
	vibration     = "natural frequency of a mass on a spring"
)

// stepList is the arithmetic of an answer while it is written down.
type stepList []note.Step

func (l *stepList) add(code note.Code, result note.Value, source string, values ...note.Value) {
	*l = append(*l, note.Step{Note: note.New(code, values...), Result: result, Source: source})
}

// steps is the arithmetic, for the corner at each load and then what all loads want.
func (r *Rater) steps(a *Answer) []note.Step {
	var list stepList
	c, w := r.corner, &a.Wanted
	u := &a.Loads[0]
	if c.SpringRate > 0 {
		values := []note.Value{part("spring_rate", c.SpringRate, "N/mm"), part("ratio", u.SpringRatio, "")}
		if c.SpringRatioChange != 0 {
			values = append(values, part("force", u.SpringForce, "N"), part("change", c.SpringRatioChange, "1/m"))
		}
		list.add("rate_at_wheel", num("wheel_rate", u.WheelRate/perMetre, "N/mm"), virtualWork, values...)
	}
	for i := range a.Loads {
		l := &a.Loads[i]
		mass := part("mass", l.SprungKg, "kg")
		rate := part("wheel_rate", l.WheelRate/perMetre, "N/mm")
		if i > 0 {
			r.addSink(&list, u, l, mass)
		}
		list.add("ride_frequency", num("frequency", l.RideHz, "Hz"), vibration, mass, rate, part("tyre_rate", c.TyreRate, "N/mm"))
		list.add("critical_damping", num("critical", l.Critical, "N·s/m"), vibration, mass, rate)
	}
	list.add("hop_frequency", num("frequency", u.HopHz, "Hz"), vibration, part("mass", c.UnsprungKg, "kg"),
		part("wheel_rate", u.WheelRate/perMetre, "N/mm"), part("tyre_rate", c.TyreRate, "N/mm"))
	ratio := r.targets.Ratio
	list.add("ratio_wanted", num("ratio", ratio.Range.Wanted, ""), ratio.Source, num("low", ratio.Range.Low, ""), num("high", ratio.Range.High, ""),
		note.Word("use", r.targets.Use.String()))
	road := ride.Road{Class: r.targets.Class, SpeedKmh: r.targets.SpeedKmh}
	const cubicCentimetres = 1e6 // in a cubic metre
	list.add("road_power", num("power", r.powerAtWheel(), "W"), linearCar, note.Word("class", r.targets.Class.String()),
		part("speed", road.SpeedKmh, "km/h"), part("velocity", road.Speed(), "m/s"),
		part("roughness", road.Class.Roughness()*cubicCentimetres, "cm³"), part("tyre_rate", c.TyreRate, "N/mm"))
	r.dampingSteps(&list, a)
	if w.AtDamper.Wanted > 0 {
		list.add("split", num("rebound", w.Rebound.Wanted, "N·s/m"), r.targets.SplitSource, num("split", r.targets.Split, ""),
			part("damping", w.AtDamper.Wanted, "N·s/m"), part("compression", w.Compression.Wanted, "N·s/m"))
	}
	list.add("velocity_on_road", num("velocity", w.Velocity, "m/s"), "virtual work", part("velocity", w.Velocity/u.DamperRatio, "m/s"), part("ratio", u.DamperRatio, ""))
	return list
}

// addSink shows by how much a load brings the body down.
func (r *Rater) addSink(list *stepList, unladen, laden *LoadAnswer, mass note.Value) {
	sink := note.Len("sink", unit.FromMm(laden.Sink*perMetre))
	motion := r.corner.SpringMotion()
	if !motion.Varies() {
		list.add("load_sinks", sink, "", mass, part("unladen", unladen.SprungKg, "kg"), part("wheel_rate", unladen.WheelRate/perMetre, "N/mm"))
		return
	}
	ratio, before := part("ratio", laden.SpringRatio, ""), part("unladen_ratio", unladen.SpringRatio, "")
	force, rate := part("force", unladen.SpringForce, "N"), part("spring_rate", laden.SpringRate/perMetre, "N/mm")
	if motion.OnCurve() {
		list.add("load_sinks_on_linkage", sink, "virtual work", mass, before, ratio, force, rate, note.Given("shorter", unit.FromMm(laden.Shorter*perMetre)))
		return
	}
	list.add("load_sinks_by_trial", sink, "virtual work", mass, before, ratio, force, rate)
}

// dampingSteps goes from the wanted damping ratio to the damping of one damper, and to
// the velocity of the wheel, unladen.
func (r *Rater) dampingSteps(list *stepList, a *Answer) {
	w, u := &a.Wanted, &a.Loads[0]
	wanted := part("ratio", r.targets.Ratio.Range.Wanted, "")
	if !r.sameRatio() && w.AtDamper.Wanted > 0 {
		list.add("damping_by_trial", num("damping", w.AtDamper.Wanted, "N·s/m"), ourChoice, wanted)
		for i := range a.Loads {
			l := &a.Loads[i]
			values := []note.Value{part("mass", l.SprungKg, "kg"),
				num("dampers", r.corner.Count(), ""), part("damper", w.AtDamper.Wanted, "N·s/m"), part("ratio", l.DamperRatio, "")}
			if r.corner.Friction > 0 {
				values = append(values, part("friction", r.atWheel[i]-r.ofDampers(l.DamperRatio), "N·s/m"))
			}
			list.add("damping_with_load", num("damping", r.atWheel[i], "N·s/m"), "virtual work", values...)
			r.frictionSteps(list, r.atWheel[i])
		}
		addRatios(list, a, r.atWheel)
		return
	}
	least := r.betweenLoads() // at the wheel; friction alone may give more
	if len(a.Loads) > 1 {
		list.add("damping_between_loads", num("damping", least, "N·s/m"), ourChoice, wanted,
			part("unladen", u.Critical, "N·s/m"), part("laden", a.Loads[1].Critical, "N·s/m"))
	} else {
		list.add("damping_at_wheel", num("damping", least, "N·s/m"), "", wanted, part("critical", u.Critical, "N·s/m"))
	}
	if w.AtDamper.Wanted == 0 {
		list.add("friction_alone", num("damping", w.AtWheel, "N·s/m"), linearisation, part("friction", r.corner.Friction, "N"), part("power", r.powerAtWheel(), "W"))
	}
	if len(a.Loads) > 1 {
		addRatios(list, a, r.atWheel)
	}
	if w.AtDamper.Wanted == 0 {
		r.addWheelVelocity(list, w.AtWheel)
		return
	}
	r.frictionSteps(list, w.AtWheel)
	left := w.AtWheel - w.FrictionAtWheel
	if r.corner.Friction > 0 {
		list.add("damping_left", num("damping", left, "N·s/m"), "", part("damping", w.AtWheel, "N·s/m"), part("friction", w.FrictionAtWheel, "N·s/m"))
	}
	list.add("damping_at_damper", num("damping", w.AtDamper.Wanted, "N·s/m"), "virtual work", part("damping", left, "N·s/m"),
		part("ratio", u.DamperRatio, ""), num("dampers", r.corner.Count(), ""))
}

// frictionSteps shows the wheel's velocity where so much damping is at the wheel, and
// what of it is friction's.
func (r *Rater) frictionSteps(list *stepList, atWheel float64) {
	velocity := r.addWheelVelocity(list, atWheel)
	if r.corner.Friction > 0 {
		list.add("friction_share", num("damping", r.frictionAtWheel(velocity), "N·s/m"), linearisation, part("friction", r.corner.Friction, "N"),
			part("velocity", velocity, "m/s"))
	}
}

func (r *Rater) addWheelVelocity(list *stepList, atWheel float64) float64 {
	velocity := math.Sqrt(r.powerAtWheel() / atWheel)
	list.add("wheel_velocity", num("velocity", velocity, "m/s"), linearCar, note.Word("class", r.targets.Class.String()),
		part("speed", r.targets.SpeedKmh, "km/h"), part("power", r.powerAtWheel(), "W"), part("damping", atWheel, "N·s/m"))
	return velocity
}

// addRatios shows the damping ratio at both loads.
func addRatios(list *stepList, a *Answer, atWheel []float64) {
	u, laden := &a.Loads[0], &a.Loads[1]
	list.add("ratio_between_loads", num("ratio", u.Ratio, ""), "",
		part("laden_damping", atWheel[1], "N·s/m"), part("laden_critical", laden.Critical, "N·s/m"), part("laden", laden.Ratio, ""),
		part("damping", atWheel[0], "N·s/m"), part("critical", u.Critical, "N·s/m"))
}
