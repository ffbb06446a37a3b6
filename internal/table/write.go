package table

import (
	"encoding/csv"
	"errors"
	"io"
	"iter"
	"os"
	"path/filepath"

	"midstroke/internal/catalog"
	"midstroke/internal/mount"
	"midstroke/internal/unit"
)

// WriteContents writes a catalogue as the files that ReadContents reads, one
// after the other, each to what create gives for its name (as archive/zip's
// Writer.Create does). It gives a *Faults where contents hold what
// ReadContents would refuse; such rows are left out.
//
// With units Inches a length that is a whole number of 1/64 in is written as a
// mixed number of inches; every other length is written in millimetres.
// Reading gives the same contents, to the nanometre, and writing those again
// with the same units gives the same bytes.
func WriteContents(create func(name string) (io.Writer, error), c catalog.Contents, units unit.System) error {
	return writeTables(func(name string) (tableWriter, error) {
		w, err := create(name + ".csv")
		return newCSVWriter(w), err
	}, c, units)
}

// WriteDir writes a catalogue, as WriteContents does, into the folder dir,
// which is there already.
func WriteDir(dir string, c catalog.Contents, units unit.System) error {
	var open *os.File
	closeOpen := func() error {
		if open == nil {
			return nil
		}
		file := open
		open = nil
		return file.Close()
	}
	err := WriteContents(func(name string) (io.Writer, error) {
		err := closeOpen()
		if err == nil {
			open, err = os.Create(filepath.Join(dir, name))
		}
		return open, err
	}, c, units)
	return errors.Join(err, closeOpen())
}

// WriteDampers writes dampers.csv one row at a time, as WriteContents does;
// rows that Dampers would refuse are left out and told to faults. An error
// that comes with a row is given back at once.
func WriteDampers(w io.Writer, rows iter.Seq2[catalog.Damper, error], units unit.System, faults *Faults) error {
	return writeRows(newCSVWriter(w), dampersKind(), rows, units, faults)
}

// WriteSleeves writes sleeves.csv as WriteDampers does dampers.csv.
func WriteSleeves(w io.Writer, rows iter.Seq2[mount.Sleeve, error], units unit.System, faults *Faults) error {
	return writeRows(newCSVWriter(w), sleevesKind(), rows, units, faults)
}

// WriteSpacers writes spacers.csv as WriteDampers does dampers.csv.
func WriteSpacers(w io.Writer, rows iter.Seq2[mount.Spacer, error], units unit.System, faults *Faults) error {
	return writeRows(newCSVWriter(w), spacersKind(), rows, units, faults)
}

// WriteAdapters writes adapters.csv as WriteDampers does dampers.csv.
func WriteAdapters(w io.Writer, rows iter.Seq2[mount.Adapter, error], units unit.System, faults *Faults) error {
	return writeRows(newCSVWriter(w), adaptersKind(), rows, units, faults)
}

// WriteSettings writes catalog.csv.
func WriteSettings(w io.Writer, s Settings, units unit.System, faults *Faults) error {
	return writeRows(newCSVWriter(w), settingsKind(), listed([]Settings{s}), units, faults)
}

// A tableWriter writes one table.
type tableWriter interface {
	begin(t tableShape) error
	row(cells []string) error
	end() error
}

// A tableShape is what a table's writer has to know of its kind.
type tableShape struct {
	one     string // what a row is
	columns []columnShape
}

// A columnShape is what a table's writer has to know of a column.
type columnShape struct {
	name, group, header string
	form                form
	bare                bool
}

func (k *kind[T]) shape() tableShape {
	t := tableShape{one: k.one}
	for i := range k.columns {
		c := &k.columns[i]
		t.columns = append(t.columns, columnShape{c.name, c.group, c.header(), c.form, c.bare})
	}
	return t
}

// writeTables writes all tables of a catalogue to the writers of their names,
// "dampers" and so on.
func writeTables(create func(name string) (tableWriter, error), c catalog.Contents, units unit.System) error {
	var faults Faults
	settings := []Settings{{Currency: c.Currency, Limits: c.Limits}}
	for _, write := range []func() error{
		func() error { return writeTable(create, settingsKind(), settings, units, &faults) },
		func() error { return writeTable(create, dampersKind(), c.Dampers, units, &faults) },
		func() error { return writeTable(create, sleevesKind(), c.Sleeves, units, &faults) },
		func() error { return writeTable(create, spacersKind(), c.Spacers, units, &faults) },
		func() error { return writeTable(create, adaptersKind(), c.Adapters, units, &faults) },
	} {
		if err := write(); err != nil {
			return err
		}
	}
	if c.Currency == "" && hasPrices(&c) {
		faults.add(currencyMissing())
	}
	return faults.Err()
}

func hasPrices(c *catalog.Contents) bool {
	return anyPriced(dampersKind(), c.Dampers) || anyPriced(sleevesKind(), c.Sleeves) ||
		anyPriced(spacersKind(), c.Spacers) || anyPriced(adaptersKind(), c.Adapters)
}

func anyPriced[T any](k kind[T], list []T) bool {
	for i := range list {
		if k.priced(&list[i]) {
			return true
		}
	}
	return false
}

func writeTable[T comparable](create func(name string) (tableWriter, error), k kind[T], list []T, units unit.System, faults *Faults) error {
	w, err := create(k.table())
	if err != nil {
		return err
	}
	return writeRows(w, k, listed(list), units, faults)
}

// listed gives the rows of a list one at a time.
func listed[T any](list []T) iter.Seq2[T, error] {
	return func(yield func(T, error) bool) {
		for i := range list {
			if !yield(list[i], nil) {
				return
			}
		}
	}
}

// writeRows writes a table. Every row is read back from its cells before it is
// written, so that nothing is ever written that would be refused or come out
// as something else.
func writeRows[T comparable](out tableWriter, k kind[T], rows iter.Seq2[T, error], units unit.System, faults *Faults) error {
	shape := k.shape()
	if err := out.begin(shape); err != nil {
		return err
	}
	cells := make([]string, len(shape.columns))
	for i := range shape.columns {
		cells[i] = shape.columns[i].header
	}
	written := &writtenRow{line: 1}
	check := newChecker(k, faults, nil)
	check.begin(origin{file: k.file}, cells, written)
	for row, err := range rows {
		if err != nil {
			return err
		}
		written.line++
		for i := range k.columns {
			cells[i] = k.columns[i].write(&row, units)
		}
		check.inspect(cells)
		if !check.faulted && check.current != row {
			check.fault(noPlace, "", "", trouble{"unwritable", "this row would be read as another one", "see that every field holds one of its values"})
		}
		if check.faulted {
			continue
		}
		if err := out.row(cells); err != nil {
			return err
		}
	}
	return out.end()
}

// A writtenRow is the row that is about to be written.
type writtenRow struct{ line int }

func (w *writtenRow) at(int) spot { return spot{line: w.line} }

func (w *writtenRow) odd() []oddity { return nil }

// A csvWriter writes CSV by RFC 4180.
type csvWriter struct {
	out   *csv.Writer
	free  []bool // which columns hold texts of any kind
	cells []string
}

func newCSVWriter(w io.Writer) *csvWriter {
	out := csv.NewWriter(w)
	out.UseCRLF = true // RFC 4180, section 2.1
	return &csvWriter{out: out}
}

func (w *csvWriter) begin(t tableShape) error {
	for _, c := range t.columns {
		w.free = append(w.free, c.form == free)
		w.cells = append(w.cells, c.header)
	}
	return w.out.Write(w.cells)
}

func (w *csvWriter) row(cells []string) error {
	for i, text := range cells {
		if w.free[i] {
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
