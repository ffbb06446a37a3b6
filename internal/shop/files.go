package shop

import (
	"errors"

	"midstroke/internal/catalog"
	"midstroke/internal/table"
)

// PartsOfFiles reads the catalogue that files are together and gives it as
// parts, with how many of each there are. What is wrong with the files is a
// *table.Faults, and then there is nothing to be written.
//
// The files are gone through twice: once to check everything, which keeps the
// hardware, and once more for the dampers as they are asked for, so that a
// million of them are never held at once. stated is what is said of the files
// beside them. progress is told of the first, and
// may be nil.
func PartsOfFiles(files []table.File, stated table.Stated, progress table.Progress) (Parts, Counts, error) {
	var hardware catalog.Contents
	var n Counts
	settings, err := table.ReadStated(files, stated, table.Sink{
		Dampers:  func(rows []catalog.Damper) error { n.Dampers += len(rows); return nil },
		Sleeves:  keep(&hardware.Sleeves),
		Spacers:  keep(&hardware.Spacers),
		Adapters: keep(&hardware.Adapters),
	}, progress)
	if err != nil {
		return Parts{}, Counts{}, err
	}
	n.Sleeves, n.Spacers, n.Adapters = len(hardware.Sleeves), len(hardware.Spacers), len(hardware.Adapters)
	return Parts{
		Settings: settings,
		Dampers:  func(yield func(catalog.Damper, error) bool) { readDampers(files, stated, yield) },
		Sleeves:  each(hardware.Sleeves), Spacers: each(hardware.Spacers), Adapters: each(hardware.Adapters),
	}, n, nil
}

func keep[T any](list *[]T) func([]T) error {
	return func(rows []T) error {
		*list = append(*list, rows...)
		return nil
	}
}

// errEnough ends a reading whose rows nobody wants any more.
var errEnough = errors.New("enough")

func readDampers(files []table.File, stated table.Stated, yield func(catalog.Damper, error) bool) {
	_, err := table.ReadStated(files, stated, table.Sink{Dampers: func(rows []catalog.Damper) error {
		for i := range rows {
			if !yield(rows[i], nil) {
				return errEnough
			}
		}
		return nil
	}}, nil)
	if err != nil && !errors.Is(err, errEnough) {
		yield(catalog.Damper{}, err)
	}
}
