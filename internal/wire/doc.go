// Package wire reads and writes the contract's forms: requests as JSON bodies
// or in flat names (the parameters of a query, the columns of a file), answers
// as JSON, CSV or one bare value. It knows no HTTP.
//
// Each request is a table of fields ([midstroke/internal/form]): fitsTable,
// hardwareTable, travelRequestTable and showTable. A body, a query and a row of
// cells are read by the same table. Lengths go from their digits to nanometres
// without a float between.
//
// The readers are [ReadFits], [ReadFitsQuery], [ReadFitsCells], [ReadHardware]
// and [ReadTravel]. What they return as an error is a *form.SyntaxError for text
// that isn't JSON, and otherwise a *[Refused], with each fault where its sender
// wrote it. Whatever the core finds wrong later is put in the sender's terms
// by the request's Place method.
//
//go:generate go test -run "TestFlatParameters|TestPagesHave|TestFitPaths" . -update
package wire
