package table

import (
	"archive/zip"
	"errors"
	"io"
	"time"

	"midstroke/internal/catalog"
	"midstroke/internal/unit"
)

// Format is a form in which a catalogue is written as one file.
type Format uint8

// The formats.
const (
	// CSV is a zip archive of the CSV files.
	CSV Format = iota + 1
	// XLSX is a workbook of a sheet for each kind of part.
	XLSX
	// NDJSON is one JSON object a line.
	NDJSON
)

// Write writes a catalogue as one file. It gives a *Faults where contents hold
// what Read would refuse; such rows are left out.
//
// With units Inches a length that is a whole number of 1/64 in is written as a
// mixed number of inches; every other length is written in millimetres. Reading
// gives the same contents, to the nanometre. The same contents give the same
// bytes at any time.
func Write(w io.Writer, f Format, c catalog.Contents, units unit.System) error {
	switch f {
	case XLSX:
		return writeWorkbook(w, &c, units)
	case NDJSON:
		return writeTables(func(string) (tableWriter, error) { return newObjectWriter(w), nil }, &c, units)
	default:
		return writeArchive(w, &c, units)
	}
}

func writeArchive(w io.Writer, c *catalog.Contents, units unit.System) error {
	files := zip.NewWriter(w)
	err := writeTables(func(name string) (tableWriter, error) {
		// Each is dated as early as archives can be, so that the same contents give
		// the same bytes on any day.
		w, err := files.CreateHeader(&zip.FileHeader{
			Name: name + ".csv", Method: zip.Deflate, Modified: time.Date(1980, time.January, 1, 0, 0, 0, 0, time.UTC),
		})
		return newCSVWriter(w), err
	}, c, units)
	return errors.Join(err, files.Close())
}
