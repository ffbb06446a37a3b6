package table

import (
	"archive/zip"
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

// String gives "csv", "xlsx" or "ndjson".
func (f Format) String() string {
	switch f {
	case CSV:
		return "csv"
	case XLSX:
		return "xlsx"
	case NDJSON:
		return "ndjson"
	}
	return ""
}

// ParseFormat reads "csv", "xlsx" or "ndjson".
func ParseFormat(name string) (Format, bool) {
	for _, f := range []Format{CSV, XLSX, NDJSON} {
		if f.String() == name {
			return f, true
		}
	}
	return 0, false
}

// Write writes a catalogue as one file, with lengths and errors as
// WriteContents has them. The same contents give the same bytes at any time,
// and those that are read back from them do as well.
func Write(w io.Writer, f Format, c catalog.Contents, units unit.System) error {
	switch f {
	case XLSX:
		return writeWorkbook(w, c, units)
	case NDJSON:
		return writeTables(func(string) (tableWriter, error) { return newObjectWriter(w), nil }, c, units)
	default:
		return writeArchive(w, c, units)
	}
}

func writeArchive(w io.Writer, c catalog.Contents, units unit.System) error {
	files := zip.NewWriter(w)
	err := WriteContents(func(name string) (io.Writer, error) { return createPart(files, name) }, c, units)
	if err := files.Close(); err != nil {
		return err
	}
	return err
}

// createPart begins a part of an archive, dated as early as archives can be so
// that the day of writing doesn't show.
func createPart(files *zip.Writer, name string) (io.Writer, error) {
	return files.CreateHeader(&zip.FileHeader{
		Name: name, Method: zip.Deflate, Modified: time.Date(1980, time.January, 1, 0, 0, 0, 0, time.UTC),
	})
}
