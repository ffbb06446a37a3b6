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
	// TyreLoad is the root mean square of the change of the tyre's load, N.
	TyreLoad float64
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
//	σ_F² = W/(2c m_s²) [M² (c² k_t + k² M) - 2 k k_t m_s m_u M + k_t² m_s² m_u]
//	power = c σ_v² = W k_t/2      c does not enter
//	ν = σ_v/(2π σ_d) = √(k_t/(m_s + m_u))/(2π)
//
// The problem is Gobbi and Mastinu's, J. Sound Vib. 245 (2001) 457-481 (from
// memory). M is m_s + m_u and F the tyre's change of load. The closed forms were derived for this program, and its tests compare
// them with the integral of the transfer functions. ν is Rice's formula, Bell
// Syst. Tech. J. 24 (1945) 46-156 (from memory). It holds while the wheel
// stays on the ground and within its stops.
func (q QuarterCar) Response(roughness, speed float64) Response {
	w := velocityDensity(roughness, speed) / 2
	m := q.Sprung + q.Unsprung
	k, kt, c := q.Spring, q.Tyre, q.Damping
	load := m*m*(c*c*kt+k*k*m) - 2*k*kt*q.Sprung*q.Unsprung*m + kt*kt*q.Sprung*q.Sprung*q.Unsprung
	return Response{
		Travel:           math.Sqrt(w * m / (2 * c)),
		TravelSpeed:      math.Sqrt(w * kt / (2 * c)),
		BodyAcceleration: math.Sqrt(w/2*(k*k*m/c+c*kt)) / q.Sprung,
		DamperPower:      w * kt / 2,
		TyreLoad:         math.Sqrt(w*load/(2*c)) / q.Sprung,
		Crossings:        math.Sqrt(kt/m) / (2 * math.Pi),
	}
}
