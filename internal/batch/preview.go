package batch

import (
	"context"
	"errors"
	"io"
	"slices"

	"midstroke/internal/fault"
	"midstroke/internal/table"
	"midstroke/internal/unit"
)

// Preview is how a file is understood, with its first rows answered.
type Preview struct {
	Kind table.Kind
	// Sheet is the sheet of a workbook that is read, "" for another kind of file.
	Sheet   string
	Columns []Column
	// Faults are those of the header, for which the file can't be answered.
	Faults fault.List
	First  []PreviewRow
}

// Column is how a column, or a member of the first objects, is understood.
type Column struct {
	Header string
	// Name is the flat name of a request, "" for a column that is only kept. Near is the
	// flat name that the column's looks like.
	Name, Near string
	// Units are those of bare numbers, where the header says them.
	Units unit.System
	// Earlier says that the column is one of an earlier answer, and is left out.
	Earlier bool
}

// PreviewRow is one of the first rows.
type PreviewRow struct {
	Line  int
	Cells []string
	// Values are those that were picked, none where the row has a fault or is blank.
	Values       []string
	Fault, Codes string
}

// Look opens a file, finds out what its columns mean, and answers its first rows unless
// the header has a fault.
func Look(ctx context.Context, file table.File, c Config, first int) (_ *Preview, err error) {
	b, faults, err := open(file, c)
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, b.Close()) }()
	p := &Preview{Kind: b.Kind(), Sheet: b.rows.Sheet, Faults: faults}
	var rows chunk
	for len(rows.rows) < first {
		row, err := b.rows.Next()
		if errors.Is(err, io.EOF) {
			break
		} else if err != nil {
			return nil, err
		}
		rows.add(row)
	}
	p.Columns = b.told(rows.rows)
	if len(faults) == 0 {
		if err := b.take(ctx, &rows, b.answer); err != nil {
			return nil, err
		}
	}
	for i := range rows.rows {
		p.First = append(p.First, rows.rows[i].preview(p.Columns))
	}
	return p, nil
}

// told says how the columns are understood. Objects have those of the first rows.
func (b *Batch) told(rows []answered) (all []Column) {
	columns := b.columns
	if b.rows.Kind == table.RowsOfObjects {
		var names []string
		for i := range rows {
			for _, m := range rows[i].row.Members {
				if !slices.Contains(names, m.Name) && len(names) < mostColumns {
					names = append(names, m.Name)
				}
			}
		}
		given := func(name string) bool { return b.Defaults.Has(name) || slices.Contains(names, name) }
		for _, name := range names {
			columns = append(columns, b.columnOf(name, given))
		}
	}
	for i := range columns {
		c := &columns[i]
		one := Column{Header: c.header, Near: c.near, Earlier: c.earlier}
		if c.name != nil {
			one.Name = c.name.Name
			if c.strayUnits() == nil {
				one.Units = c.units
			}
		}
		all = append(all, one)
	}
	return all
}

// preview gives a row under the columns.
func (a *answered) preview(columns []Column) PreviewRow {
	p := PreviewRow{Line: a.row.Line, Cells: a.row.Cells, Values: a.values, Fault: a.fault, Codes: a.codes}
	if a.row.Members == nil {
		return p
	}
	p.Cells = make([]string, len(columns))
	for i := range columns {
		for _, m := range a.row.Members {
			if m.Name == columns[i].Header {
				if p.Cells[i] = m.Text; m.Nested {
					p.Cells[i] = string(m.Raw)
				}
			}
		}
	}
	return p
}
