package linkage_test

import (
	"fmt"
	"math"

	"midstroke/internal/linkage"
	"midstroke/internal/unit"
)

func ExampleNew() {
	// A trailing arm 500 mm long, with its damper upright over 400 mm of it.
	l, faults := linkage.New(linkage.Spec{
		Kind:   linkage.SwingArm,
		PivotA: pt(0, 300, 300), PivotB: pt(0, 700, 300),
		Wheel:  pt(-500, 650, 300),
		Damper: linkage.Damper{Upper: pt(-400, 600, 700), Lower: pt(-400, 600, 300)},
	})
	if len(faults) > 0 {
		fmt.Println(faults)
		return
	}
	length, ratio, err := l.At(0)
	fmt.Printf("%.1f mm, %.2f of damper travel for 1 of wheel travel, %v\n", length, ratio, err)
	_, _, err = l.At(600)
	fmt.Println(err)
	// Output:
	// 400.0 mm, 0.80 of damper travel for 1 of wheel travel, <nil>
	// 600 mm of wheel travel can't be reached: before that the wheel centre is at the top of its circle about the pivot axis; it can be from -499.999 mm to 499.999 mm
}

func ExampleNew_faults() {
	_, faults := linkage.New(linkage.Spec{
		Kind:   linkage.SwingArm,
		PivotA: pt(0, 300, 300), PivotB: pt(0, 300, 300),
		Damper: linkage.Damper{Upper: pt(-400, 600, 700), Lower: pt(-400, 600)},
	})
	for _, f := range faults {
		fmt.Println(f.Pointer, f.Code.Public())
	}
	// Output:
	// /damper/lower wrong_dimension
	// /wheel missing
}

func ExampleLinkage_Travel() {
	l, _ := linkage.New(linkage.Spec{
		Kind:   linkage.Inclined,
		Damper: linkage.Damper{Upper: pt(0, 450, 640), Lower: pt(80, 430, 260)},
	})
	t, faults := l.Travel(linkage.Options{
		Range:  linkage.Range{Bump: 75 * unit.Millimetre, Droop: 65 * unit.Millimetre},
		Points: 3,
	})
	if len(faults) > 0 {
		fmt.Println(faults)
		return
	}
	fmt.Println("at ride", t.RideLength.In(unit.Millimetres))
	fmt.Printf("shortest %.3f at %s, longest %.3f at %s\n",
		t.Shortest.Length.Mm(), t.Shortest.WheelTravel.Text(unit.Millimetres),
		t.Longest.Length.Mm(), t.Longest.WheelTravel.Text(unit.Millimetres))
	fmt.Printf("needs %.3f of compression and %.3f of extension\n", t.Compression.Mm(), t.Extension.Mm())
	for _, s := range t.Curve {
		fmt.Printf("%4.0f  %.3f  %.5f\n", s.WheelTravel.Mm(), s.Length.Mm(), s.MotionRatio)
	}
	// Output:
	// at ride 388.844442
	// shortest 315.951 at 75 mm, longest 452.576 at -65 mm
	// needs 72.893 of compression and 63.732 of extension
	//  -65  452.576  0.98326
	//    5  383.960  0.97667
	//   75  315.951  0.96534
}

func ExampleAxle_Pose() {
	l, _ := linkage.New(axle())
	a, _ := l.Axle()
	up, _ := a.Pose(80, 0)
	rolled, _ := a.Pose(0, 5*math.Pi/180)
	fmt.Printf("80 mm up %.4f mm, 5° rolled %.4f mm\n", up, rolled)
	// By hand, √(100² + 320²); the other was computed apart from this program.

	// Output:
	// 80 mm up 335.2611 mm, 5° rolled 370.6726 mm
}

func ExampleSweep_SolidBy() {
	l, _ := linkage.New(linkage.Spec{
		Kind:   linkage.Inclined,
		Damper: linkage.Damper{Upper: pt(0, 450, 640), Lower: pt(80, 430, 260)},
	})
	sweep, err := l.Sweep(0, linkage.Range{Bump: 75 * unit.Millimetre, Droop: 65 * unit.Millimetre})
	if err != nil {
		fmt.Println(err)
		return
	}
	// A damper of 300 to 460 mm, of which 6 mm are kept in reserve at each end.
	bump, ok := sweep.SolidBy(300+6, 460-6)
	fmt.Println(ok, bump.WheelTravel.Text(unit.Millimetres))
	droop, ok := sweep.TightBy(300+6, 460-6)
	fmt.Println(ok, droop.WheelTravel.Text(unit.Millimetres))
	// Output:
	// true 85.321 mm
	// true -66.448 mm
}

func ExampleStrap_For() {
	s := linkage.Strap{Distance: 300 * unit.Millimetre, MotionRatio: 0.8, Stretch: 0.05}
	fmt.Println(s.For(-75 * unit.Millimetre).Length.Text(unit.Millimetres))
	// Output:
	// 342.857 mm
}
