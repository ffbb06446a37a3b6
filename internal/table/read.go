package table

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"iter"
	"slices"

	"midstroke/internal/catalog"
	"midstroke/internal/mount"
)

// ReadContents reads a catalogue from the files of its names in the root of
// fsys. What is wrong with the files is a *Faults; any other error is of
// reading itself.
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

// Parts are the files of one catalogue. All but Dampers may be nil, which
// stands for a file that was left out.
type Parts struct{ Settings, Dampers, Sleeves, Spacers, Adapters io.Reader }

// ReadParts reads a catalogue from its files, one after the other, with an
// error as ReadContents gives it.
func ReadParts(parts Parts) (catalog.Contents, error) {
	var faults Faults
	if parts.Dampers == nil {
		faults.add(Fault{File: DampersFile, Code: "file_missing", Detail: "there is no such file", Cure: "add it; a catalogue is nothing without dampers"})
	}
	settings, err := ReadSettings(parts.Settings, &faults)
	if err != nil {
		return catalog.Contents{}, err
	}
	c := catalog.Contents{Currency: settings.Currency, Limits: settings.Limits}
	if c.Dampers, err = all(Dampers(parts.Dampers, &faults)); err != nil {
		return catalog.Contents{}, err
	}
	if c.Sleeves, err = all(Sleeves(parts.Sleeves, &faults)); err != nil {
		return catalog.Contents{}, err
	}
	if c.Spacers, err = all(Spacers(parts.Spacers, &faults)); err != nil {
		return catalog.Contents{}, err
	}
	if c.Adapters, err = all(Adapters(parts.Adapters, &faults)); err != nil {
		return catalog.Contents{}, err
	}
	faults.checkCurrency(&c)
	if err := faults.Err(); err != nil {
		return catalog.Contents{}, err
	}
	return c, nil
}

func all[T any](rows iter.Seq2[T, error]) ([]T, error) {
	var list []T
	for row, err := range rows {
		if err != nil {
			return nil, err
		}
		list = append(list, row)
	}
	return list, nil
}

// checkCurrency finds prices in no currency.
func (f *Faults) checkCurrency(c *catalog.Contents) {
	if c.Currency != "" {
		return
	}
	if slices.ContainsFunc(c.Dampers, func(d catalog.Damper) bool { return d.Price != mount.NoPrice }) ||
		slices.ContainsFunc(c.Sleeves, func(s mount.Sleeve) bool { return s.Price != mount.NoPrice }) ||
		slices.ContainsFunc(c.Spacers, func(s mount.Spacer) bool { return s.Price != mount.NoPrice }) ||
		slices.ContainsFunc(c.Adapters, func(a mount.Adapter) bool { return a.Price != mount.NoPrice }) {
		f.add(Fault{
			File: SettingsFile, Column: "currency", Code: "currency_missing",
			Detail: "parts have prices, but no currency is named", Cure: "name it in " + SettingsFile + ", as in EUR",
		})
	}
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

// ReadSettings reads catalog.csv. A nil reader gives no currency and the usual
// clearances.
func ReadSettings(r io.Reader, faults *Faults) (Settings, error) {
	k := settingsKind()
	settings, n := k.blank(), 0
	for row, err := range rowsOf(k, r, faults) {
		if err != nil {
			return Settings{}, err
		}
		if n++; n == 1 {
			settings = row
		}
	}
	if n > 1 {
		faults.add(Fault{
			File: SettingsFile, Code: "rows_too_many", Detail: fmt.Sprintf("%d rows stand here", n),
			Cure: "leave one row under the header",
		})
	}
	return settings, nil
}

// rowsOf reads the rows of one kind.
func rowsOf[T any](k kind[T], r io.Reader, faults *Faults) iter.Seq2[T, error] {
	return func(yield func(T, error) bool) {
		if r == nil {
			return
		}
		in := openRows(r)
		s := newSheet(k, faults, in.line)
		err := s.read(in, func(t *T) bool { return yield(*t, nil) })
		if err == nil {
			return
		}
		if t, line, ok := in.given(err); ok {
			s.faultAt(line, "", "", t)
			return
		}
		var none T
		yield(none, fmt.Errorf("%s: %w", k.file, err))
	}
}
