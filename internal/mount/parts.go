package mount

import (
	"math"

	"midstroke/internal/unit"
)

// Price is an amount in hundredths of the catalogue's currency; NoPrice where
// none is known.
type Price int64

// NoPrice says that a part's price is not known.
const NoPrice Price = -1

// OrDearest gives p, or more than any price where none is known, so that parts
// without a price come last.
func (p Price) OrDearest() Price {
	if p == NoPrice {
		return math.MaxInt64
	}
	return p
}

// Sleeve is a tube that adapts a bushing's bore to a smaller bolt.
type Sleeve struct {
	Code        string
	Description string
	Outer       unit.Length
	Bore        unit.Length
	BoreIs      BoreIs
	Length      unit.Length
	InStock     bool
	Price       Price
}

// Spacer is a ring on the bolt that fills the bracket's opening.
type Spacer struct {
	Code        string
	Description string
	Bore        unit.Length
	Thickness   unit.Length
	InStock     bool
	Price       Price
}

// Adapter makes a damper's end of one style into an end of another.
type Adapter struct {
	Code        string
	Description string
	// From is what the adapter mates with on the damper: an end of this style
	// and these measures. To is the end that it shows to the vehicle.
	From, To End
	// AddsLength is what it adds between the reference points; it may be
	// negative.
	AddsLength unit.Length
	InStock    bool
	Price      Price
}

// Limits are the clearances within which parts go together, a setting of the
// catalogue. All are diametral, as hole less part, but LeftOver, which is the
// gap along the bolt that a bracket may close by being drawn in.
type Limits struct {
	SleeveGapLeast, SleeveGapMost unit.Length // bushing on sleeve, sleeve on sleeve
	BoltGapLeast, BoltGapMost     unit.Length // sleeve or bushing on bolt
	LeftOverMost                  unit.Length
}

// UsualLimits are the clearances of common practice, no source: 0 to 0.3 mm
// between bushing and sleeve, 0.05 to 0.6 mm between sleeve and bolt, 0.5 mm
// left over along the bolt.
func UsualLimits() Limits {
	return Limits{
		SleeveGapLeast: 0, SleeveGapMost: 300 * unit.Micrometre,
		BoltGapLeast: 50 * unit.Micrometre, BoltGapMost: 600 * unit.Micrometre,
		LeftOverMost: 500 * unit.Micrometre,
	}
}
