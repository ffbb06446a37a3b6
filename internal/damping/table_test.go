package damping_test

import (
	"math"
	"strings"
	"testing"

	"midstroke/internal/damping"
	"midstroke/internal/unit"
)

// digressive is an invented table without gas force.
func digressive() damping.Table {
	return damping.Table{Curves: []damping.Curve{
		{Position: "soft", Points: []damping.Point{{0.05, 90, 200}, {0.13, 160, 380}, {0.39, 290, 690}, {1.04, 520, 1180}}},
		{Position: "firm", Points: []damping.Point{{0.05, 140, 330}, {0.13, 250, 600}, {0.39, 430, 1020}, {1.04, 760, 1640}}},
	}}
}

// withGas adds a gas force to all points of a table.
func withGas(t damping.Table, force float64) damping.Table {
	t.GasForce, t.GasIncluded = force, true
	for _, c := range t.Curves {
		for i := range c.Points {
			c.Points[i].Compression += force
			c.Points[i].Rebound -= force
		}
	}
	return t
}

func TestForceWithoutGas(t *testing.T) {
	plain, gas := digressive(), withGas(digressive(), 250)
	if gas.Curves[0].Points[0].Rebound >= 0 {
		t.Fatal("the gas force doesn't turn the sign of the first point")
	}
	for i := range plain.Curves[0].Points {
		p := plain.Curves[0].Points[i]
		c, r := gas.Force(gas.Curves[0].Points[i])
		if c != p.Compression || r != p.Rebound {
			t.Errorf("point %d is %g, %g without gas, want %+v", i, c, r, p)
		}
	}
	again := digressive()
	if !plain.Equal(&again) || plain.Equal(&gas) {
		t.Error("tables are compared wrongly")
	}
}

func TestTableFaults(t *testing.T) {
	for _, c := range []struct {
		name   string
		change func(*damping.Table)
		want   string
	}{
		{"good", func(*damping.Table) {}, ""},
		{"gas included", func(u *damping.Table) { *u = withGas(*u, 250) }, ""},
		{"rebound alone", func(u *damping.Table) {
			u.Curves = []damping.Curve{{Points: []damping.Point{{0, 0, 0}, {1, 0, 900}}}}
		}, ""},
		{"gas force alone", func(u *damping.Table) { *u = damping.Table{GasForce: 180} }, ""},
		{"friction at rest", func(u *damping.Table) { u.Curves[0].Points[0] = damping.Point{0, 40, 40} }, ""},
		{"one point", func(u *damping.Table) { u.Curves[1].Points = u.Curves[1].Points[:1] }, "/curves/1/points too_few_points"},
		{"too many points", func(u *damping.Table) { u.Curves[0].Points = make([]damping.Point, 65) }, "/curves/0/points too_many_points"},
		{"too many positions", func(u *damping.Table) { u.Curves = make([]damping.Curve, 65) }, "/curves too_many_positions"},
		{"wrong sign", func(u *damping.Table) { u.Curves[0].Points[2].Compression = -290 }, "/curves/0/points/2/compression force_wrong_sign"},
		{"wrong sign despite gas", func(u *damping.Table) {
			u.Curves[0].Points[2].Rebound = -690
			u.GasForce, u.GasIncluded = 80, true
		}, "/curves/0/points/2/rebound force_wrong_sign"},
		{"gas forgotten", func(u *damping.Table) { *u = withGas(*u, 250); u.GasForce = 0 },
			"/gas_force missing, /curves/0/points/0/rebound force_wrong_sign"},
		{"in mm/s", func(u *damping.Table) { u.Curves[0].Points[3].Velocity = 1040 }, "/curves/0/points/3/velocity out_of_range"},
		{"negative velocity", func(u *damping.Table) { u.Curves[0].Points[0].Velocity = -0.05 }, "/curves/0/points/0/velocity out_of_range"},
		{"no number", func(u *damping.Table) { u.Curves[0].Points[1].Rebound = math.NaN() }, "/curves/0/points/1/rebound out_of_range"},
		{"twice", func(u *damping.Table) { u.Curves[0].Points[2].Velocity = 0.13 }, "/curves/0/points/2/velocity velocity_twice"},
		{"not rising", func(u *damping.Table) { u.Curves[0].Points[3].Velocity = 0.104 }, "/curves/0/points/3/velocity velocity_not_rising"},
		{"a digit lost", func(u *damping.Table) { u.Curves[0].Points[2].Rebound = 69 }, "/curves/0/points/2/rebound force_falls"},
		{"no force", func(u *damping.Table) { u.Curves[0].Points = []damping.Point{{0.1, 0, 0}, {0.5, 0, 0}} }, "/curves/0/points no_force"},
		{"no position", func(u *damping.Table) { u.Curves[1].Position = "" }, "/curves/1/position missing"},
		{"position twice", func(u *damping.Table) { u.Curves[1].Position = "soft" }, "/curves/1/position position_twice"},
		{"position with a line break", func(u *damping.Table) { u.Curves[1].Position = "fi\nrm" }, "/curves/1/position position_unprintable"},
		{"gas force too large", func(u *damping.Table) { u.GasForce = 50_000 }, "/gas_force out_of_range"},
		{"in kelvin", func(u *damping.Table) { u.Celsius, u.TemperatureKnown = 293, true }, "/test_temperature out_of_range"},
	} {
		t.Run(c.name, func(t *testing.T) {
			table := digressive()
			c.change(&table)
			var got []string
			for _, f := range table.Faults() {
				got = append(got, f.Pointer+" "+f.Code.Public())
				if text := f.Text("en", unit.Millimetres); text == string(f.Code) || strings.ContainsAny(text, "{}") {
					t.Errorf("%s reads %q", f.Code, text)
				}
			}
			if g := strings.Join(got, ", "); g != c.want {
				t.Errorf("got  %s\nwant %s", g, c.want)
			}
		})
	}
}

func TestReservoirs(t *testing.T) {
	for _, name := range damping.Reservoirs.All() {
		if r, ok := damping.Reservoirs.Parse(name); !ok || r.String() != name {
			t.Errorf("%q is read as %v, %v", name, r, ok)
		}
	}
}
