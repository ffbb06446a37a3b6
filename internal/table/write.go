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
	var faults Faults
	settings := []Settings{{Currency: c.Currency, Limits: c.Limits}}
	for _, write := range []func() error{
		func() error { return writeFile(create, settingsKind(), settings, units, &faults) },
		func() error { return writeFile(create, dampersKind(), c.Dampers, units, &faults) },
		func() error { return writeFile(create, sleevesKind(), c.Sleeves, units, &faults) },
		func() error { return writeFile(create, spacersKind(), c.Spacers, units, &faults) },
		func() error { return writeFile(create, adaptersKind(), c.Adapters, units, &faults) },
	} {
		if err := write(); err != nil {
			return err
		}
	}
	faults.checkCurrency(&c)
	return faults.Err()
}

func writeFile[T comparable](create func(name string) (io.Writer, error), k kind[T], list []T, units unit.System, faults *Faults) error {
	w, err := create(k.file)
	if err != nil {
		return err
	}
	return writeRows(w, k, func(yield func(T, error) bool) {
		for i := range list {
			if !yield(list[i], nil) {
				return
			}
		}
	}, units, faults)
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
	return writeRows(w, dampersKind(), rows, units, faults)
}

// WriteSleeves writes sleeves.csv as WriteDampers does dampers.csv.
func WriteSleeves(w io.Writer, rows iter.Seq2[mount.Sleeve, error], units unit.System, faults *Faults) error {
	return writeRows(w, sleevesKind(), rows, units, faults)
}

// WriteSpacers writes spacers.csv as WriteDampers does dampers.csv.
func WriteSpacers(w io.Writer, rows iter.Seq2[mount.Spacer, error], units unit.System, faults *Faults) error {
	return writeRows(w, spacersKind(), rows, units, faults)
}

// WriteAdapters writes adapters.csv as WriteDampers does dampers.csv.
func WriteAdapters(w io.Writer, rows iter.Seq2[mount.Adapter, error], units unit.System, faults *Faults) error {
	return writeRows(w, adaptersKind(), rows, units, faults)
}

// WriteSettings writes catalog.csv.
func WriteSettings(w io.Writer, s Settings, units unit.System, faults *Faults) error {
	return writeRows(w, settingsKind(), func(yield func(Settings, error) bool) { yield(s, nil) }, units, faults)
}

// writeRows writes a header and rows. Every row is read back from its cells
// before it is written, so that nothing is ever written that would be refused
// or come out as something else.
func writeRows[T comparable](w io.Writer, k kind[T], rows iter.Seq2[T, error], units unit.System, faults *Faults) error {
	out := csv.NewWriter(w)
	out.UseCRLF = true // RFC 4180, section 2.1
	cells := make([]string, len(k.columns))
	for i := range k.columns {
		cells[i] = k.columns[i].header()
	}
	if err := out.Write(cells); err != nil {
		return err
	}
	line := 1
	check := newSheet(k, faults, func(int) int { return line })
	check.bind(cells)
	for row, err := range rows {
		if err != nil {
			return err
		}
		line++
		for i := range k.columns {
			cells[i] = k.columns[i].write(&row, units)
		}
		again, ok := check.row(cells)
		if ok && *again != row {
			ok = false
			check.fault(0, "", "", trouble{"unwritable", "this row would be read as another one", "see that texts have no blanks around them and that every field holds one of its values"})
		}
		if !ok {
			continue
		}
		if err := out.Write(cells); err != nil {
			return err
		}
	}
	out.Flush()
	return out.Error()
}
