// Package wire reads and writes the contract's forms: requests as JSON bodies
// or in flat names (the parameters of a query, the columns of a file), answers
// as JSON, CSV or one bare value. It knows no HTTP.
//
// A request of any source first becomes one light tree (tree), and one reader
// (form) asks that tree for the fields it wants and notes every fault on the
// way, so that a clerk is told at once of all that is wrong. Lengths go from
// their digits to nanometres without a float between.
//
// The readers are [ReadFits], [ReadFitsQuery], [ReadFitsCells], [ReadHardware]
// and [ReadTravel]. What they return as an error is a *[SyntaxError] for text
// that isn't JSON, and otherwise [Faults], each at the place where its sender
// wrote it. Whatever the core finds wrong later is put in the sender's terms
// by the request's Place method.
package wire
