package fit

import (
	"midstroke/internal/catalog"
	"midstroke/internal/damping"
	"midstroke/internal/enum"
	"midstroke/internal/linkage"
	"midstroke/internal/measure"
	"midstroke/internal/note"
	"midstroke/internal/unit"
)

// Outcome is how an answer turned out.
type Outcome uint8

// The outcomes.
const (
	Fits Outcome = iota + 1
	NoFit
	MeasureAgain
	OutsideMethod
)

var outcomeNames = enum.Names[Outcome]{"", Fits: "fits", NoFit: "no_fit", MeasureAgain: "measure_again", OutsideMethod: "outside_method"}

// String gives the outcome's name in answers.
func (o Outcome) String() string { return outcomeNames[o] }

// Answer is everything that is answered to a request.
type Answer struct {
	Outcome Outcome
	// Reasons say why there is no fit, and what to do.
	Reasons []note.Note

	// Working is the working length, nil where none could be computed.
	Working *measure.Working
	// Required is the travel asked of a damper, nil where it could not be
	// computed.
	Required *Required
	// Damping is what dampers were judged by, nil where the request has no corner.
	Damping *damping.Rater

	Fits []Fit
	// More says that further dampers fit than are listed.
	More bool
	// Hardware is that of the listed fits, each different end once.
	Hardware []Hardware
	// AskNext is nil where no figure is lacking.
	AskNext    *AskNext
	NearMisses []NearMiss

	// RuledOut counts the dampers by the first reason against each; Counts
	// totals the catalogue. Both only where Explain was asked for or Codes
	// were named.
	RuledOut []Count
	Counts   *Counts
	// Judged tells of every damper named in Codes, in their order.
	Judged []Judgement

	Cautions []note.Note
}

// Both is a length each way.
type Both struct{ Compression, Extension unit.Length }

// Need is the travel asked for one way: the least, and what is wanted. Where a
// motion ratio enters that is known to within a tolerance, LeastWorst and
// WantedWorst are the same at the ratio that asks most; else they are equal to
// the first two.
type Need struct{ Least, Wanted, LeastWorst, WantedWorst unit.Length }

// Required is the travel asked of a damper from the ride height.
type Required struct {
	Basis                  Basis
	Compression, Extension Need
	Steps                  []note.Step
	// droop is what the droop limit does to the extension.
	droop droopNeed
	// held is the wheel travel each way over which one motion ratio was taken.
	held wheelTravel
	// compressionBy and extensionBy are the least needs at other motion ratios. They stay
	// empty with a linkage, which has no ratio of its own.
	compressionBy, extensionBy ratioNeed
}

// wheelTravel is a travel at the wheel each way from ride height.
type wheelTravel struct{ up, down unit.Length }

// Grade is how well a damper fits.
type Grade uint8

// The grades are ranks: a better one is less, and a damper that meets one meets
// every later one. The search and the ranking rely on this order.
const (
	// Clear: the wanted travel holds both ways in the worst case.
	Clear Grade = iota
	// Tight: the least travel holds both ways in the worst case.
	Tight
	// Marginal: the least travel holds both ways at the working length, but an
	// error within the tolerances undoes it.
	Marginal

	grades = 3
)

var gradeNames = [grades]string{Clear: "clear", Tight: "tight", Marginal: "marginal"}

// String gives the grade's name in answers.
func (g Grade) String() string { return gradeNames[g] }

