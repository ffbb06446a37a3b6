package fit_test

import (
	"fmt"

	"midstroke/internal/catalog"
	"midstroke/internal/fit"
	"midstroke/internal/linkage"
	"midstroke/internal/measure"
	"midstroke/internal/mount"
	"midstroke/internal/unit"
)

// twoEyes is a request for a place with an eye at both ends.
func twoEyes(taped unit.Length) *fit.Request {
	return &fit.Request{
		Readings: measure.Readings{
			Readings: []measure.Reading{{Length: taped}}, Tolerance: unit.Millimetre,
			Upper: measure.EndReading{Style: mount.Eye}, Lower: measure.EndReading{Style: mount.Eye},
		},
		Suspension: fit.SolidAxle, Top: fit.DefaultTop, Dampers: fit.DefaultDampers,
	}
}

// shelfOf is a catalogue of one damper.
func shelfOf(compressed, extended unit.Length) *catalog.Snapshot {
	eye := mount.End{Style: mount.Eye, Bore: 12 * unit.Millimetre, Width: 32 * unit.Millimetre}
	return catalog.NewSnapshot("example", 1, catalog.Contents{Limits: mount.UsualLimits(), Dampers: []catalog.Damper{{
		Code: "one", Construction: catalog.TwinTube, Compressed: compressed, Extended: extended,
		Upper: eye, Lower: eye, Price: mount.NoPrice,
	}}})
}

func ExampleFind() {
	// 17 5/16 in taped; 13 5/8 in compressed and 21 1/4 in extended. By hand:
	// 17 5/16 - 13 10/16 and 21 4/16 - 17 5/16.
	a, faults := fit.Find(twoEyes(17*unit.Inch+5*unit.Inch/16), shelfOf(13*unit.Inch+5*unit.Inch/8, 21*unit.Inch+unit.Inch/4))
	if len(faults) > 0 {
		fmt.Println(faults)
		return
	}
	f := a.Fits[0]
	fmt.Println(a.Outcome, f.Grade, f.Travel.Compression.Text(unit.Inches), f.Travel.Extension.Text(unit.Inches))
	// Output:
	// fits clear 3 11/16 in 3 15/16 in
}

func ExampleFind_linkage() {
	r := twoEyes(370 * unit.Millimetre)
	r.Linkage = &linkage.Spec{Kind: linkage.Inclined, Damper: linkage.Damper{
		Upper: linkage.Point{120 * unit.Millimetre, 0, 350 * unit.Millimetre}, Lower: linkage.Point{0, 0, 0},
	}}
	r.Travel = fit.Travel{Basis: fit.ByLinkage, Bump: 80 * unit.Millimetre, Droop: 60 * unit.Millimetre, Reserve: fit.DefaultReserve}
	for _, compressed := range []unit.Length{280, 310} {
		a, faults := fit.Find(r, shelfOf(compressed*unit.Millimetre, 450*unit.Millimetre))
		if len(faults) > 0 {
			fmt.Println(faults)
			return
		}
		for _, f := range a.Fits {
			fmt.Println("a bump stop solid at", f.Stops.Bump.Text(unit.Millimetres), "and a strap tight at", f.Stops.Droop.Text(unit.Millimetres))
		}
		for _, m := range a.NearMisses {
			fmt.Println(m.Remedies[0].Text.Text("en", unit.Millimetres))
		}
	}
	// By hand: 350 - √(286² - 120²) up and 350 - √(444² - 120²) down; and for the
	// move, see TestRemediesByTheRealMounts.

	// Output:
	// a bump stop solid at 90.393 mm and a strap tight at -77.476 mm
	// move the upper mount 15.6 mm along the damper, away from the other one: 5.06 mm along x, 0 mm along y, 14.75 mm along z. With the travel needed from there the fit is then tight, with 1 mm to spare in compression and 7.2 mm in extension, and the motion ratio at ride height is 0.946; 14.59 mm is the least that fits at all
}
