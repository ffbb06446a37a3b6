package httpapi_test

import (
	"encoding/json"
	"fmt"
	"math"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"testing"

	"gonum.org/v1/gonum/integrate/quad"
)

// The corner, the targets and the spring of TestEveryNumberOfRates are invented. Both
// motion ratios change with travel, so that the force terms count.
const (
	ms, msLaden, mu   = 300.0, 420.0, 44.0
	kSpring, kTyre    = 46e3, 210e3 // N/m
	sr, srChange      = 0.72, -0.5
	dr, drChange      = 0.84, -0.3
	srRoll, drRoll    = 0.8, 0.9
	rollBar, friction = 9e3, 70.0
	perWheel          = 2.0 // dampers
	dampingNow        = 2100.0
	ratioLow          = 0.25
	ratioWanted       = 0.33
	ratioHigh         = 0.45
	hzWanted          = 1.4
	splitWanted       = 1.8
	// Class C of ISO 8608 is 256e-6 m³ at 0.1 cycle/m.
	roughness, speedMs = 256e-6, 70 / 3.6
	wire, coil, turns  = 13.0, 88.0, 8.6
	free, bump, droop  = 430.0, 60.0, 75.0
	seats              = 205.0
	yield, shearGPa    = 700.0, 79.3
)

const numbersBody = `{"units": %q,
	"corner": {"sprung_kg": 300, "sprung_laden_kg": 420, "unsprung_kg": 44, "spring_rate_n_mm": 46, "spring_ratio": 0.72, "spring_ratio_change_per_m": -0.5,
		"spring_roll_ratio": 0.8, "damper_ratio": 0.84, "damper_ratio_change_per_m": -0.3, "damper_roll_ratio": 0.9, "roll_bar_rate_n_mm": 9,
		"friction_n": 70, "tyre_rate_n_mm": 210, "dampers": 2, "damping_ns_m": 2100},
	"targets": {"use": "load_carrying", "ride_hz": 1.4, "damping_ratio": 0.33, "damping_ratio_low": 0.25, "damping_ratio_high": 0.45,
		"rebound_over_compression": 1.8, "road": {"class": "C", "speed_kmh": 70}},
	"velocities": [0.1, "300 mm/s"],
	"spring": {"wire": "13 mm", "mean_diameter": "88 mm", "turns": 8.6, "ends": "squared_ground", "free_length": "430 mm", "shear_yield_mpa": 700,
		"rate_tolerance": 0.04, "fixity": 0.7, "seats_at_ride": "205 mm", "bump": "60 mm", "droop": "75 mm"},
	"top": 6}`

// numbers are those of an answer by their paths. What was compared is taken out.
type numbers struct {
	*testing.T
	left    map[string]float64
	lengths float64 // what a millimetre is in the answer
}

func (n *numbers) collect(path string, v any) {
	switch v := v.(type) {
	case float64:
		n.left[path] = v
	case map[string]any:
		for name, one := range v {
			n.collect(strings.TrimPrefix(path+"."+name, "."), one)
		}
	case []any:
		for i, one := range v {
			n.collect(path+"."+strconv.Itoa(i), one)
		}
	}
}

func (n *numbers) is(path string, want float64) { n.within(path, want, 2e-5) }

// within compares a number, to a part of it and to the last decimals that are told.
func (n *numbers) within(path string, want, part float64) {
	n.Helper()
	got, ok := n.left[path]
	delete(n.left, path)
	if !ok || math.Abs(got-want) > part*math.Abs(want)+2e-5+n.lastDecimal(path) {
		n.Errorf("%s is %v, want %.9g", path, got, want)
	}
}

// lastDecimal is what rounding may do to a figure, by its unit.
func (n *numbers) lastDecimal(path string) float64 {
	for end, by := range map[string]float64{"_ns_m": 1e-3, "_n": 1e-2, "_kg": 1e-3, "_mpa": 0.1, "_psi": 1, "_lbf": 1e-3, "_lb": 1e-3, "_in_s": 1e-4, "_mph": 1e-4} {
		if strings.HasSuffix(path, end) || strings.Contains(path, end+".") {
			return by
		}
	}
	return 0
}

