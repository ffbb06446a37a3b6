// Package form reads what callers send by a table of fields: a JSON body or the
// parameters of a query. It reports all faults at once, each with its place and
// a code.
//
// A table is a [Record] of fields. It says of each field its name, its type with
// bounds, and where its value goes. The reader, the flat names of queries, the
// list of fields that the web pages use and the test against the contract all
// use this table.
//
//	var doorTable = form.NewRecord(
//		form.Field("height", form.Length, func(d *Door) *unit.Length { return &d.Height }).Needed(),
//		form.Field("hinge", form.OneOf(Hinges(), ParseHinge), func(d *Door) *Hinge { return &d.Hinge }),
//	)
package form
