package damping

import (
	"midstroke/internal/enum"
	"midstroke/internal/fault"
	"midstroke/internal/note"
	"midstroke/internal/ride"
	"midstroke/internal/unit"
)

// Use is a kind of use of a vehicle, for which there are usual targets.
type Use uint8

// The uses. General is the default.
const (
	General Use = iota
	Comfort
	LoadCarrying
	Sport
	OffRoad
)

// Uses names the uses in requests and answers.
var Uses = enum.Names[Use]{"general", "comfort", "load_carrying", "sport", "off_road"}

// String gives the name of a use.
func (u Use) String() string { return Uses[u] }

// Range is a wanted figure with the least and the most that are good.
type Range struct{ Low, Wanted, High float64 }

func (r Range) scaled(by float64) Range { return Range{r.Low * by, r.Wanted * by, r.High * by} }

// Where figures come from, as the source of a step.
const (
	commonPractice = "common practice, no source"
	ourChoice      = "our choice"
	asGiven        = "as given"
)

// usual are the usual targets of each use. The ranges of the damping ratio and of
// the frequency of comfort, general and sport are common practice, no source.
// Those of the two other uses, each middle, the split and the road are our choice:
// loads ask for stiffer springs, rough ground for softer ones with more damping.
var usual = [...]struct {
	rideHz, ratio Range
	split         float64
	class         ride.Class
	speedKmh      float64
	source        string // of the ranges
}{
	General:      {Range{1.0, 1.25, 1.5}, Range{0.25, 0.32, 0.4}, 2, 'B', 80, commonPractice},
	Comfort:      {Range{1.0, 1.15, 1.3}, Range{0.2, 0.25, 0.3}, 2.5, 'B', 80, commonPractice},
	LoadCarrying: {Range{1.2, 1.5, 2.0}, Range{0.25, 0.35, 0.45}, 2, 'B', 80, ourChoice},
	Sport:        {Range{1.5, 2.0, 2.5}, Range{0.4, 0.5, 0.7}, 1.5, 'B', 100, commonPractice},
	OffRoad:      {Range{1.0, 1.3, 1.6}, Range{0.3, 0.38, 0.5}, 1.5, 'D', 40, ourChoice},
}

// Targets are what a caller wants. What is 0 is taken from the usual figures of
// the use.
type Targets struct {
	Use Use
	// RideHz is the wanted natural frequency of the body on spring and tyre.
	RideHz float64
	// Ratio is the wanted damping ratio of the body in heave, and RatioLow and
	// RatioHigh the least and the most that are good.
	Ratio, RatioLow, RatioHigh float64
	// Split is the force in rebound over that in compression at equal velocity.
	Split float64
	// Class and SpeedKmh are the road on which dampers are judged.
	Class    ride.Class
	SpeedKmh float64
}

// Target is a resolved target.
type Target struct {
	Range Range
	// Source is where the wanted figure came from.
	Source string
}

// Resolved are targets in which nothing is left open.
type Resolved struct {
	Use           Use
	RideHz, Ratio Target
	Split         float64
	SplitSource   string
	Class         ride.Class
	SpeedKmh      float64
	RoadSource    string // "as given" where both are
}

// The limits of targets are our choice.
const (
	MostRatio  = 2
	MostRideHz = 10
	LeastSplit = 0.2
	MostSplit  = 10
)

// ratioTolerance is how far from a given ratio a damper may be where no range is
// given, as a part of it: about a step of an adjuster (our choice).
const ratioTolerance = 0.2