func (n *numbers) length(path string, mm float64) { n.is(path, mm*n.lengths) }

// both compares a figure in its metric unit and, where lengths are in inches, the same
// in the other one: conversion factors of NIST SP 811, appendix B.8.
func (n *numbers) both(path, rest string, want float64) {
	n.Helper()
	for metric, other := range map[string]struct {
		end string
		is  float64
	}{
		"_ns_m": {"_lbf_s_in", 175.12684}, "_n_mm": {"_lbf_in", 0.17512684}, "_n": {"_lbf", 4.4482216}, "_m_s": {"_in_s", 0.0254},
		"_kg": {"_lb", 0.45359237}, "_mpa": {"_psi", 0.0068947573}, "_kmh": {"_mph", 1.609344},
	} {
		if base, ok := strings.CutSuffix(path, metric); ok && (metric != "_n" || !strings.HasSuffix(path, "_n_mm")) {
			n.is(path+rest, want)
			if n.lengths != 1 {
				n.is(base+other.end+rest, want/other.is)
			}
			return
		}
	}
	n.Errorf("no unit: %s", path)
}

func (n *numbers) ranged(path string, low, wanted, high float64) {
	n.Helper()
	n.both(path, ".low", low)
	n.both(path, ".wanted", wanted)
	n.both(path, ".high", high)
}

const gravity = 9.80665

// bisect finds where a falling or rising function is 0.
func bisect(low, high float64, f func(x float64) float64) float64 {
	rising := f(high) > f(low)
	for range 60 {
		if x := (low + high) / 2; (f(x) < 0) == rising {
			low = x
		} else {
			high = x
		}
	}
	return (low + high) / 2
}

// atRest is a corner that carries a mass with a gas force, by virtual work: the energy
// of the spring over wheel travel is f0 x + k x²/2 with x = ratio z + change z²/2.
type atRest struct{ z, sr, dr, force, rate, critical float64 }

func settled(mass, gas float64) atRest {
	f0 := ms * gravity / sr
	travel := func(z float64) float64 { return sr*z + srChange*z*z/2 }
	energy := func(z float64) float64 { x := travel(z); return f0*x + kSpring*x*x/2 + gas*(dr*z+drChange*z*z/2) }
	const h = 1e-4
	force := func(z float64) float64 { return (energy(z+h) - energy(z-h)) / (2 * h) }
	var s atRest
	s.z = bisect(-0.2, 0.2, func(z float64) float64 { return force(z) - mass*gravity })
	s.sr, s.dr = sr+srChange*s.z, dr+drChange*s.z
	s.force = f0 + kSpring*travel(s.z)
	s.rate = (force(s.z+h) - force(s.z-h)) / (2 * h)
	s.critical = 2 * math.Sqrt(s.rate*mass)
	return s
}

// velocityDensity is half of the one-sided density of the road's velocity (ISO 8608).
var velocityDensity = math.Pow(2*math.Pi*0.1, 2) * roughness * speedMs / 2

// roadPower is the mean that all dampers and the friction of a wheel take: W k_t/2.
var roadPower = velocityDensity * kTyre / 2

// frictionAs is the linear damping of friction where all of the damping at the wheel
// is c: the power of friction is its force times the mean speed, √(2/π) σ.
func frictionAs(c float64) float64 {
	sigma := math.Sqrt(roadPower / c)
	return friction * math.Sqrt(2/math.Pi) * sigma / (sigma * sigma)
}

// TestEveryNumberOfRates computes each number of an answer again, by other code and
// where it can be by another method, from the request and the listed force tables. It
// does so in both systems of units.
func TestEveryNumberOfRates(t *testing.T) {
	for units, lengths := range map[string]float64{"mm": 1, "in": 1 / 25.4} {
		t.Run(units, func(t *testing.T) {
			s := newService(t)
			a := s.post(t, "/v1/rates", fmt.Sprintf(numbersBody, units))
			if a.status != http.StatusOK {
				t.Fatalf("%d: %s", a.status, a.body)
			}
			n := &numbers{T: t, left: map[string]float64{}, lengths: lengths}
			n.collect("", decode[any](t, a, http.StatusOK))
			loads := []atRest{settled(ms, 0), settled(msLaden, 0)}
			n.targets()
			perDamper := n.wanted(loads)
			n.loads(loads, perDamper)
			n.spring(loads)
			n.dampers(s, a)
			n.rest()
		})
	}
}

