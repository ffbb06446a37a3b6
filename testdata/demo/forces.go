package demo

import (
	"math"
	"strconv"

	"midstroke/internal/catalog"
	"midstroke/internal/damping"
	"midstroke/internal/unit"
)

// valving is how the forces of a damper grow with velocity. Its figures are
// invented round numbers.
type valving struct {
	// power is the p of F ~ v^p: under 1 digressive, 1 linear, above 1 progressive.
	power float64
	// reboundOver is the rebound force over the compression force.
	reboundOver float64
}

var valvings = []valving{
	{power: 0.55, reboundOver: 2.2},
	{power: 0.7, reboundOver: 2},
	{power: 1, reboundOver: 1.6},
	{power: 1.2, reboundOver: 1.5},
}

// strengths are mean forces of both directions in N at midVelocity, of slim and of
// stout bodies.
var (
	slimStrengths  = []float64{140, 220, 340, 480}
	stoutStrengths = []float64{260, 400, 600, 850}
)

// stout is from which diameter a body is stout.
const stout = 50 * unit.Millimetre

// The velocities of all tables, m/s.
var velocities = []float64{0.05, 0.13, 0.26, 0.39, 0.52, 1.05}

const midVelocity = 0.26

// steps are the factors of the positions that an adjuster has.
var steps = []float64{0.7, 0.85, 1, 1.2, 1.45}

// Pressures of the gas in MPa.
const (
	monotubePressure = 2.2
	twinTubePressure = 0.6
)

// addForces gives dampers their gas force and, to seven of ten, a force table. It
// draws from a source of its own, so that lists of sizes stay as they were.
func addForces(seed int64, list []catalog.Damper) {
	d := newDraw(seed, 5)
	for i := range list {
		one := &list[i]
		t := damping.Table{GasForce: gasForce(one), Reservoir: damping.NoReservoir}
		if one.Construction == catalog.Monotube && d.chance(12) {
			t.Reservoir = pick(d, []damping.Reservoir{damping.AttachedReservoir, damping.RemoteReservoir})
		}
		strengths := slimStrengths
		if one.BodyDiameter >= stout {
			strengths = stoutStrengths
		}
		v, strength := pick(d, valvings), pick(d, strengths)
		listed, included := d.chance(70), d.chance(40)
		if listed {
			t.Celsius, t.TemperatureKnown = 20, true
			t.GasIncluded = included && t.GasForce > 0
			t.Curves = v.curves(strength, one.Adjusters, t)
		}
		one.Forces, one.GasIncluded, one.Reservoir = catalog.NewForces(&t), t.GasIncluded, t.Reservoir
	}
}

// gasForce is p·π·d²/4 of the rod, in steps of 10 N. A thicker body has a thicker
// rod, of some 0.27 of its diameter.
func gasForce(d *catalog.Damper) float64 {
	if !d.Gas {
		return 0
	}
	pressure := twinTubePressure
	if d.Construction == catalog.Monotube {
		pressure = monotubePressure
	}
	rod := 0.27 * d.BodyDiameter.Mm()
	return rounded(pressure*math.Pi/4*rod*rod, 10)
}

func rounded(n, to float64) float64 { return to * math.Round(n/to) }

// curves makes the force table, one curve for each position of the adjusters.
func (v valving) curves(strength float64, adjusters catalog.Adjusters, t damping.Table) []damping.Curve {
	compression := strength * 2 / (1 + v.reboundOver)
	rebound := compression * v.reboundOver
	gas := 0.0
	if t.GasIncluded {
		gas = t.GasForce
	}
	curve := func(position string, c, r float64) damping.Curve {
		points := make([]damping.Point, len(velocities))
		for i, velocity := range velocities {
			grown := math.Pow(velocity/midVelocity, v.power)
			points[i] = damping.Point{Velocity: velocity, Compression: rounded(c*grown, 5) + gas, Rebound: rounded(r*grown, 5) - gas}
		}
		return damping.Curve{Position: position, Points: points}
	}
	if !adjusters.Has(catalog.Compression) && !adjusters.Has(catalog.Rebound) {
		return []damping.Curve{curve("", compression, rebound)}
	}
	list := make([]damping.Curve, len(steps))
	for i, step := range steps {
		c, r := compression, rebound
		if adjusters.Has(catalog.Compression) {
			c *= step
		}
		if adjusters.Has(catalog.Rebound) {
			r *= step
		}
		list[i] = curve(strconv.Itoa(i+1), c, r)
	}
	return list
}
