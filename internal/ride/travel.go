package ride

import (
	"math"

	"midstroke/internal/fault"
	"midstroke/internal/note"
	"midstroke/internal/unit"
)

// Road is a corner driven over a road.
type Road struct {
	Class    Class
	SpeedKmh float64
	// Hours is how long; the longer, the larger the largest travel.
	Hours float64
	// Corner needs its Damping.
	Corner Corner
}

// Speed is the speed in m/s.
func (r Road) Speed() float64 {
	const kmhInMs = 3.6
	return r.SpeedKmh / kmhInMs
}

// Travel is the wheel travel that a road asks for, the same each way from ride
// height.
type Travel struct {
	// RMS is the root mean square of wheel travel.
	RMS unit.Length
	// OncePerMinute is the travel that is exceeded one way once a minute on
	// average: a damper with less would bottom as often.
	OncePerMinute unit.Length
	// Largest is the expected largest travel one way within the hours. It is no
	// ceiling: some four such drives in ten have a larger one.
	Largest unit.Length
	// LargestOverRMS is Largest over RMS: about 4.5 in an hour.
	LargestOverRMS float64
	// Crossings is how often in a second the wheel passes ride upwards, 1/s.
	Crossings float64
	Response  Response
	Steps     []note.Step
}

// The limits of what is answered are our choice: wide enough for anything on
// wheels, narrow enough to catch a wrong unit.
const (
	LeastHours = 0.01
	MostHours  = 100_000
	MostSpeed  = 500 // km/h
	mostTravel = 10 * unit.Metre
)

// Check tells what cannot be. Its faults point into {"class", "speed_kmh",
// "hours", "corner"}. The corner needs its damping.
func (r Road) Check() fault.List {
	var faults fault.List
	if !r.Class.valid() {
		faults.Add("/class", classUnknown)
	}
	positive(&faults, "/speed_kmh", r.SpeedKmh, speedOutOfRange, MostSpeed, "km/h")
	if !(r.Hours >= LeastHours && r.Hours <= MostHours) {
		faults.Add("/hours", hoursOutOfRange, note.Num("least", LeastHours, ""), note.Num("most", MostHours, ""))
	}
	faults.AddUnder("/corner", r.Corner.Faults())
	if r.Corner.Damping == 0 {
		positive(&faults, "/corner/damping_ns_m", 0, dampingOutOfRange, MostDamping, "N·s/m")
	}
	return faults
}

// car is the corner as it moves most on a road, with the load: the square of
// travel grows with the mass, and the spring doesn't count.
func (r Road) car() QuarterCar {
	loads := r.Corner.Loads()
	state, _ := r.Corner.At(loads[len(loads)-1], 0) // Check has seen it settle
	car := state.Car
	car.Damping = r.Corner.Damping
	return car
}

// Travel gives the wheel travel that the road asks for, with its arithmetic. The
// damper's is that times the motion ratio, or follows from its linkage.
func (r Road) Travel() (Travel, fault.List) {
	faults := r.Check()
	if len(faults) > 0 {
		return Travel{}, faults
	}
	speed := r.Speed()
	roughness := r.Class.Roughness()
	car := r.car()
	response := car.Response(roughness, speed)
	const secondsPerMinute, secondsPerHour = 60, 3600
	crossings := response.Crossings * r.Hours * secondsPerHour
	ratio := LargestOverRMS(crossings)
	perMinute := response.Crossings * secondsPerMinute

	const mmInMetre = 1000
	rms := response.Travel * mmInMetre
	largest, once := ratio*rms, ExceededOnceOverRMS(perMinute)*rms
	if !(max(largest, once) <= mostTravel.Mm()) {
		faults.Add("", travelOutOfRange)
		return Travel{}, faults
	}
	t := Travel{
		RMS: unit.FromMm(rms), OncePerMinute: unit.FromMm(once), Largest: unit.FromMm(largest),
		LargestOverRMS: ratio, Crossings: response.Crossings, Response: response,
	}
	t.Steps = r.steps(t, car, roughness, crossings, perMinute)
	return t, nil
}

func (r Road) steps(t Travel, car QuarterCar, roughness, crossings, perMinute float64) []note.Step {
	total := car.Sprung + car.Unsprung
	ratio := significant(t.LargestOverRMS)
	passes := significant(perMinute)
	once, largest := note.AtLeast("exceeded", t.OncePerMinute), note.AtLeast("largest", t.Largest)
	rmsOnce, rmsLargest := note.Len("rms", t.RMS), note.Len("rms", t.RMS)
	note.Follow(note.Times(once, &rmsOnce, math.Sqrt(2*math.Log(passes))))
	note.Follow(note.Times(largest, &rmsLargest, ratio))
	return []note.Step{
		{
			Note:   note.New("road_roughness", note.Word("class", r.Class.String())),
			Result: note.Num("roughness", significant(roughness*1e6), "cm³"),
			Source: "ISO 8608:2016, geometric mean of the class, by way of secondary sources",
		},
		{
			Note:   note.New("road_travel_rms", part("speed", r.Speed(), "m/s"), part("mass", total, "kg"), part("damping", car.Damping, "N·s/m")),
			Result: note.Len("rms", t.RMS),
			Source: "linear quarter car; Gobbi and Mastinu, J. Sound Vib. 245 (2001), from memory",
		},
		{
			Note:   note.New("road_crossings", part("tyre_rate", r.Corner.TyreRate, "N/mm"), part("mass", total, "kg")),
			Result: note.Num("crossings", significant(t.Crossings), "1/s"),
			Source: "Rice, Bell Syst. Tech. J. 24 (1945), from memory",
		},
		{
			Note:   note.New("road_once_a_minute", rmsOnce, note.GivenNum("crossings", passes, "")),
			Result: once,
			Source: "Rice, Bell Syst. Tech. J. 24 (1945), from memory",
		},
		{
			Note: note.New("road_largest_over_rms", note.Num("hours", significant(r.Hours), "h"),
				note.Num("crossings", math.Round(crossings), "")),
			Result: note.GivenNum("ratio", ratio, ""),
			Source: "mean of the largest of a Poisson process of crossings; Davenport, Proc. Inst. Civ. Eng. 28 (1964), from memory",
		},
		{
			Note:   note.New("road_largest", rmsLargest, note.GivenNum("ratio", ratio, "")),
			Result: largest,
		},
	}
}

// part is a figure that another one is worked out from, to six significant figures.
func part(name string, v float64, unitName string) note.Value {
	return note.FigureTo(name, v, unitName, 6)
}

// significant rounds to six significant figures, more than any input of the
// quarter car has, so that steps are legible and the same everywhere.
func significant(v float64) float64 {
	if v == 0 || math.IsNaN(v) || math.IsInf(v, 0) {
		return v
	}
	p := math.Pow(10, 5-math.Floor(math.Log10(math.Abs(v))))
	return math.Round(v*p) / p
}