func (n *numbers) targets() {
	n.is("targets.ride_hz.low", 0.9*hzWanted)
	n.is("targets.ride_hz.wanted", hzWanted)
	n.is("targets.ride_hz.high", 1.1*hzWanted)
	n.is("targets.damping_ratio.low", ratioLow)
	n.is("targets.damping_ratio.wanted", ratioWanted)
	n.is("targets.damping_ratio.high", ratioHigh)
	n.is("targets.rebound_over_compression.wanted", splitWanted)
	n.both("targets.road.speed_kmh", "", speedMs*3.6)
}

// wanted gives the wanted damping of one damper.
func (n *numbers) wanted(loads []atRest) (perDamper float64) {
	// One damper's coefficient that gives a ratio at a load, beside friction.
	gives := func(l atRest, ratio float64) float64 {
		return (ratio*l.critical - frictionAs(ratio*l.critical)) / (perWheel * l.dr * l.dr)
	}
	low := max(gives(loads[0], ratioLow), gives(loads[1], ratioLow))
	high := min(gives(loads[0], ratioHigh), gives(loads[1], ratioHigh))
	// Between the loads: the geometric mean of the damping ratios is the wanted one.
	perDamper = bisect(gives(loads[0], ratioWanted), gives(loads[1], ratioWanted), func(c float64) float64 {
		return math.Log(loads[0].total(c)/loads[0].critical/ratioWanted) + math.Log(loads[1].total(c)/loads[1].critical/ratioWanted)
	})
	wheel := loads[0].total(perDamper)
	n.both("wanted.at_wheel_ns_m", "", wheel)
	n.both("wanted.friction_ns_m", "", frictionAs(wheel))
	n.ranged("wanted.at_damper_ns_m", low, perDamper, high)
	compression, rebound := 2/(1+splitWanted), 2*splitWanted/(1+splitWanted)
	n.ranged("wanted.compression_ns_m", low*compression, perDamper*compression, high*compression)
	n.ranged("wanted.rebound_ns_m", low*rebound, perDamper*rebound, high*rebound)
	velocity := dr * math.Sqrt(roadPower/wheel)
	n.both("wanted.velocity_m_s", "", velocity)
	// σ² of wheel travel is W (m_s + m_u)/(2c); the body moves at its own frequency.
	body := dr * math.Sqrt(seriesRate(loads[0].rate)/ms) * math.Sqrt(velocityDensity*(ms+mu)/(2*wheel))
	for i, v := range []float64{body, math.Sqrt(velocity*velocity - body*body), 3 * velocity, 0.1, 0.3} {
		at := "wanted.forces." + strconv.Itoa(i)
		n.both(at+".velocity_m_s", "", v)
		n.ranged(at+".compression_n", low*compression*v, perDamper*compression*v, high*compression*v)
		n.ranged(at+".rebound_n", low*rebound*v, perDamper*rebound*v, high*rebound*v)
	}
	return perDamper
}

// total is the damping at the wheel of all dampers and of friction, by one damper's.
func (s atRest) total(perDamper float64) float64 {
	dampers := perDamper * perWheel * s.dr * s.dr
	return bisect(dampers, 10*dampers, func(c float64) float64 { return c - dampers - frictionAs(c) })
}

// seriesRate is the rate of a spring and the tyre one above the other.
func seriesRate(k float64) float64 { return 1 / (1/k + 1/kTyre) }

