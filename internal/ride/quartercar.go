package ride

import "math"

// QuarterCar is one corner of a vehicle as a linear system: a sprung mass on a
// spring and a damper over an unsprung mass on a tyre without damping. Figures are
// in kg, N/m and N·s/m, spring and damping at the wheel.
type QuarterCar struct{ Sprung, Unsprung, Spring, Tyre, Damping float64 }

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
func (q QuarterCar) Response(roughness, speed float64) Response {
	w := velocityDensity(roughness, speed) / 2
	m := q.Sprung + q.Unsprung
	return Response{
		Travel:           math.Sqrt(w * m / (2 * q.Damping)),
		TravelSpeed:      math.Sqrt(w * q.Tyre / (2 * q.Damping)),
		BodyAcceleration: math.Sqrt(w/2*(q.Spring*q.Spring*m/q.Damping+q.Damping*q.Tyre)) / q.Sprung,
		DamperPower:      w * q.Tyre / 2,
		Crossings:        math.Sqrt(q.Tyre/m) / (2 * math.Pi),
	}
}