// Fit is one damper in its best arrangement.
type Fit struct {
	Rank     int // from 1
	Grade    Grade
	Inverted bool // mounted the other way up than listed
	Damper   *catalog.Damper
	Place    int32 // of the damper in the list by code

	// Compressed and Extended are the damper's usable lengths: with its adapters,
	// and compressed as far as a stop on its rod allows.
	Compressed, Extended unit.Length
	// Travel is what the damper has from ride height to each end: compression
	// on the side that measured shorter, extension on the longer one. Margin is
	// that less the least needed, Worst the same with every tolerance against
	// it.
	Travel, Margin, Worst Both
	// AtHeights is the travel at the ends of the range of ride heights, nil
	// where none was given.
	AtHeights *AtHeights
	// Likelihood is the joint chance that both margins hold, 0 to 1, on the
	// side where it is less.
	Likelihood float64
	// RidePosition is where the mean of the sides lies in the stroke: 0 fully
	// compressed, 1 fully extended.
	RidePosition float64

	// Damping is that on the request's corner, nil without one and for a damper
	// without a force table.
	Damping *damping.Brief

	// Upper and Lower are the hardware at the vehicle's ends.
	Upper, Lower End
	Parts        int // adapters, sleeves and spacers of one damper
	// DamperPick and HardwarePicks are the lines of PickList. Fits with the same hardware
	// share its lines.
	DamperPick    Pick
	HardwarePicks []Pick
	Total         Total
	Stops         *Stops // where a linkage judged it or a stop was asked about
	// Clearances are those to the obstacles, in their order.
	Clearances []Clearance
	Notes      []note.Note
}

// Stroke is the usable stroke.
func (f *Fit) Stroke() unit.Length { return f.Extended - f.Compressed }

// AtHeights is the travel that a damper has at the lowest and at the highest of
// a range of ride heights.
type AtHeights struct{ Lowest, Highest Both }

// NearMiss is a damper that one remedy would make a fit.
type NearMiss struct {
	Damper   *catalog.Damper
	Place    int32 // of the damper in the list by code
	Inverted bool
	// ShortBy is what the least travel lacks each way, 0 where it holds.
	ShortBy  Both
	Travel   Both
	Remedies []Remedy       // the one of the least Least first
	Damping  *damping.Brief // as of a Fit
}

// RemedyKind is what to change.
type RemedyKind string

// The remedies.
const (
	MoveMountsApart    RemedyKind = "move_mounts_apart"
	MoveMountsTogether RemedyKind = "move_mounts_together"
	RaiseBody          RemedyKind = "raise_body"
	LowerBody          RemedyKind = "lower_body"
	AddAdapter         RemedyKind = "add_adapter"
	AddSleeve          RemedyKind = "add_sleeve"
	OpenBracket        RemedyKind = "open_bracket"
	LessTravel         RemedyKind = "less_travel"
)

// Remedy is one change that would make a near miss fit.
type Remedy struct {
	Kind RemedyKind
	// Least is how much just makes it a marginal fit; By is how much makes it
	// Grade: clear where any amount does, else tight, else By is Least. They are
	// between the mounts, at the wheel for the body's height, in the opening of
	// a bracket, or of travel given up at the damper.
	Least, By unit.Length
	Grade     Grade
	// Margin is what By leaves each way over the least needed, needs computed
	// anew.
	Margin Both
	Text   note.Note
	// Move is how a linkage's real point moves, nil without one.
	Move *PointMove
}

// PointMove is one end of the damper moved in a linkage, along the line of the
// damper at the height where the points were measured.
type PointMove struct {
	Point       string         // "upper" or "lower"
	Vector      [3]unit.Length // to be added to the point: x, y, z
	MotionRatio float64        // at ride, after it
}

// Count is how many dampers one reason rules out.
type Count struct {
	Reason note.Code
	Count  int
}

// Counts total the catalogue: Dampers = Fits + NearMisses + the ruled out.
type Counts struct{ Dampers, Fits, NearMisses, RuledOut int }

// Judgement is the verdict on one damper asked about by its code.
type Judgement struct {
	Code    string
	Verdict string // fits, near_miss, ruled_out
	Reasons []note.Note
}

// Stops says where the stops of a suspension must act so that they end the travel
// before the damper does.
type Stops struct {
	// Bump is the wheel travel from ride height at which a bump stop must be
	// solid, and Droop, negative, the one at which a strap must be tight; nil
	// where the damper can't be brought to its end that way.
	Bump, Droop *unit.Length
	// BumpStop and Strap are what was asked of these, nil where nothing was or
	// there is nothing to stop.
	BumpStop *linkage.BumpStopFit
	Strap    *linkage.StrapFit
	// late says that the bump stop asked about isn't solid in time.
	late bool
}
