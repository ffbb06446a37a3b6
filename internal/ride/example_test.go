package ride_test

import (
	"fmt"

	"midstroke/internal/ride"
	"midstroke/internal/unit"
)

func ExampleRoad_Travel() {
	r := ride.Road{
		Class: 'C', SpeedKmh: 80, Hours: 1,
		Corner: ride.Corner{SprungKg: 300, UnsprungKg: 40, WheelRate: 20, TyreRate: 180, Damping: 1500},
	}
	t, faults := r.Travel()
	if len(faults) > 0 {
		fmt.Println(faults)
		return
	}
	for _, s := range t.Steps {
		fmt.Printf("%s = %s\n", s.Text("en", unit.Millimetres), s.Result.Words(unit.Millimetres))
	}
	// Output:
	// roughness of a road of class C at 0.1 cycle/m (1 cm³ is 10⁻⁶ m³) = 256 cm³
	// root mean square of wheel travel: π · 0.1/m · √(roughness · speed · mass / damping) · 1000 mm/m, with 22.2222 m/s, 340 kg and 1500 N·s/m = 11.28 mm
	// passes of ride height upwards: √(tyre rate / mass · 1000 mm/m) / 2π, with 180 N/mm and 340 kg = 3.662 1/s
	// wheel travel that is exceeded each way once a minute on average: 11.28 mm · √(2 · ln 219.719), with 219.719 passes in a minute = 37.05 mm
	// largest travel over its root mean square, to be expected of 13183 passes in 1 h = 4.47776
	// 11.281 mm times 4.47776: largest wheel travel to be expected each way; some four drives in ten have a larger one = 50.52 mm
}

func ExampleLargestOverRMS() {
	fmt.Printf("%.2f in a minute, %.2f in an hour, %.2f in a hundred hours of 3.7 passes a second\n",
		ride.LargestOverRMS(3.7*60), ride.LargestOverRMS(3.7*3600), ride.LargestOverRMS(3.7*360_000))
	// Output:
	// 3.44 in a minute, 4.48 in an hour, 5.41 in a hundred hours of 3.7 passes a second
}
