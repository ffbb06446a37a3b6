package table

import (
	"errors"
	"fmt"
	"io"

	"midstroke/internal/catalog"
	"midstroke/internal/mount"
)

// The names of the files of a catalogue.
const (
	SettingsFile = "catalog.csv"
	DampersFile  = "dampers.csv"
	SleevesFile  = "sleeves.csv"
	SpacersFile  = "spacers.csv"
	AdaptersFile = "adapters.csv"
)

// File is one file that a catalogue is handed in as. Its name is only shown,
// and helps where the content leaves open what it holds.
type File struct {
	Name string
	Data io.ReaderAt
	Size int64
}

// Sink takes the rows of a catalogue, some thousand at a time in the order in
// which they stand. The slices may be used until the function returns, the
// texts in them for any time. A function that is nil leaves its rows; an error of one
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
func Read(files []File, to Sink, progress Progress) (catalog.Settings, error) {
	return ReadStated(files, Stated{}, to, progress)
}

// Stated is what is said of files beside them.
type Stated struct {
	// Currency is that of all prices (ISO 4217), for files that don't say it; "" for
	// none.
	Currency string
}

// ReadStated is Read of files of which something is said. Files that say otherwise
// are at fault.
func ReadStated(files []File, stated Stated, to Sink, progress Progress) (catalog.Settings, error) {
	var faults Faults
	r := &reading{faults: &faults}
	settings := newSettingsReceiver(&faults, stated)
	flush := r.receive(settings, to)
	if err := r.files(files, progress); err != nil && !errors.Is(err, errStop) {
		return catalog.Settings{}, err
	}
	r.checkCurrency(settings)
	if err := faults.Err(); err != nil {
		return catalog.Settings{}, err
	}
	return settings.value, flush()
}

// errStop ends a reading that has more rows than may be.
var errStop = errors.New("no more rows are wanted")

// files reads all files.
func (r *reading) files(files []File, progress Progress) error {
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
	m.close()
	r.checkDampers(files)
	m.tell()
	return nil
}