func (n *numbers) loads(loads []atRest, perDamper float64) {
	for i, mass := range []float64{ms, msLaden} {
		l, at := loads[i], "loads."+strconv.Itoa(i)+"."
		hop := 2 * math.Sqrt((l.rate+kTyre)*mu)
		hertz := func(k, m float64) float64 { return math.Sqrt(k/m) / (2 * math.Pi) }
		n.both(at+"sprung_kg", "", mass)
		n.length(at+"sink", l.z*1000)
		n.is(at+"spring_ratio", l.sr)
		n.is(at+"damper_ratio", l.dr)
		n.both(at+"spring_force_n", "", l.force)
		n.both(at+"spring_rate_n_mm", "", kSpring/1000)
		n.both(at+"wheel_rate_n_mm", "", l.rate/1000)
		// With E(z) in heave the energy in roll is E(ρ z), whose second derivative is ρ² E''.
		n.both(at+"roll_rate_n_mm", "", (l.rate*srRoll*srRoll/(sr*sr)+rollBar)/1000)
		n.is(at+"ride_hz", hertz(seriesRate(l.rate), mass))
		n.is(at+"body_hz", hertz(l.rate, mass))
		n.is(at+"hop_hz", hertz(l.rate+kTyre, mu))
		n.both(at+"critical_ns_m", "", l.critical)
		n.both(at+"critical_at_damper_ns_m", "", l.critical/(perWheel*l.dr*l.dr))
		atWheel := l.total(perDamper)
		n.is(at+"damping_ratio", atWheel/l.critical)
		n.is(at+"hop_damping_ratio", atWheel/hop)
		n.is(at+"damping_ratio_now", dampingNow/l.critical)
		n.is(at+"hop_damping_ratio_now", dampingNow/hop)
		// The body's mean square acceleration is W/(2 m_s²) [k² M/c + c k_t] (Gobbi and
		// Mastinu 2001, from memory). Where it is least its slope is 0.
		slope := func(c float64) float64 { return kTyre - l.rate*l.rate*(mass+mu)/(c*c) }
		n.is(at+"comfort_damping_ratio", bisect(1, 1e5, slope)/l.critical)
		n.both(at+"roll_damping_ns_m", "", perDamper*perWheel*l.dr*l.dr*drRoll*drRoll/(dr*dr))
		var rates, springs [3]float64
		for j, hz := range []float64{0.9 * hzWanted, hzWanted, 1.1 * hzWanted} {
			rates[j] = bisect(1, 1e6, func(k float64) float64 { return hertz(seriesRate(k), mass) - hz })
			springs[j] = (rates[j] - mass*gravity/l.sr*srChange) / (l.sr * l.sr)
		}
		n.ranged(at+"wanted_wheel_rate_n_mm", rates[0]/1000, rates[1]/1000, rates[2]/1000)
		n.ranged(at+"wanted_spring_rate_n_mm", springs[0]/1000, springs[1]/1000, springs[2]/1000)
	}
}

