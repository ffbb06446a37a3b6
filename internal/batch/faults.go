package batch

import (
	"midstroke/internal/fault"
	"midstroke/internal/note"
	"midstroke/internal/table"
)

// The codes of the faults that this package finds.
const (
	headerMissing  fault.Code = "header_missing.request"
	tooManyColumns fault.Code = "columns_too_many.request"
	columnTwice    fault.Code = "column_twice.request"
	columnMissing  fault.Code = "column_missing.request"
	columnNear     fault.Code = "column_unknown.looks_like"
	columnOfAxle   fault.Code = "column_unknown.of_axle"
	unitsStray     fault.Code = "units_stray"
	tooManyRows    fault.Code = "rows_too_many.request"

	otherCatalog  fault.Code = "not_allowed.other_catalog"
	otherRevision fault.Code = "not_allowed.other_revision"
	nested        fault.Code = "wrong_type.nested"
	memberNear    fault.Code = "unknown_field.looks_like"
	memberOfAxle  fault.Code = "unknown_field.of_axle"
	notAnswered   fault.Code = "not_answered"
	revisionGone  fault.Code = "revision_gone"
	badWeight     fault.Code = "out_of_range.weight"
)

// mostColumns is how many columns a file may have. The answer adds some.
const mostColumns = 10_000

// headerFault makes a fault of a column of the header.
func (b *Batch) headerFault(column string, code fault.Code, values ...note.Value) fault.Fault {
	return fault.Fault{Place: fault.Place{File: b.file.Name, Sheet: b.rows.Sheet, Line: b.headerLine, Column: column}, Code: code, Values: values}
}

// asFaults makes an error of the faults of a file.
func asFaults(list fault.List) error {
	if len(list) == 0 {
		return nil
	}
	all := &table.Faults{List: list}
	if n := len(list) - table.MaxListed; n > 0 {
		all.List, all.More = list[:table.MaxListed], n
	}
	return all
}
