package fit_test

import (
	"testing"

	"midstroke/internal/catalog"
	"midstroke/internal/damping"
	"midstroke/internal/ride"
	"midstroke/internal/unit"
)

// With a corner only the dampers whose damping wasn't judged are named; without one it
// was judged of none.
func TestTheUncheckedDampingIsNamed(t *testing.T) {
	listed := func(code string) catalog.Damper {
		d := eyes(code, 300*mm, 500*mm)
		d.Forces = catalog.NewForces(&damping.Table{Curves: []damping.Curve{{Points: []damping.Point{
			{Velocity: 0.05, Compression: 60, Rebound: 120}, {Velocity: 1, Compression: 900, Rebound: 1800},
		}}}})
		return d
	}
	corner := ride.Corner{SprungKg: 300, UnsprungKg: 45, WheelRate: 22, TyreRate: 200, DamperRatio: 0.8}
	for _, c := range []struct {
		dampers []catalog.Damper
		corner  *ride.Corner
		want    string
	}{
		{[]catalog.Damper{listed("b"), listed("d")}, &corner, ""},
		{[]catalog.Damper{eyes("a", 300*mm, 500*mm), listed("b"), eyes("c", 300*mm, 500*mm)}, &corner,
			"Whether the damping suits was not checked of 2 of the dampers listed, since they have no force table or one that doesn't tell it here: a, c."},
		{[]catalog.Damper{listed("b")}, nil, "Only lengths, ends and hardware were checked: whether the damping suits the vehicle's weight and springs was not."},
	} {
		r := metric(t, 395, 50)
		r.Corner = c.corner
		a := find(t, r, stocked(c.dampers...))
		if len(a.Fits) != len(c.dampers) {
			t.Fatalf("%d fits of %d", len(a.Fits), len(c.dampers))
		}
		got := ""
		for _, n := range a.Cautions {
			if n.Code == "valving_not_checked" || n.Code == "valving_not_checked_of" {
				got += n.Text("en", unit.Millimetres)
			}
		}
		if got != c.want {
			t.Errorf("told %q\nwant %q", got, c.want)
		}
	}
}