// Resolve fills in the usual figures.
func (t *Targets) Resolve() Resolved {
	u := usual[t.Use]
	r := Resolved{
		Use:    t.Use,
		RideHz: Target{u.rideHz, u.source}, Ratio: Target{u.ratio, u.source},
		Split: u.split, SplitSource: ourChoice,
		Class: u.class, SpeedKmh: u.speedKmh, RoadSource: ourChoice,
	}
	if t.RideHz > 0 {
		const tolerance = 0.1 // our choice
		r.RideHz = Target{Range{t.RideHz * (1 - tolerance), t.RideHz, t.RideHz * (1 + tolerance)}, asGiven}
	}
	if t.Ratio > 0 || t.RatioLow > 0 || t.RatioHigh > 0 {
		r.Ratio = t.ratio(u.ratio, u.source)
	}
	if t.Split > 0 {
		r.Split, r.SplitSource = t.Split, asGiven
	}
	if t.Class != 0 {
		r.Class = t.Class
	}
	if t.SpeedKmh > 0 {
		r.SpeedKmh = t.SpeedKmh
	}
	if t.Class != 0 && t.SpeedKmh > 0 {
		r.RoadSource = asGiven
	}
	return r
}

// ratio is the range of the damping ratio where some of it is given, and where the
// wanted one came from. What isn't given is usual where that goes with what is.
func (t *Targets) ratio(usual Range, source string) Target {
	r := Range{t.RatioLow, t.Ratio, t.RatioHigh}
	if r.Wanted != 0 {
		if r.Low == 0 {
			r.Low = r.Wanted * (1 - ratioTolerance)
		}
		if r.High == 0 {
			r.High = r.Wanted * (1 + ratioTolerance)
		}
		return Target{r, asGiven}
	}
	if r.Low == 0 {
		r.Low = min(usual.Low, r.High*(1-ratioTolerance))
	}
	if r.High == 0 {
		r.High = max(usual.High, r.Low*(1+ratioTolerance))
	}
	if r.Wanted = usual.Wanted; r.Low <= r.Wanted && r.Wanted <= r.High {
		return Target{r, source}
	}
	r.Wanted = (r.Low + r.High) / 2
	return Target{r, ourChoice}
}

// Faults tells what cannot be. Its pointers are names of the targets: "/ratio",
// "/ride_hz", "/rebound_over_compression", "/road/class".
func (t *Targets) Faults() fault.List {
	var faults fault.List
	optional(&faults, "/ride_hz", t.RideHz, 0, MostRideHz, RideHzOutOfRange, "Hz")
	optional(&faults, "/damping_ratio", t.Ratio, 0, MostRatio, RatioOutOfRange, "")
	optional(&faults, "/damping_ratio_low", t.RatioLow, 0, MostRatio, RatioOutOfRange, "")
	optional(&faults, "/damping_ratio_high", t.RatioHigh, 0, MostRatio, RatioOutOfRange, "")
	if r := t.ratio(usual[t.Use].ratio, "").Range; len(faults) == 0 && (t.RatioLow > 0 || t.RatioHigh > 0) {
		switch {
		case r.Low > r.High && t.Ratio == 0: // so both are given
			faults.Add("/damping_ratio_low", ratioLowOverHigh, note.Num("low", r.Low, ""), note.Num("high", r.High, ""))
		case !(r.Low <= r.Wanted && r.Wanted <= r.High):
			faults.Add("/damping_ratio_low", ratiosCrossed, note.Num("low", r.Low, ""), note.Num("wanted", r.Wanted, ""), note.Num("high", r.High, ""))
		}
	}
	optional(&faults, "/rebound_over_compression", t.Split, LeastSplit, MostSplit, SplitOutOfRange, "")
	if t.Class != 0 && t.Class.String() == "" {
		faults.Add("/road/class", classUnknown)
	}
	optional(&faults, "/road/speed_kmh", t.SpeedKmh, 0, ride.MostSpeed, roadSpeedOutOfRange, "km/h")
	return faults
}

// optional reports v unless it is 0, for what isn't given, or within its limits.
func optional(faults *fault.List, pointer string, v, least, most float64, code fault.Code, unitName string) {
	if v != 0 && !(v > 0 && v >= least && v <= most) {
		faults.Add(pointer, code, limit("least", least, unitName), limit("most", most, unitName))
	}
}

// limit is a limit of a figure; that of a length is told in the reader's units.
func limit(name string, v float64, unitName string) note.Value {
	if unitName == "mm" {
		return note.Len(name, unit.FromMm(v))
	}
	return note.Num(name, v, unitName)
}