// spring uses the forms of EN 13906-1 (from memory), which are not those of the code:
// k by the index w = D/d, and s_k for buckling.
func (n *numbers) spring(loads []atRest) {
	const w = coil / wire
	const active = turns - 2
	const rate = shearGPa * 1000 * wire / (8 * w * w * w * active) // N/mm
	n.both("spring.rate_n_mm", "", rate)
	n.both("spring.least_rate_n_mm", "", 0.96*rate)
	n.both("spring.greatest_rate_n_mm", "", 1.04*rate)
	n.is("spring.active_turns", active)
	n.is("spring.index", w)
	n.length("spring.free_length", free)
	const solid = wire * turns
	n.length("spring.solid_length", solid)
	stress := func(force float64) float64 {
		return (w + 0.5) / (w - 0.75) * 8 * force * coil / (math.Pi * wire * wire * wire)
	}
	n.both("spring.solid_stress_mpa", "", stress(rate*(free-solid)))
	under := func(at string, force, ratio float64) {
		n.both(at+".force_n", "", max(0, force))
		n.length(at+".deflection", force/rate)
		n.length(at+".length", free-max(0, force/rate))
		left := free - solid - max(0, force/rate)
		n.length(at+".to_bind.at_spring", left)
		n.length(at+".to_bind.at_wheel", bisect(-300, 1000, func(z float64) float64 {
			return z*(ratio+ratio+srChange*z/1000)/2 - left - max(0, -force/rate) // the mean ratio times the travel
		}))
		n.both(at+".stress_mpa", "", stress(max(0, force)))
	}
	for i, mass := range []float64{ms, msLaden} {
		under("spring.loads."+strconv.Itoa(i), mass*gravity/loads[i].sr, loads[i].sr)
	}
	atRide := ms * gravity / sr
	for at, z := range map[string]float64{"spring.at_bump": bump, "spring.at_droop": -droop} {
		moved := z * (sr + sr + srChange*z/1000) / 2 // the mean ratio times the travel
		under(at, atRide+rate*moved, sr+srChange*z/1000)
	}
	// G/E is 79.3 over 206 GPa.
	const g = shearGPa / 206
	bracket := 1 - (1-g)/(0.5+g)*math.Pow(math.Pi*coil/(0.7*free), 2)
	if bracket < 0 {
		n.Fatal("a spring that never buckles tells no number")
	}
	n.length("spring.buckles_at", free*0.5/(1-g)*(1-math.Sqrt(bracket)))
	n.length("spring.wanted_free_length", seats+atRide/rate)
	n.length("spring.seats.closer_by", seats+atRide/rate-free)
}

// listedForces is what the catalogue says of a damper's forces.
type listedForces struct {
	Gas      float64 `json:"gas_force_n"`
	Included bool    `json:"gas_included"`
	Curves   []struct {
		Velocity    []float64 `json:"velocity_m_s"`
		Compression []float64 `json:"compression_n"`
		Rebound     []float64 `json:"rebound_n"`
	} `json:"force_table"`
}

// straightBetween gives a force at a velocity: straight between points, from 0 at rest,
// and on along the last piece.
func straightBetween(velocities, forces []float64, v float64) float64 {
	v0, f0 := 0.0, 0.0
	for i := range velocities {
		if v <= velocities[i] || i == len(velocities)-1 {
			return f0 + (forces[i]-f0)*(v-v0)/(velocities[i]-v0)
		}
		v0, f0 = velocities[i], forces[i]
	}
	return f0
}

// meanOf is the mean of f at a Gaussian velocity in one direction, from a velocity on, over
// all time.
func meanOf(velocities []float64, sigma, from float64, f func(v float64) float64) float64 {
	density := func(v float64) float64 {
		return f(v) * math.Exp(-v*v/(2*sigma*sigma)) / (sigma * math.Sqrt(2*math.Pi))
	}
	edges := []float64{from}
	for _, v := range velocities {
		if v > from {
			edges = append(edges, v)
		}
	}
	last := edges[len(edges)-1]
	for range 14 {
		last += sigma
		edges = append(edges, last)
	}
	sum := 0.0
	for i := range edges[1:] {
		for part := range 2 {
			step := (edges[i+1] - edges[i]) / 2
			sum += quad.Fixed(density, edges[i]+step*float64(part), edges[i]+step*float64(part+1), 8, quad.Legendre{}, 0)
		}
	}
	return sum
}

// dampers judges the listed dampers again: the velocity at which a curve takes the
// road's power is found by bisection of integrals.
func (n *numbers) dampers(s *service, a *answer) {
	var got struct {
		Dampers []struct {
			Damper struct{ Code string }
			Rating struct {
				StartFrom *string `json:"start_from"`
				Positions []struct{ Position *string }
			}
		}
	}
	if err := json.Unmarshal(a.body, &got); err != nil {
		n.Fatal(err)
	}
	several, gas := 0, 0
	for i, one := range got.Dampers {
		d := decode[listedForces](n.T, s.get(n.T, "/v1/dampers/"+one.Damper.Code+"?units=mm"), http.StatusOK)
		if len(d.Curves) > 1 {
			several++
		}
		if d.Gas > 0 {
			gas++
		}
		at := "dampers." + strconv.Itoa(i) + ".rating."
		loads := []atRest{settled(ms, perWheel*d.Gas), settled(msLaden, perWheel*d.Gas)}
		least, most := math.Inf(1), 0.0
		for j := range d.Curves {
			unladen, laden := n.position(at+"positions."+strconv.Itoa(j)+".", &d, j, loads)
			least, most = min(least, unladen), max(most, unladen)
			if one.Rating.StartFrom == nil || *one.Rating.StartFrom == *one.Rating.Positions[j].Position {
				n.is(at+"damping_ratio", unladen)
				n.is(at+"laden_damping_ratio", laden)
			}
		}
		n.is(at+"least_damping_ratio", least)
		n.is(at+"greatest_damping_ratio", most)
		n.length(at+"gas_rise", -loads[0].z*1000)
	}
	if several == 0 || gas == 0 {
		n.Errorf("of %d dampers %d have several positions and %d have gas", len(got.Dampers), several, gas)
	}
}

