package shop

import (
	"errors"

	"midstroke/internal/catalog"
	"midstroke/internal/table"
)

// PartsOfFiles reads a catalogue from its files and gives its parts, with how many
// there are of each kind. The error is a *table.Faults if something is wrong with the
// files.
//
// The files are read twice. The first pass checks everything and keeps the hardware.
// The second one gives the dampers one at a time, so that a million of them are never
// in memory together. stated holds what the files don't say themselves. progress is
// told of the first pass, and may be nil.
func PartsOfFiles(files []table.File, stated table.Stated, progress table.Progress) (Parts, Counts, error) {
	var hardware catalog.Contents
	var n Counts
	settings, err := table.ReadStated(files, stated, table.Sink{
		Dampers:  func(rows []catalog.Damper) error { n.Dampers += len(rows); return nil },
		Sleeves:  appendTo(&hardware.Sleeves),
		Spacers:  appendTo(&hardware.Spacers),
		Adapters: appendTo(&hardware.Adapters),
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

// appendTo makes a sink that appends rows to a list.
func appendTo[T any](list *[]T) func([]T) error {
	return func(rows []T) error {
		*list = append(*list, rows...)
		return nil
	}
}

// errEnough ends the reading when no more rows are wanted.
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
