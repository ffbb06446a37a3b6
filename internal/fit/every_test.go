package fit_test

import (
	"testing"

	"midstroke/internal/catalog"
	"midstroke/internal/damping"
	"midstroke/internal/fit"
	"midstroke/internal/measure"
	"midstroke/internal/mount"
	"midstroke/internal/ride"
	"midstroke/internal/unit"
	"midstroke/testdata/demo"
)

// TestFindEveryAgreesWithFind asks about each damper by its code, which goes another way
// through the package: the same dampers fit, with the same grades.
func TestFindEveryAgreesWithFind(t *testing.T) {
	s := catalog.NewSnapshot("demo", 1, demo.Contents())
	dampers := s.Dampers()
	styles := []mount.Style{mount.Eye, mount.Stud, mount.BarPin}
	served := 0
	for i := range 36 {
		r := fit.Request{LeanDeg: -1, Top: 50, Dampers: 2, Suspension: fit.SolidAxle, Travel: fit.Travel{Reserve: fit.DefaultReserve}}
		r.Readings.Upper.Style, r.Readings.Lower.Style = styles[i%3], styles[i/3%3]
		r.Readings.Readings = []measure.Reading{{Length: unit.Length(330+11*i) * unit.Millimetre}}
		r.Limits.NoAdapters = i%4 == 0
		if i%5 == 0 {
			r.Corner = &ride.Corner{SprungKg: 250 + 10*float64(i), UnsprungKg: 45, WheelRate: 22, TyreRate: 200, DamperRatio: 0.8}
			r.Limits.Damping = r.Limits.Damping.With([]damping.Verdict{damping.InRange, damping.Soft}[i%2])
		}
		every, faults := fit.FindEvery(&r, s)
		if len(faults) > 0 {
			t.Fatal(faults)
		}
		grades := map[string]fit.Grade{}
		for _, one := range every.Served {
			grades[dampers[one.Damper].Code] = one.Grade
		}
		served += len(grades)
		for from := 0; from < len(dampers); from += 50 {
			r.Codes = nil
			for _, d := range dampers[from:min(from+50, len(dampers))] {
				r.Codes = append(r.Codes, d.Code)
			}
			answer, faults := fit.Find(&r, s)
			if len(faults) > 0 {
				t.Fatal(faults)
			}
			for _, j := range answer.Judged {
				if _, fits := grades[j.Code]; fits != (j.Verdict == "fits") {
					t.Fatalf("request %d, %s: %v here, %s there", i, j.Code, fits, j.Verdict)
				}
			}
			for k := range answer.Fits {
				if f := &answer.Fits[k]; grades[f.Damper.Code] != f.Grade {
					t.Fatalf("request %d, %s: %s here, %s there", i, f.Damper.Code, grades[f.Damper.Code], f.Grade)
				}
			}
		}
	}
	if served < 100 {
		t.Errorf("only %d fits were compared", served)
	}
}