// position gives the damping ratios of both loads.
func (n *numbers) position(at string, d *listedForces, number int, loads []atRest) (unladen, laden float64) {
	c := d.Curves[number]
	compression, rebound := slices.Clone(c.Compression), slices.Clone(c.Rebound)
	if d.Included {
		for i := range compression {
			compression[i] -= d.Gas
			rebound[i] += d.Gas
		}
	}
	in := func(v float64) float64 { return straightBetween(c.Velocity, compression, v) }
	out := func(v float64) float64 { return straightBetween(c.Velocity, rebound, v) }
	for i, l := range loads {
		dry := friction / (perWheel * l.dr) // of one damper's share
		power := func(sigma float64) float64 {
			return meanOf(c.Velocity, sigma, 0, func(v float64) float64 { return v * (in(v) + out(v) + 2*dry) })
		}
		sigma := bisect(1e-3, 3, func(sigma float64) float64 { return power(sigma) - roadPower/perWheel })
		atWheel := roadPower / (sigma * sigma) * l.dr * l.dr
		load := at + "loads." + strconv.Itoa(i) + "."
		n.is(load+"damping_ratio", atWheel/l.critical)
		n.is(load+"hop_damping_ratio", atWheel/(2*math.Sqrt((l.rate+kTyre)*mu)))
		n.both(load+"at_wheel_ns_m", "", atWheel)
		if i == 1 {
			return unladen, atWheel / l.critical
		}
		unladen = atWheel / l.critical
		n.both(at+"velocity_m_s", "", sigma)
		coefficient := func(force func(v float64) float64) float64 {
			return meanOf(c.Velocity, sigma, 0, func(v float64) float64 { return v * force(v) }) / (sigma * sigma)
		}
		n.both(at+"compression_ns_m", "", 2*coefficient(in))
		n.both(at+"rebound_ns_m", "", 2*coefficient(out))
		n.both(at+"coefficient_ns_m", "", coefficient(in)+coefficient(out))
		pull := meanOf(c.Velocity, sigma, 0, out) - meanOf(c.Velocity, sigma, 0, in)
		n.length(at+"pull_down", pull*perWheel*l.dr/l.rate*1000)
		// The part of E[F'] from beyond the last point: a jump up to the last force there,
		// and the last slope after it.
		last := c.Velocity[len(c.Velocity)-1]
		sum := func(v float64) float64 { return in(v) + out(v) }
		tail := meanOf(nil, sigma, last, func(v float64) float64 { return v * sum(v) / (sigma * sigma) })
		n.is(at+"beyond_table", tail/(roadPower/perWheel/(sigma*sigma)))
	}
	return unladen, laden
}

// rest takes out what is the catalogue's, and what notes and steps tell of the same
// figures, and fails for what is left.
func (n *numbers) rest() {
	for path := range n.left {
		if strings.Contains(path, ".damper.") || strings.HasPrefix(path, "catalog.") || strings.HasPrefix(path, "counts.") ||
			strings.HasPrefix(path, "steps.") || strings.HasPrefix(path, "cautions.") {
			delete(n.left, path)
		}
	}
	for path, v := range n.left {
		n.Errorf("%s is %v, which nobody computed", path, v)
	}
}
