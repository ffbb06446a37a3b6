package ride

import "math"

// Corner is one corner of a vehicle as a linear quarter car: a sprung mass on a
// spring and a damper over an unsprung mass on a tyre without damping.
type Corner struct {
	SprungKg, UnsprungKg float64
	// WheelRate and TyreRate are in N/mm, WheelRate at the wheel.
	WheelRate, TyreRate float64
	// Damping is in N·s/m at the wheel, the mean of both directions.
	Damping float64
}

// si is a corner in SI units.
type si struct{ ms, mu, k, kt, c float64 }

func (c Corner) si() si {
	const perMetre = 1000
	return si{c.SprungKg, c.UnsprungKg, c.WheelRate * perMetre, c.TyreRate * perMetre, c.Damping}
}

// Response is what a corner does on a road whose vertical velocity is white
// noise. Movement is that of the wheel against the body.
type Response struct {
	// Travel is the root mean square of wheel travel, m.
	Travel float64
	// TravelSpeed is that of its rate, m/s.
	TravelSpeed float64
	// BodyAcceleration is that of the sprung mass, m/s².
	BodyAcceleration float64
	// DamperPower is the mean that the damper turns into heat, W.
	DamperPower float64
	// Crossings is how often in a second the wheel passes ride upwards, 1/s.
	Crossings float64
}

// Response gives the stationary response to a road of the roughness Gd(n0) in
// m³ at a speed in m/s. With W half of the one-sided velocity density S, and d
// the wheel's travel,
//
//	σ_d² = W (m_s + m_u)/(2c)     k and k_t do not enter
//	σ_v² = W k_t/(2c)
//	σ_a² = W/(2 m_s²) [k² (m_s + m_u)/c + c k_t]
//	power = c σ_v² = W k_t/2      c does not enter
//	ν = σ_v/(2π σ_d) = √(k_t/(m_s + m_u))/(2π)
//
// The problem is Gobbi and Mastinu's, J. Sound Vib. 245 (2001) 457-481 (from
// memory). The closed forms were derived for this program, and its tests compare
// them with the integral of the transfer functions. ν is Rice's formula, Bell
// Syst. Tech. J. 24 (1945) 46-156 (from memory). It holds while the wheel
// stays on the ground and within its stops.
func (c Corner) Response(roughness, speed float64) Response {
	p := c.si()
	w := velocityDensity(roughness, speed) / 2
	m := p.ms + p.mu
	return Response{
		Travel:           math.Sqrt(w * m / (2 * p.c)),
		TravelSpeed:      math.Sqrt(w * p.kt / (2 * p.c)),
		BodyAcceleration: math.Sqrt(w/2*(p.k*p.k*m/p.c+p.c*p.kt)) / p.ms,
		DamperPower:      w * p.kt / 2,
		Crossings:        math.Sqrt(p.kt/m) / (2 * math.Pi),
	}
}
