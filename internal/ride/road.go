package ride

import (
	"math"
	"strings"
)

// Class is a road class of ISO 8608:2016, 'A' (very good) to 'H'.
type Class byte

// ParseClass reads "A" to "H".
func ParseClass(s string) (Class, bool) {
	if len(s) != 1 || s[0] < 'A' || s[0] > 'H' {
		return 0, false
	}
	return Class(s[0]), true
}

// Classes lists the classes by their letters.
func Classes() []string { return strings.Split("ABCDEFGH", "") }

// String gives the letter, "" where c is no class.
func (c Class) String() string {
	if !c.valid() {
		return ""
	}
	return string(rune(c))
}

func (c Class) valid() bool { return c >= 'A' && c <= 'H' }

const (
	// referenceWavenumber is n0 of ISO 8608, in cycles per metre.
	referenceWavenumber = 0.1

	// roughnessA is the geometric mean Gd(n0) of class A in m³ (ISO 8608:2016,
	// by way of secondary sources). Each class after it has four times as much.
	// It is not the class's upper limit, which is twice as much.
	roughnessA = 16e-6
)

// Roughness is the geometric mean of the class's displacement spectral density
// Gd(n0) at n0 = 0.1 cycle/m, one-sided, in m³: 16e-6 for A to 262144e-6 for H.
func (c Class) Roughness() float64 { return roughnessA * math.Pow(4, float64(c-'A')) }

// velocityDensity is the one-sided spectral density of the road's vertical
// velocity under a wheel at speed m/s, in m²/s²/Hz: the same at all frequencies,
// because Gd falls with the square of the wavenumber.
//
//	S = (2π n0)² Gd(n0) V
func velocityDensity(roughness, speed float64) float64 {
	w := 2 * math.Pi * referenceWavenumber
	return w * w * roughness * speed
}
