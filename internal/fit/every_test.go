package fit_test

import (
	"slices"
	"testing"

	"midstroke/internal/catalog"
	"midstroke/internal/damping"
	"midstroke/internal/fault"
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

// TestFindEveryFindsTheFaultsOfFind: what a single request is refused for is a fault of a
// row as well.
func TestFindEveryFindsTheFaultsOfFind(t *testing.T) {
	s := stocked(eyes("one", 330*mm, 520*mm))
	for name, change := range map[string]func(*fit.Request){
		"no readings":         func(r *fit.Request) { r.Readings.Readings = nil },
		"an unknown damper":   func(r *fit.Request) { r.Codes = []string{"two"} },
		"an unknown location": func(r *fit.Request) { r.Limits.InStock, r.Limits.InStockAt = true, "north" },
		"targets, no corner":  func(r *fit.Request) { r.Targets = &damping.Targets{} },
		"a stop of no height": func(r *fit.Request) { r.BumpStop = &fit.BumpStop{OnRod: true} },
	} {
		r := metric(t, 430, 50)
		change(r)
		_, want := fit.Find(r, s)
		_, got := fit.FindEvery(r, s)
		if len(want) == 0 || !slices.EqualFunc(got, want, func(a, b fault.Fault) bool { return a.Code == b.Code && a.Pointer == b.Pointer }) {
			t.Errorf("%s: %v, where Find finds %v", name, got, want)
		}
	}
}

// TestFindEveryAsksForStockAtALocation: of two dampers that fit, one is in the north.
func TestFindEveryAsksForStockAtALocation(t *testing.T) {
	level := func(code, location string) catalog.StockLine {
		return catalog.StockLine{Code: code, Level: catalog.Level{Location: location, Quantity: 2}}
	}
	s := stocked(eyes("one", 330*mm, 520*mm), eyes("two", 330*mm, 520*mm)).
		WithStock(catalog.NewStock(1, []catalog.StockLine{level("one", "south"), level("two", "north")}), false)
	r := metric(t, 430, 50)
	r.Limits.InStock, r.Limits.InStockAt = true, "north"
	every, faults := fit.FindEvery(r, s)
	if len(faults) > 0 || len(every.Served) != 1 || s.Dampers()[every.Served[0].Damper].Code != "two" {
		t.Errorf("%+v, %v; want only two", every, faults)
	}
}
