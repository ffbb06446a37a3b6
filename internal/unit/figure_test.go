package unit_test

import (
	"math"
	"testing"

	"midstroke/internal/unit"
)

// TestFigures: conversion factors of NIST SP 811, appendix B.8, to seven digits: 1 lbf
// is 4.448222 N, 1 lbf/in 175.1268 N/m, 1 lb 0.4535924 kg, 1 psi 6894.757 Pa.
func TestFigures(t *testing.T) {
	for _, c := range []struct {
		n    float64
		unit string
		want float64
		name string
	}{
		{453.5924, "kg", 1000, "lb"},
		{4448.222, "N", 1000, "lbf"},
		{175.1268, "N/mm", 1000, "lbf/in"},
		{175126.8, "N·s/m", 1000, "lbf·s/in"},
		{25.4, "m/s", 1000, "in/s"},
		{6.894757, "MPa", 1000, "psi"},
		{1.2, "Hz", 1.2, "Hz"},
		{1609.344, "km/h", 1000, "mph"},
		{112.9848, "W", 1000, "in·lbf/s"}, // 4.448222 N · 0.0254 m
	} {
		if got, name := unit.Inches.Figure(c.n, c.unit); name != c.name || math.Abs(got/c.want-1) > 6e-7 {
			t.Errorf("%g %s beside inches is %.7g %s, want %g %s", c.n, c.unit, got, name, c.want, c.name)
		}
		if got, name := unit.Millimetres.Figure(c.n, c.unit); got != c.n || name != c.unit {
			t.Errorf("%g %s beside millimetres is %g %s", c.n, c.unit, got, name)
		}
	}
}
