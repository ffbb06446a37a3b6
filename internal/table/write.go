package table

import (
	"encoding/csv"
	"io"

	"midstroke/internal/catalog"
	"midstroke/internal/unit"
)

// A tableWriter writes one table.
type tableWriter interface {
	// begin writes what stands before the rows; item is what a row is.
	begin(item string, columns []column) error
	row(cells []string) error
	end() error
}

// A column is what a tableWriter has to know of a field.
type column struct {
	name, group, member, header string
	kind                        catalog.Kind
}

// writeTables writes all tables of a catalogue to the writers of their names,
// "dampers" and so on.
func writeTables(create func(name string) (tableWriter, error), c *catalog.Contents, units unit.System) error {
	var faults Faults
	settings := []catalog.Settings{c.Settings()}
	for _, write := range []func() error{
		func() error { return writeTable(create, catalog.SettingsTable(), settings, units, &faults) },
		func() error { return writeTable(create, catalog.DamperTable(), c.Dampers, units, &faults) },
		func() error { return writeTable(create, catalog.SleeveTable(), c.Sleeves, units, &faults) },
		func() error { return writeTable(create, catalog.SpacerTable(), c.Spacers, units, &faults) },
		func() error { return writeTable(create, catalog.AdapterTable(), c.Adapters, units, &faults) },
	} {
		if err := write(); err != nil {
			return err
		}
	}
	if c.Currency == "" && hasPrices(c) {
		faults.add(noCurrency())
	}
	return faults.Err()
}

func hasPrices(c *catalog.Contents) bool {
	return anyPriced(catalog.DamperTable(), c.Dampers) || anyPriced(catalog.SleeveTable(), c.Sleeves) ||
		anyPriced(catalog.SpacerTable(), c.Spacers) || anyPriced(catalog.AdapterTable(), c.Adapters)
}

func anyPriced[T any](kind *catalog.Table[T], list []T) bool {
	none := *kind.Price(&kind.Blank)
	for i := range list {
		if *kind.Price(&list[i]) != none {
			return true
		}
	}
	return false
}

// writeTable writes a table. Every row is first read back from its cells, so that
// no row is written that a reader would refuse or read differently. Such rows are
// left out, and faults has one for each.
func writeTable[T comparable](create func(name string) (tableWriter, error), kind *catalog.Table[T], list []T, units unit.System, faults *Faults) error {
	out, err := create(kind.Name)
	if err != nil {
		return err
	}
	check := newChecker(kind, faults, nil)
	check.stored = true
	cells := make([]string, len(check.fields))
	columns := make([]column, len(check.fields))
	for i, f := range check.fields {
		cells[i] = header(f)
		columns[i] = column{f.Name, f.Group, f.Member(), cells[i], f.Kind}
	}
	if err := out.begin(kind.Item, columns); err != nil {
		return err
	}
	line := writtenRow(1)
	check.begin(origin{file: kind.Name + ".csv"}, cells, &line)
	for i := range list {
		line++
		for j, f := range check.fields {
			cells[j] = write(f, &list[i], units)
		}
		check.inspect(cells)
		if len(check.wrong) == 0 && check.current != list[i] {
			check.report(wholeRow, "", problem(rowUnwritable))
		}
		if len(check.wrong) > 0 {
			continue
		}
		if err := out.row(cells); err != nil {
			return err
		}
	}
	return out.end()
}

// A writtenRow is the line of the row that is about to be written.
type writtenRow int

func (w *writtenRow) at(int) position { return position{line: int(*w)} }

func (w *writtenRow) odd() []oddCell { return nil }

func (w *writtenRow) bare(int) bool { return false }

// A csvWriter writes CSV by RFC 4180.
type csvWriter struct {
	out     *csv.Writer
	columns []column
	cells   []string
}

func newCSVWriter(w io.Writer) *csvWriter {
	out := csv.NewWriter(w)
	out.UseCRLF = true // RFC 4180, section 2.1
	return &csvWriter{out: out}
}

func (w *csvWriter) begin(_ string, columns []column) error {
	w.columns = columns
	for _, c := range columns {
		w.cells = append(w.cells, c.header)
	}
	return w.out.Write(w.cells)
}

func (w *csvWriter) row(cells []string) error {
	for i, text := range cells {
		if w.columns[i].kind.IsFree() {
			text = guarded(text)
		}
		w.cells[i] = text
	}
	return w.out.Write(w.cells)
}

func (w *csvWriter) end() error {
	w.out.Flush()
	return w.out.Error()
}
