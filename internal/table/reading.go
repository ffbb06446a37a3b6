package table

import (
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"midstroke/internal/unit"
)

// MostRows is how many rows all tables of a catalogue may have together. What
// is kept of each, to find codes that stand twice, is some 32 bytes.
const MostRows = 5_000_000

// mostColumns is how many columns a table may have, which is how many the
// sheets of spreadsheets do.
const mostColumns = 1 << 14

// A desk takes in the rows of one kind; it is a checker of any type of row.
type desk interface {
	table() string
	item() string
	taken() int64
	hasPrices() bool
	likeness(names map[string]bool) (known int, complete bool)
	// columnNames lists all columns there are, place finds one by its name,
	// and stranger says of another name that there is none.
	columnNames() []string
	place(name string) (place int, isList bool)
	stranger(name string) trouble
	begin(o origin, header []string, r row) bool
	take(cells []string, units unit.System) error
}

// A reading is one pass over the tables of a catalogue.
type reading struct {
	faults *Faults
	desks  []desk
	rows   int64
	tick   func() // is called every few thousand rows; may be nil
}

// fault reports what is wrong with a table.
func (r *reading) fault(o origin, at spot, value string, t trouble) {
	r.faults.add(o.fault(at, "", value, t))
}

// failed reports an error where it is the file's fault, and gives back any
// other. goOn says that there may be more rows.
func (r *reading) failed(o origin, err error) (goOn bool, _ error) {
	var b *broken
	if !errors.As(err, &b) {
		return false, err
	}
	r.fault(o, b.spot, "", b.trouble)
	return !b.end, nil
}

// file reads one file of those that a catalogue is handed in as.
func (r *reading) file(f File, m *meter) error {
	in := m.open(f)
	o := origin{file: f.Name}
	head := make([]byte, 4)
	if n, err := in.ReadAt(head, 0); err != nil && !errors.Is(err, io.EOF) {
		return err
	} else if isArchive(head[:n]) {
		return r.archive(o, in)
	}
	return r.plain(o, io.NewSectionReader(in, 0, f.Size), nil)
}

// table reads one table to its end. desk is nil where its header is to tell
// what its rows are.
func (r *reading) table(o origin, src source, to desk) error {
	header, err := firstRow(src)
	if errors.Is(err, io.EOF) {
		r.fault(o, spot{}, "", trouble{"file_empty", "the file is empty", "begin it with a row that names its columns, as code"})
		return nil
	}
	if err != nil {
		_, err = r.failed(o, err)
		return err
	}
	return r.tableUnder(header, o, src, to)
}

// tableUnder reads the rows under a header.
func (r *reading) tableUnder(header []string, o origin, src source, to desk) error {
	if len(header) > mostColumns {
		r.fault(o, src.at(noPlace), "", trouble{"columns_too_many", fmt.Sprintf("there are more than %d columns", mostColumns), "begin the table with a row that names its columns, as code"})
		return nil
	}
	if to == nil {
		if to = r.told(o, header, src); to == nil {
			return nil
		}
	}
	if !to.begin(o, header, src) {
		return nil
	}
	for {
		cells, err := src.next()
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			if goOn, err := r.failed(o, err); !goOn {
				return err
			}
			continue
		}
		if isBlank(cells) {
			continue
		}
		if err := r.take(to, o, src, cells, unit.Unset); err != nil {
			return err
		}
	}
}

// take counts a row and gives it to its desk.
func (r *reading) take(to desk, o origin, at row, cells []string, units unit.System) error {
	if r.rows++; r.rows > MostRows {
		r.fault(o, at.at(noPlace), "", trouble{"rows_too_many", fmt.Sprintf("there are more than %d rows in all", MostRows), "make several catalogues of it"})
		return errStop
	}
	if r.tick != nil && r.rows%rowsBetweenTicks == 0 {
		r.tick()
	}
	return to.take(cells, units)
}

// firstRow gives the first row that isn't blank.
func firstRow(src source) ([]string, error) {
	for {
		cells, err := src.next()
		if err != nil || !isBlank(cells) {
			return cells, err
		}
	}
}

// told finds out what the rows under a header are: what has every column that
// must be there, else what the table is called, else what has most of its
// columns. Where it can't be told that is reported, and there is none.
func (r *reading) told(o origin, header []string, at row) desk {
	names := make(map[string]bool, len(header))
	for _, text := range header {
		name, _, _, _ := headerName(text)
		names[name] = true
	}
	var best desk
	var known int
	var complete, tie bool
	for _, d := range r.desks {
		n, all := d.likeness(names)
		switch {
		case n == 0 || complete && !all:
		case all && !complete || n > known:
			best, known, complete, tie = d, n, all, false
		case n == known:
			tie = true
		}
	}
	if named := r.named(o); named != nil && (!complete || tie) {
		return named
	}
	switch {
	case best == nil:
		r.fault(o, at.at(noPlace), strings.Join(header, ","), trouble{
			"header_missing", "the first row names none of the columns", "begin the table with a row that names its columns, as code, or leave it out",
		})
	case tie:
		r.fault(o, at.at(noPlace), strings.Join(header, ","), trouble{
			"table_unknown", "these columns could be those of several kinds of part", "name the table dampers, sleeves, spacers or adapters, whichever it holds",
		})
	default:
		return best
	}
	return nil
}

// named finds what the rows of a table are by its name: Dampers-2.csv, or a
// sheet "my dampers".
func (r *reading) named(o origin) desk {
	name := o.sheet
	if name == "" {
		name = o.file[strings.LastIndexAny(o.file, `/\`)+1:]
	}
	words := strings.FieldsFunc(strings.ToLower(name), func(r rune) bool { return r < 'a' || r > 'z' })
	for _, d := range r.desks {
		if slices.Contains(words, d.table()) || slices.Contains(words, d.item()) {
			return d
		}
	}
	return nil
}

// plain reads a file that is no archive: CSV or, unless its desk is known
// already, JSON objects.
func (r *reading) plain(o origin, in io.Reader, to desk) error {
	text, err := opened(in)
	if err != nil {
		_, err = r.failed(o, err)
		return err
	}
	if head, _ := text.Peek(bufferBytes); to == nil && isObjects(head) { // an error comes with the first row
		return r.objects(o, text)
	}
	return r.table(o, newCSVRows(text), to)
}
