package wire

import (
	"midstroke/internal/damping"
	"midstroke/internal/form"
	"midstroke/internal/ride"
)

// cornerTable is the fields of a vehicle's corner. Their bounds are those of package
// ride, which catch a slip of the unit; it says what of them belongs together.
var cornerTable = form.NewRecord(
	form.Field("sprung_kg", mass, func(c *ride.Corner) *float64 { return &c.SprungKg }).Needed(),
	form.Field("sprung_laden_kg", mass, func(c *ride.Corner) *float64 { return &c.LadenKg }),
	form.Field("unsprung_kg", mass, func(c *ride.Corner) *float64 { return &c.UnsprungKg }).Needed(),
	form.Field("wheel_rate_n_mm", rate, func(c *ride.Corner) *float64 { return &c.WheelRate }),
	form.Field("spring_rate_n_mm", rate, func(c *ride.Corner) *float64 { return &c.SpringRate }),
	form.Field("spring_ratio", partRatio, func(c *ride.Corner) *float64 { return &c.SpringRatio }),
	form.Field("spring_ratio_change_per_m", ratioChange, func(c *ride.Corner) *float64 { return &c.SpringRatioChange }),
	form.Field("spring_roll_ratio", partRatio, func(c *ride.Corner) *float64 { return &c.SpringRollRatio }),
	form.Field("damper_ratio", partRatio, func(c *ride.Corner) *float64 { return &c.DamperRatio }),
	form.Field("damper_ratio_change_per_m", ratioChange, func(c *ride.Corner) *float64 { return &c.DamperRatioChange }),
	form.Field("damper_roll_ratio", partRatio, func(c *ride.Corner) *float64 { return &c.DamperRollRatio }),
	form.Field("roll_bar_rate_n_mm", rate, func(c *ride.Corner) *float64 { return &c.RollBarRate }),
	form.Field("friction_n", form.In(form.Force, upTo(ride.MostFriction)), func(c *ride.Corner) *float64 { return &c.Friction }),
	form.Field("tyre_rate_n_mm", rate, func(c *ride.Corner) *float64 { return &c.TyreRate }).Needed(),
	form.Field("dampers", form.Whole(1, ride.MostDampers), func(c *ride.Corner) *int { return &c.Dampers }),
	form.Field("damping_ns_m", form.In(form.Damping, upTo(ride.MostDamping)), func(c *ride.Corner) *float64 { return &c.Damping }),
).Settle(func(v form.Value, c *ride.Corner) {
	c.SpringRatioHeld = v.Member("spring_ratio_change_per_m").Given() && c.SpringRatioChange == 0
	c.DamperRatioHeld = v.Member("damper_ratio_change_per_m").Given() && c.DamperRatioChange == 0
})

var (
	speed       = form.In(form.Speed, upTo(ride.MostSpeed))
	mass        = form.In(form.Mass, upTo(ride.MostMass))
	rate        = form.In(form.Rate, upTo(ride.MostRate))
	partRatio   = form.NumberOr(upTo(ride.MostRatio), ride.RatioOutOfRange)
	ratioChange = form.Number(form.Span{Least: -ride.MostRatioChange, Most: ride.MostRatioChange})
)

// targetsTable is the fields of what is wanted of spring and damping.
var targetsTable = form.NewRecord(
	form.Field("use", form.OneOf(damping.Uses.All(), damping.Uses.Parse), func(t *damping.Targets) *damping.Use { return &t.Use }),
	form.Field("ride_hz", form.NumberOr(upTo(damping.MostRideHz), damping.RideHzOutOfRange), func(t *damping.Targets) *float64 { return &t.RideHz }),
	form.Field("damping_ratio", dampingRatio, func(t *damping.Targets) *float64 { return &t.Ratio }),
	form.Field("damping_ratio_low", dampingRatio, func(t *damping.Targets) *float64 { return &t.RatioLow }),
	form.Field("damping_ratio_high", dampingRatio, func(t *damping.Targets) *float64 { return &t.RatioHigh }),
	form.Field("rebound_over_compression", form.NumberOr(form.Span{Least: damping.LeastSplit, Most: damping.MostSplit}, damping.SplitOutOfRange), func(t *damping.Targets) *float64 { return &t.Split }),
	form.Part("road", form.NewRecord(
		form.Field("class", form.OneOf(ride.Classes(), ride.ParseClass), func(t *damping.Targets) *ride.Class { return &t.Class }),
		form.Field("speed_kmh", speed, func(t *damping.Targets) *float64 { return &t.SpeedKmh }),
	), itself[damping.Targets]),
)

var dampingRatio = form.NumberOr(upTo(damping.MostRatio), damping.RatioOutOfRange)
