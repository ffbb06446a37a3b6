package mount_test

import (
	"fmt"

	"midstroke/internal/mount"
	"midstroke/internal/unit"
)

func ExampleParseBolt() {
	for _, name := range []string{"M12", "M12x1.25", "1/2 in", "1/2-20 in", "12.2 mm"} {
		b, err := mount.ParseBolt(name, unit.Millimetres)
		fmt.Println(b.Text(unit.Millimetres), b.Threaded(), err)
	}
	_, err := mount.ParseBolt("M13", unit.Millimetres)
	fmt.Println(err)
	// Output:
	// M12x1.75 true <nil>
	// M12x1.25 true <nil>
	// 1/2-13 UNC true <nil>
	// 1/2-20 UNF true <nil>
	// 12.2 mm false <nil>
	// "M13": the metric sizes known here are M6, M8, M10, M12, M14, M16, M18, M20, M22 and M24; give any other as a plain diameter
}

// The bench has one sleeve and one spacer, both invented.
func ExampleShelf_BoltUp() {
	shelf := mount.NewShelf(
		[]mount.Sleeve{{Code: "a", Outer: 15_900 * unit.Micrometre, Bore: 10_300 * unit.Micrometre, Length: 31 * unit.Millimetre}},
		[]mount.Spacer{{Code: "s", Bore: 10_500 * unit.Micrometre, Thickness: 400 * unit.Micrometre}},
		nil, mount.UsualLimits())
	m10, err := mount.ParseBolt("M10", unit.Millimetres)
	if err != nil {
		fmt.Println(err)
		return
	}
	r := shelf.BoltUp(
		mount.End{Style: mount.Eye, Bore: 16 * unit.Millimetre, Width: 31 * unit.Millimetre},
		mount.Bracket{Bolt: m10, Opening: 32 * unit.Millimetre, Plate: 5 * unit.Millimetre, Washer: 2 * unit.Millimetre, Shear: mount.DoubleShear, Grade: "8.8"},
		mount.Options{Detail: true})
	fmt.Println("possible:", r.Possible, "parts:", r.Parts)
	for _, s := range r.Working {
		fmt.Printf("%s = %s\n", s.Text("en", unit.Millimetres), s.Result.Words(unit.Millimetres))
	}
	// Output:
	// possible: true parts: 3
	// sleeve a in the bushing: bore 16 mm less outside 15.9 mm; 0 mm to 0.3 mm is right = 0.1 mm
	// sleeve a on the bolt: bore 10.3 mm less bolt 10 mm; 0.05 mm to 0.6 mm is right = 0.3 mm
	// the bracket clamps the longest sleeve = 31 mm
	// opening 32 mm less the 31 mm that is clamped = 1 mm
	// less spacer s, 0.4 mm thick, 1 on each side = 0.2 mm
	// the bracket may be drawn in by what is left over, up to 0.5 mm = 0.2 mm
	// clearance hole in the bracket for M10x1.5, medium = 11 mm
	// washers 4 mm, plates 10 mm, 32 mm between them, nut 8.4 mm and two threads 3 mm = 57.4 mm
	// next of the preferred lengths from 57.4 mm = 60 mm
	// thread on a bolt of 60 mm = 26 mm
	// the shank ends before the far shear plane at 39 mm, so threads lie in it = 34 mm
	// tensile stress area of M10x1.5 = 57.99 mm²
	// proof strength of grade 8.8 = 580 MPa
	// proof strength 580 MPa times 57.99 mm² = 33633.9 N
	// shear area at the thread's root, threads in the plane = 52.29 mm²
	// 2 × 0.577 × 580 MPa × 52.29 mm² = 35000.3 N
	// it breaks at 2 × 0.6 × 800 MPa × 52.29 mm² = 50200.6 N
	// 0.75 of the proof load of 33633.9 N = 25225.4 N
	// torque factor 0.2 × 10 mm × 25225.4 N / 1000 mm/m = 50.45 N·m
	// the same torque in pound-feet = 37.21 lbf·ft
	// preload 25225.4 N over the end face of sleeve a, 15.9 mm outside and 10.3 mm inside = 218.9 MPa
}

func ExampleShelf_BoltUp_refused() {
	shelf := mount.NewShelf(nil, nil, nil, mount.UsualLimits())
	m10, _ := mount.ParseBolt("M10", unit.Millimetres)
	r := shelf.BoltUp(
		mount.End{Style: mount.Eye, Bore: 5 * unit.Inch / 8, Width: 31 * unit.Millimetre},
		mount.Bracket{Bolt: m10, Opening: 31 * unit.Millimetre}, mount.Options{Detail: true})
	for _, n := range r.Reasons {
		fmt.Println(n.Text("en", unit.Millimetres))
	}
	for _, c := range r.Cures {
		fmt.Println("-", c.Note.Text("en", unit.Millimetres))
	}
	// Output:
	// nothing on the shelf fills the 5.88 mm between the bore of 15.88 mm and the bolt of 10 mm
	// - a sleeve fits that is 15.58 mm to 15.87 mm outside, 10.05 mm to 10.6 mm in bore and 30.5 mm to 31 mm long
}

func ExampleShelf_Adapted() {
	eye := mount.End{Style: mount.Eye, Bore: 16 * unit.Millimetre, Width: 31 * unit.Millimetre}
	shelf := mount.NewShelf(nil, nil, []mount.Adapter{
		{Code: "eye-to-bar", From: eye, To: mount.End{Style: mount.BarPin, HoleSpacing: 60 * unit.Millimetre}, AddsLength: 22 * unit.Millimetre},
	}, mount.UsualLimits())
	for _, a := range shelf.Adapted(eye, mount.BarPin) {
		fmt.Println(a.Code, a.AddsLength.Text(unit.Millimetres))
	}
	// Output: eye-to-bar 22 mm
}

func ExampleValidate() {
	half, _ := mount.ParseBolt("1/2 in", unit.Inches)
	faults := mount.Validate(mount.End{Style: mount.Eye}, mount.Bracket{Bolt: half, Grade: "8.8"}, mount.Options{})
	for _, f := range faults {
		fmt.Println(f.Pointer, f.Code.Public())
	}
	// Output:
	// /end/bore missing
	// /bolt/grade grade_of_other_thread
}
