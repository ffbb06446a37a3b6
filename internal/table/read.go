package table

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"iter"

	"midstroke/internal/catalog"
	"midstroke/internal/mount"
)

// File is one file that a catalogue is handed in as. Its name is only shown,
// and helps where the content leaves open what it holds.
type File struct {
	Name string
	Data io.ReaderAt
	Size int64
}

// Sink takes the rows of a catalogue, some thousand at a time in the order in
// which they stand. The slices are good until the function returns, the texts
// in them for ever. A function that is nil leaves its rows; an error of one
// ends the reading.
type Sink struct {
	Dampers  func([]catalog.Damper) error
	Sleeves  func([]mount.Sleeve) error
	Spacers  func([]mount.Spacer) error
	Adapters func([]mount.Adapter) error
}

// Read reads the catalogue that files are together, each of which is CSV,
// JSON objects or a workbook, or an archive of such files; what each is shows
// in its content. It goes through the files once, as they come. progress may
// be nil.
//
// What is wrong with the files is a *Faults; any other error is the sink's or
// of reading itself. Rows go to the sink until the first fault. With one, some
// rows are there already, and the caller undoes what was done with them; all
// others are still checked.
func Read(files []File, to Sink, progress Progress) (Settings, error) {
	return readInto(to, func(r *reading) error {
		m := &meter{reading: r, progress: progress}
		for _, f := range files {
			m.total += f.Size
		}
		r.tick = m.tell
		for _, f := range files {
			if err := r.file(f, m); err != nil {
				return fmt.Errorf("%s: %w", f.Name, err)
			}
		}
		r.checkDampers(files)
		m.tell()
		return nil
	})
}

// readInto reads a catalogue by whatever way read goes.
func readInto(to Sink, read func(*reading) error) (Settings, error) {
	var faults Faults
	r := &reading{faults: &faults}
	settings := newSettingsDesk(&faults)
	flush := r.seat(settings, to)
	if err := read(r); err != nil && !errors.Is(err, errStop) {
		return Settings{}, err
	}
	r.checkCurrency(settings)
	if err := faults.Err(); err != nil {
		return Settings{}, err
	}
	return settings.value, flush()
}

// ReadAll reads a catalogue as Read does and keeps all of it.
func ReadAll(files []File, progress Progress) (catalog.Contents, error) {
	var c catalog.Contents
	settings, err := Read(files, collecting(&c), progress)
	if err != nil {
		return catalog.Contents{}, err
	}
	c.Currency, c.Limits = settings.Currency, settings.Limits
	return c, nil
}

func collecting(c *catalog.Contents) Sink {
	return Sink{
		Dampers:  appending(&c.Dampers),
		Sleeves:  appending(&c.Sleeves),
		Spacers:  appending(&c.Spacers),
		Adapters: appending(&c.Adapters),
	}
}

func appending[T any](list *[]T) func([]T) error {
	return func(rows []T) error {
		*list = append(*list, rows...)
		return nil
	}
}

// ReadContents reads a catalogue from the CSV files of its names in the root
// of fsys, with an error as Read gives it.
func ReadContents(fsys fs.FS) (c catalog.Contents, err error) {
	var parts Parts
	for _, p := range []struct {
		name string
		part *io.Reader
	}{
		{SettingsFile, &parts.Settings}, {DampersFile, &parts.Dampers}, {SleevesFile, &parts.Sleeves},
		{SpacersFile, &parts.Spacers}, {AdaptersFile, &parts.Adapters},
	} {
		file, err := fsys.Open(p.name)
		if errors.Is(err, fs.ErrNotExist) {
			continue
		}
		if err != nil {
			return catalog.Contents{}, err
		}
		defer func() { _ = file.Close() }() // it was only read
		*p.part = file
	}
	return ReadParts(parts)
}

// Parts are the CSV files of one catalogue. All but Dampers may be nil, which
// stands for a file that was left out.
type Parts struct{ Settings, Dampers, Sleeves, Spacers, Adapters io.Reader }

// ReadParts reads a catalogue from its files, one after the other, with an
// error as Read gives it.
func ReadParts(parts Parts) (catalog.Contents, error) {
	var c catalog.Contents
	settings, err := readInto(collecting(&c), func(r *reading) error {
		if parts.Dampers == nil {
			r.faults.add(Fault{File: DampersFile, Code: "file_missing", Detail: "there is no such file", Cure: "add it; a catalogue is nothing without dampers"})
		}
		for i, in := range []io.Reader{parts.Settings, parts.Dampers, parts.Sleeves, parts.Spacers, parts.Adapters} {
			if in == nil {
				continue
			}
			name := r.desks[i].table() + ".csv"
			if err := r.plain(origin{file: name}, in, r.desks[i]); err != nil {
				return fmt.Errorf("%s: %w", name, err)
			}
		}
		return nil
	})
	if err != nil {
		return catalog.Contents{}, err
	}
	c.Currency, c.Limits = settings.Currency, settings.Limits
	return c, nil
}

// Dampers reads dampers.csv one row at a time. Rows with faults are left out
// and told to faults. The sequence ends after an error, which is of reading
// itself. A nil reader has no rows.
func Dampers(r io.Reader, faults *Faults) iter.Seq2[catalog.Damper, error] {
	return rowsOf(dampersKind(), r, faults)
}

// Sleeves reads sleeves.csv as Dampers does dampers.csv.
func Sleeves(r io.Reader, faults *Faults) iter.Seq2[mount.Sleeve, error] {
	return rowsOf(sleevesKind(), r, faults)
}

// Spacers reads spacers.csv as Dampers does dampers.csv.
func Spacers(r io.Reader, faults *Faults) iter.Seq2[mount.Spacer, error] {
	return rowsOf(spacersKind(), r, faults)
}

// Adapters reads adapters.csv as Dampers does dampers.csv.
func Adapters(r io.Reader, faults *Faults) iter.Seq2[mount.Adapter, error] {
	return rowsOf(adaptersKind(), r, faults)
}

// rowsOf reads the rows of one kind.
func rowsOf[T any](k kind[T], in io.Reader, faults *Faults) iter.Seq2[T, error] {
	return func(yield func(T, error) bool) {
		if in == nil {
			return
		}
		to := newChecker(k, faults, func(row *T) error {
			if !yield(*row, nil) {
				return errStop
			}
			return nil
		})
		r := &reading{faults: faults}
		if err := r.plain(origin{file: k.file}, in, to); err != nil && !errors.Is(err, errStop) {
			var none T
			yield(none, fmt.Errorf("%s: %w", k.file, err))
		}
	}
}
