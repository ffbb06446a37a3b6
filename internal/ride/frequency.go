package ride

import (
	"math"
	"math/cmplx"
)

// Gains are the amplitudes of a quarter car's movements over that of a road that
// moves up and down harmonically. With s = iω, Z = k + cs, A = m_s s² + Z and
// B = m_u s² + Z + k_t,
//
//	z_s/z_r = Z k_t/(A B - Z²)     z_u/z_r = A k_t/(A B - Z²)
//
// from the equations of motion m_s z_s” = Z (z_u - z_s) and
// m_u z_u” = Z (z_s - z_u) + k_t (z_r - z_u). Two points don't depend on spring and
// damper: at ω² = k_t/m_u the body's gain is m_u/m_s, and at ω² = k_t/(m_s + m_u)
// that of wheel travel is (m_s + m_u)/m_s (Hedrick and Butsuen, Proc. IMechE 204
// (1990), from memory; derived again here).
type Gains struct {
	// Body is the transmissibility z_s/z_r.
	Body float64
	// Travel is that of the wheel against the body, (z_u - z_s)/z_r.
	Travel float64
	// Tyre is that of the tyre's deflection, (z_u - z_r)/z_r: the change of its load
	// over k_t z_r.
	Tyre float64
}

// Gains gives the gains at a frequency above 0, Hz.
func (q QuarterCar) Gains(hz float64) Gains {
	s := complex(0, 2*math.Pi*hz)
	z := complex(q.Spring, 0) + complex(q.Damping, 0)*s
	a := complex(q.Sprung, 0)*s*s + z
	b := complex(q.Unsprung, 0)*s*s + z + complex(q.Tyre, 0)
	of := complex(q.Tyre, 0) / (a*b - z*z)
	return Gains{Body: cmplx.Abs(z * of), Travel: cmplx.Abs((a - z) * of), Tyre: cmplx.Abs(a*of - 1)}
}

// Modes gives the undamped natural frequencies of the two masses together, Hz:
// with ω_s² = k/m_s, ω_u² = (k + k_t)/m_u,
//
//	ω² = [ω_s² + ω_u² ∓ √((ω_s² - ω_u²)² + 4 k²/(m_s m_u))]/2.
//
// The lower is a little below the body's on spring and tyre in series, the higher
// a little above the wheel's between them.
func (q QuarterCar) Modes() (body, hop float64) {
	s, u := q.Spring/q.Sprung, (q.Spring+q.Tyre)/q.Unsprung
	sum, difference := s+u, s-u
	root := math.Sqrt(difference*difference + 4*q.Spring*q.Spring/(q.Sprung*q.Unsprung))
	high := (sum + root) / 2
	low := q.Spring * q.Tyre / (q.Sprung * q.Unsprung) / high // their product, without cancellation
	return math.Sqrt(low) / (2 * math.Pi), math.Sqrt(high) / (2 * math.Pi)
}
