// Package form reads what callers send against a table of fields: a JSON body,
// the parameters of a query or the cells of a row. It finds every fault at
// once, each with its place and a code.
//
// A table is a [Record] of fields. It is the one place where a field's name,
// type, bounds and home stand: the reader, the flat names of queries, the list
// that the web pages use and the test against the contract all go by it.
//
//	var doorTable = form.NewRecord(
//		form.Field("height", form.Length, func(d *Door) *unit.Length { return &d.Height }).Needed(),
//		form.Field("hinge", form.OneOf(Hinges(), ParseHinge), func(d *Door) *Hinge { return &d.Hinge }),
//	)
package form
