package damping_test

import (
	"fmt"

	"midstroke/internal/damping"
	"midstroke/internal/ride"
	"midstroke/internal/unit"
)

// pickup is an invented corner, which carries loads.
var pickup = damping.Question{
	Corner: ride.Corner{
		SprungKg: 280, LadenKg: 480, UnsprungKg: 60, SpringRate: 38, SpringRatio: 0.9, TyreRate: 250, DamperRatio: 0.8,
	},
	Targets: damping.Targets{Use: damping.LoadCarrying, Class: 'C', SpeedKmh: 60},
}

func ExampleQuestion_Answer() {
	a, faults := pickup.Answer()
	if len(faults) > 0 {
		fmt.Println(faults)
		return
	}
	for _, s := range a.Steps {
		fmt.Printf("%s = %s\n", s.Text("en", unit.Millimetres), s.Result.Words(unit.Millimetres))
	}
	for _, c := range a.Cautions {
		fmt.Println(c.Text("en", unit.Millimetres))
	}
	// Output:
	// wheel rate: spring rate times motion ratio squared, 38 N/mm · 0.9² = 30.78 N/mm
	// natural frequency of the body, 280 kg on 30.78 N/mm at the wheel and 250 N/mm of tyre in series: √(rate / mass · 1000 mm/m) / 2π = 1.575 Hz
	// critical damping of the body at the wheel: 2 · √(30.78 N/mm · 280 kg · 1000 mm/m) = 5871 N·s/m
	// with 480 kg on it in place of 280 kg the body goes down, besides what the tyre gives, by (480 kg - 280 kg) · 9.80665 m/s² / 30.78 N/mm = 63.72 mm
	// natural frequency of the body, 480 kg on 30.78 N/mm at the wheel and 250 N/mm of tyre in series: √(rate / mass · 1000 mm/m) / 2π = 1.203 Hz
	// critical damping of the body at the wheel: 2 · √(30.78 N/mm · 480 kg · 1000 mm/m) = 7687 N·s/m
	// natural frequency of the wheel, 60 kg between 30.78 N/mm and 250 N/mm of tyre: √(sum of rates / mass · 1000 mm/m) / 2π = 10.89 Hz
	// damping ratio wanted for load-carrying use, good from 0.25 to 0.45 = 0.35
	// mean power that damping takes at the wheel on a road of class C at 60 km/h, which is 16.6667 m/s: π² · (0.1/m)² · 256 cm³ · 16.6667 m/s · 250 N/mm of tyre / 1000 cm³/(m²·mm), with the geometric mean of the class's roughness at 0.1 cycles/m = 105.3 W
	// wanted damping at the wheel, friction included: the geometric mean of the damping ratios of both loads is the wanted one with 0.35 · √(5871.42 N·s/m · 7687.5 N·s/m) = 2351 N·s/m
	// with that the damping ratio is 2351.43 N·s/m / 7687.5 N·s/m = 0.305877 laden and, unladen, 2351.43 N·s/m / 5871.42 N·s/m = 0.4005
	// root mean square of the wheel's velocity on a road of class C at 60 km/h, where damping takes 105.276 W: √(105.276 W / 2351.43 N·s/m) = 0.2116 m/s
	// wanted damping of one damper: 2351.43 N·s/m over motion ratio 0.8 squared and over 1, the number of dampers on the wheel = 3674 N·s/m
	// rebound 2 times compression, and 3674.11 N·s/m as their mean: compression 2 · 3674.11 N·s/m / (1 + 2) = 2449.41 N·s/m, and rebound = 4899 N·s/m
	// root mean square of the damper's velocity: 0.211591 m/s at the wheel, times motion ratio 0.8 = 0.1693 m/s
}

func ExampleRater_Rate() {
	rater, faults := damping.NewRater(&pickup)
	if len(faults) > 0 {
		fmt.Println(faults)
		return
	}
	table := damping.Table{Curves: []damping.Curve{
		{Position: "soft", Points: []damping.Point{{Velocity: 0.1, Compression: 140, Rebound: 300}, {Velocity: 0.5, Compression: 420, Rebound: 900}}},
		{Position: "firm", Points: []damping.Point{{Velocity: 0.1, Compression: 260, Rebound: 600}, {Velocity: 0.5, Compression: 800, Rebound: 1900}}},
	}, GasForce: 200}
	rating, _ := rater.Rate(&table)
	for _, p := range rating.Positions {
		fmt.Printf("%s: %v, damping ratio %.2f unladen and %.2f laden at %.2f m/s\n", p.Name, p.Verdict, p.Loads[0].Ratio, p.Loads[1].Ratio, p.Velocity)
	}
	fmt.Printf("start from %s; the gas raises the body by %.1f mm\n", rating.Start().Name, 1000*rating.GasRise)
	// Output:
	// soft: soft, damping ratio 0.15 unladen and 0.12 laden at 0.27 m/s
	// firm: in_range, damping ratio 0.34 unladen and 0.26 laden at 0.18 m/s
	// start from firm; the gas raises the body by 5.2 mm
}
