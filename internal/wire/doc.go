// Package wire reads requests and writes answers as the contract describes them.
// A request is a JSON body, or flat names such as the parameters of a query. An
// answer is JSON, CSV or one bare value. The package knows no HTTP.
//
// Each request has a table of its fields ([midstroke/internal/form]): fitsTable,
// hardwareTable, travelRequestTable and showTable. The same table reads a body
// and a query. A length becomes nanometres straight from its digits, without a
// float between.
//
// The readers are [ReadFits], [ReadFitsQuery], [ReadHardware] and [ReadTravel].
// Their error is a *form.SyntaxError where the text isn't JSON, and otherwise a
// *[Refused] that names the place of each fault as the sender wrote it. A
// request's Place method names the places of faults that the core finds later.
//
// Each answer has a table of its members too, in the files …answer.go.
//
//go:generate go test -run "TestFlatParameters|TestFileColumns|TestPagesHave|TestFitPaths" . -update
package wire
