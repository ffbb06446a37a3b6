package damping

import (
	"math"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"midstroke/internal/fault"
	"midstroke/internal/note"
)

// The faults of a force table.
const (
	velocityOutOfRange    fault.Code = "out_of_range.velocity"
	forceOutOfRange       fault.Code = "out_of_range.force"
	gasForceOutOfRange    fault.Code = "out_of_range.gas_force"
	temperatureOutOfRange fault.Code = "out_of_range.test_temperature"
	tooFewPoints          fault.Code = "too_few_points"
	tooManyPoints         fault.Code = "too_many_points"
	tooManyPositions      fault.Code = "too_many_positions"
	velocityNotRising     fault.Code = "velocity_not_rising"
	velocityTwice         fault.Code = "velocity_twice"
	forceWrongSign        fault.Code = "force_wrong_sign"
	gasWrongSign          fault.Code = "force_wrong_sign.gas"
	forceFalls            fault.Code = "force_falls"
	noForce               fault.Code = "no_force"
	positionMissing       fault.Code = "missing.position"
	positionUnprintable   fault.Code = "position_unprintable"
	positionTwice         fault.Code = "position_twice"
	gasForceMissing       fault.Code = "missing.gas_force"
)

// Limits of a force table. They are our choice: wide enough for any damper on
// wheels, narrow enough to catch a wrong unit.
const (
	MostVelocity  = 10      // m/s; a table in mm/s or in/s goes beyond
	MostForce     = 100_000 // N
	MostGasForce  = 5_000   // N
	LeastCelsius  = -60
	MostCelsius   = 200
	MostPoints    = 64
	MostPositions = 64
	MostPosition  = 24 // characters of a position's name
)

// leastOfEarlier is the part of the force at a lower velocity that a force must
// have. Tests are noisy, and blow-off valves let forces sag, but a force of less
// than half is a slip of the pen (our choice).
const leastOfEarlier = 0.5

// roundingOfGas is by how much a force without the gas may be below zero, N: the
// gas force depends on the place of the piston, and tables are rounded.
const roundingOfGas = 25

// Faults tells what cannot be. Its pointers go into {"curves": [{"position",
// "points": [{"velocity", "compression", "rebound"}]}], "gas_force",
// "gas_included", "reservoir", "test_temperature"}.
func (t *Table) Faults() fault.List {
	var faults fault.List
	if !(t.GasForce >= 0 && t.GasForce <= MostGasForce) {
		faults.Add("/gas_force", gasForceOutOfRange, note.Num("most", MostGasForce, "N"))
	} else if t.GasIncluded && t.GasForce == 0 {
		faults.Add("/gas_force", gasForceMissing)
	}
	if t.TemperatureKnown && !(t.Celsius >= LeastCelsius && t.Celsius <= MostCelsius) {
		faults.Add("/test_temperature", temperatureOutOfRange, note.Num("least", LeastCelsius, "°C"), note.Num("most", MostCelsius, "°C"))
	}
	if len(t.Curves) > MostPositions {
		faults.Add("/curves", tooManyPositions, note.Num("most", MostPositions, ""))
		return faults
	}
	for i := range t.Curves {
		at := "/curves/" + strconv.Itoa(i)
		t.positionFaults(i, at+"/position", &faults)
		faults.AddUnder(at, t.curveFaults(&t.Curves[i]))
	}
	return faults
}

func (t *Table) positionFaults(i int, pointer string, faults *fault.List) {
	position := t.Curves[i].Position
	switch {
	case position == "" && len(t.Curves) > 1:
		faults.Add(pointer, positionMissing)
	case utf8.RuneCountInString(position) > MostPosition || strings.TrimSpace(position) != position ||
		strings.ContainsFunc(position, func(r rune) bool { return r == unicode.ReplacementChar || !unicode.IsPrint(r) }):
		faults.Add(pointer, positionUnprintable, note.Num("most", MostPosition, ""))
	default:
		for j := range i {
			if t.Curves[j].Position == position && position != "" {
				faults.Add(pointer, positionTwice, note.Word("position", position))
				return
			}
		}
	}
}

// curveFaults gives the faults of a curve, with pointers from the curve.
func (t *Table) curveFaults(c *Curve) fault.List {
	var faults fault.List
	const least = 2
	switch n := len(c.Points); {
	case n < least:
		faults.Add("/points", tooFewPoints, note.Num("least", least, ""), note.Num("points", float64(n), ""))
		return faults
	case n > MostPoints:
		faults.Add("/points", tooManyPoints, note.Num("most", MostPoints, ""))
		return faults
	}
	for i := range c.Points {
		at := "/points/" + strconv.Itoa(i)
		c.velocityFaults(i, at+"/velocity", &faults)
		t.forceFaults(c, i, at, &faults)
	}
	if len(faults) == 0 && !t.resists(c) {
		faults.Add("/points", noForce)
	}
	return faults
}

func (c *Curve) velocityFaults(i int, pointer string, faults *fault.List) {
	v := c.Points[i].Velocity
	if !(v >= 0 && v <= MostVelocity) {
		faults.Add(pointer, velocityOutOfRange, note.Num("most", MostVelocity, "m/s"))
		return
	}
	if i == 0 {
		return
	}
	switch before := c.Points[i-1].Velocity; {
	case v == before:
		faults.Add(pointer, velocityTwice, note.Num("velocity", v, "m/s"))
	case v < before:
		faults.Add(pointer, velocityNotRising, note.Num("velocity", v, "m/s"), note.Num("before", before, "m/s"))
	}
}

func (t *Table) forceFaults(c *Curve, i int, at string, faults *fault.List) {
	compression, rebound := t.Force(c.Points[i])
	var earlierCompression, earlierRebound float64
	if i > 0 {
		earlierCompression, earlierRebound = t.Force(c.Points[i-1])
	}
	t.oneForceFaults(at+"/compression", c.Points[i].Compression, compression, earlierCompression, faults)
	t.oneForceFaults(at+"/rebound", c.Points[i].Rebound, rebound, earlierRebound, faults)
}

// oneForceFaults judges one force as it was written, as it is without the gas,
// and beside the one at the velocity before it, without the gas too.
func (t *Table) oneForceFaults(pointer string, written, force, earlier float64, faults *fault.List) {
	switch {
	case !(math.Abs(written) <= MostForce):
		faults.Add(pointer, forceOutOfRange, note.Num("most", MostForce, "N"))
	case !t.GasIncluded && written < 0:
		faults.Add(pointer, forceWrongSign, note.Num("force", written, "N"))
	case t.GasIncluded && force < -roundingOfGas:
		faults.Add(pointer, gasWrongSign, note.Num("force", force, "N"), note.Num("gas_force", t.GasForce, "N"))
	case force < leastOfEarlier*earlier-roundingOfGas:
		faults.Add(pointer, forceFalls, note.Num("force", force, "N"), note.Num("before", earlier, "N"))
	}
}

// resists says whether a curve has a force in either direction.
func (t *Table) resists(c *Curve) bool {
	for _, p := range c.Points {
		if compression, rebound := t.Force(p); compression > 0 || rebound > 0 {
			return true
		}
	}
	return false
}
