package catalog_test

import (
	"reflect"
	"testing"
	"unsafe"

	"midstroke/internal/catalog"
	"midstroke/internal/damping"
	"midstroke/internal/mount"
	"midstroke/internal/unit"
)

func forceTable() damping.Table {
	return damping.Table{
		Curves: []damping.Curve{
			{Position: "1", Points: []damping.Point{{Velocity: 0.13, Compression: 160, Rebound: 380}, {Velocity: 0.39, Compression: 290, Rebound: 690}}},
			{Position: "2", Points: []damping.Point{{Velocity: 0.13, Compression: 250, Rebound: 600}, {Velocity: 0.39, Compression: 430, Rebound: 1020}}},
		},
		GasForce: 40, GasIncluded: true, Reservoir: damping.RemoteReservoir, Celsius: 0, TemperatureKnown: true,
	}
}

func withForces(t damping.Table) catalog.Damper {
	eye := mount.End{Style: mount.Eye, Bore: 16 * unit.Millimetre, Width: 32 * unit.Millimetre}
	return catalog.Damper{
		Code: "d", Construction: catalog.Monotube, Gas: true, Compressed: 300 * unit.Millimetre, Extended: 450 * unit.Millimetre,
		LengthTolerance: unit.Millimetre, BodyDiameter: 50 * unit.Millimetre, Upper: eye, Lower: eye, Price: mount.NoPrice,
		Forces: catalog.NewForces(&t), GasIncluded: t.GasIncluded, Reservoir: t.Reservoir,
	}
}

func TestForcesComeBack(t *testing.T) {
	want := forceTable()
	d := withForces(want)
	if got := d.ForceTable(); !reflect.DeepEqual(got, want) {
		t.Errorf("%+v came back as %+v", want, got)
	}
	if faults := d.Faults(); len(faults) > 0 {
		t.Error(faults)
	}
	none := withForces(damping.Table{})
	if none.Forces != (catalog.Forces{}) || !reflect.DeepEqual(none.ForceTable(), damping.Table{}) {
		t.Errorf("nothing came back as %+v", none.ForceTable())
	}
}

// TestForcesAreShared: a damper takes as much room as before it had forces (280
// bytes, printed before the field came), and equal forces compare as one value,
// however they were made.
func TestForcesAreShared(t *testing.T) {
	if size := unsafe.Sizeof(catalog.Damper{}); unsafe.Sizeof(uintptr(0)) == 8 && size > 280 {
		t.Errorf("a damper takes %d bytes", size)
	}
	a := withForces(forceTable())
	var b catalog.Forces
	b.SetCelsius(0)
	b.SetGasForce(40)
	b.SetCurvesOf(catalog.CurvesOnly(forceTable().Curves))
	if a.Forces != b {
		t.Errorf("%v and %v differ", a.Forces, b)
	}
	b.SetGasForce(41)
	if a.Forces == b {
		t.Error("forces with another gas force are equal")
	}
}

// TestForceFaults: one fault a field, under the field's own name.
func TestForceFaults(t *testing.T) {
	for name, c := range map[string]struct {
		change func(*damping.Table)
		want   map[string]string
	}{
		"one point":         {func(f *damping.Table) { f.Curves[1].Points = f.Curves[1].Points[:1] }, map[string]string{"/force_table": "too_few_points"}},
		"wrong sign":        {func(f *damping.Table) { f.Curves[0].Points[0].Compression = -160 }, map[string]string{"/force_table": "force_wrong_sign"}},
		"several slips":     {func(f *damping.Table) { f.Curves[0].Points[0].Velocity, f.Curves[1].Points[0].Velocity = 0.39, 130 }, map[string]string{"/force_table": "velocity_twice"}},
		"gas force missing": {func(f *damping.Table) { f.GasForce = 0 }, map[string]string{"/gas_force_n": "missing"}},
		"too hot":           {func(f *damping.Table) { f.Celsius = 293 }, map[string]string{"/test_temperature_c": "out_of_range"}},
		"two fields":        {func(f *damping.Table) { f.GasForce, f.Celsius = -1, -273 }, map[string]string{"/gas_force_n": "out_of_range", "/test_temperature_c": "out_of_range"}},
	} {
		table := forceTable()
		c.change(&table)
		d := withForces(table)
		got := map[string]string{}
		for _, f := range d.Faults() {
			got[f.Pointer] = f.Code.Public()
		}
		if !reflect.DeepEqual(got, c.want) {
			t.Errorf("%s: %v, want %v", name, got, c.want)
		}
	}
	d := withForces(damping.Table{GasIncluded: true})
	if faults := d.Faults(); len(faults) != 1 || faults[0].Pointer != "/gas_included" {
		t.Errorf("a gas force in no table: %v", faults)
	}
}

// TestTheJudgeFindsWhatFaultsFinds: what a judge remembers of one damper hides nothing
// that is wrong with another one.
func TestTheJudgeFindsWhatFaultsFinds(t *testing.T) {
	judge := catalog.DamperTable().Judge()
	var dampers []catalog.Damper
	for _, change := range []func(*catalog.Damper){
		func(*catalog.Damper) {},
		func(d *catalog.Damper) { d.GasIncluded = false },
		func(d *catalog.Damper) { d.Reservoir = damping.NoReservoir },
		func(d *catalog.Damper) { d.Forces.SetGasForce(0) },
		func(d *catalog.Damper) { d.Forces.SetCelsius(293) },
		func(d *catalog.Damper) { d.Forces = catalog.Forces{} },
		func(d *catalog.Damper) { d.Forces, d.GasIncluded = catalog.Forces{}, false },
		func(d *catalog.Damper) { d.Extended = d.Compressed },
	} {
		// With its gas force included, a force may be below zero.
		table := forceTable()
		table.Curves[0].Points[0].Compression = -30
		d := withForces(table)
		change(&d)
		dampers = append(dampers, d)
	}
	faulty := 0
	for range 3 {
		for i := range dampers {
			want := dampers[i].Faults()
			if got := judge(&dampers[i]); !reflect.DeepEqual(got, want) {
				t.Errorf("damper %d: %v, want %v", i, got, want)
			}
			if len(want) > 0 {
				faulty++
			}
		}
	}
	if faulty == 0 || faulty == 3*len(dampers) {
		t.Errorf("%d of %d have faults", faulty, 3*len(dampers))
	}
	for i := range 20_000 { // more than are remembered
		d := withForces(forceTable())
		d.Forces.SetGasForce(float64(i) / 3)
		if got, want := judge(&d), d.Faults(); !reflect.DeepEqual(got, want) {
			t.Fatalf("with a gas force of %v N: %v, want %v", float64(i)/3, got, want)
		}
	}
}

// TestAForcesReaderReadsEachText: what it remembers of one text is no other's.
func TestAForcesReaderReadsEachText(t *testing.T) {
	var r catalog.ForcesReader
	for range 2 {
		for i := range 10_000 { // more than are remembered
			table := forceTable()
			table.Curves[0].Points[0].Compression = 100 + float64(i)
			want := catalog.NewForces(&damping.Table{Curves: table.Curves})
			if got, unread, ok := r.Read([]byte(damping.FormatCurves(table.Curves))); !ok || got != want {
				t.Fatalf("table %d: %q, unread %q, want %q", i, got.Text(), unread, want.Text())
			}
		}
		if got, unread, ok := r.Read([]byte("no table")); ok || unread == "" || got != (catalog.Forces{}) {
			t.Errorf("no table is read as %q, unread %q", got.Text(), unread)
		}
	}
}
