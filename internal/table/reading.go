package table

import (
	"errors"
	"io"
	"slices"
	"strings"

	"midstroke/internal/fault"
	"midstroke/internal/note"
	"midstroke/internal/unit"
)

// MostRows is how many rows all tables of a catalogue may have together. About 32
// bytes of each are kept, to find codes that stand twice.
const MostRows = 5_000_000

// mostColumns is how many columns a table may have, as in spreadsheets.
const mostColumns = 1 << 14

// A reading is one pass over the tables of a catalogue.
type reading struct {
	faults    *Faults
	receivers []receiver
	rows      int64
	tick      func() // is called every few thousand rows
}

// report reports what is wrong with a table.
func (r *reading) report(o origin, at position, value string, f *fault.Fault) {
	r.faults.add(o.put(*f, at, "", value))
}

// reportOrReturn reports an error that is a fault of the file, and gives any other back.
// goOn says whether there may be more rows.
func (r *reading) reportOrReturn(o origin, err error) (goOn bool, _ error) {
	var bad *fileError
	if !errors.As(err, &bad) {
		return false, err
	}
	r.report(o, bad.position, "", &bad.Fault)
	return !bad.last, nil
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
	return r.plain(o, io.NewSectionReader(in, 0, f.Size))
}

// plain reads a file that is no archive: CSV or JSON objects.
func (r *reading) plain(o origin, in io.Reader) error {
	text, err := opened(in)
	if err != nil {
		_, err = r.reportOrReturn(o, err)
		return err
	}
	if head, _ := text.Peek(bufferBytes); isObjects(head) { // an error comes with the first row
		return r.objects(o, text)
	}
	src := newCSVRows(text)
	header, err := firstRow(src)
	if errors.Is(err, io.EOF) {
		r.report(o, position{}, "", problem(fileEmpty))
		return nil
	}
	if err != nil {
		_, err = r.reportOrReturn(o, err)
		return err
	}
	return r.table(header, o, src)
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

// table reads the rows under a header, to the end of their table.
func (r *reading) table(header []string, o origin, src source) error {
	if len(header) > mostColumns {
		r.report(o, src.at(wholeRow), "", problem(tooManyColumns, note.Num("most", mostColumns, "")))
		return nil
	}
	to := r.receiverOf(o, header, src)
	if to == nil || !to.begin(o, header, src) {
		return nil
	}
	for {
		cells, err := src.next()
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			if goOn, err := r.reportOrReturn(o, err); !goOn {
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

// take counts a row and gives it to its receiver.
func (r *reading) take(to receiver, o origin, at rowInfo, cells []string, units unit.System) error {
	if r.rows++; r.rows > MostRows {
		r.report(o, at.at(wholeRow), "", problem(tooManyRows, note.Num("most", MostRows, "")))
		return errStop
	}
	if r.rows%rowsBetweenTicks == 0 {
		r.tick()
	}
	return to.take(cells, units)
}

// receiverOf finds out what the rows under a header are: the kind whose needed
// columns are all there, else the one that the table is named after, else the
// one that has most of the columns. It reports it where it can't tell.
func (r *reading) receiverOf(o origin, header []string, at rowInfo) receiver {
	names := make(map[string]bool, len(header))
	for _, text := range header {
		name, _, _, _ := headerName(text)
		names[name] = true
	}
	var best receiver
	var known int
	var complete, tie bool
	for _, part := range r.receivers {
		n, all := part.likeness(names)
		switch {
		case n == 0 || complete && !all:
		case all && !complete || n > known:
			best, known, complete, tie = part, n, all, false
		case n == known:
			tie = true
		}
	}
	if named := r.receiverNamed(o); named != nil && (!complete || tie) {
		return named
	}
	switch {
	case best == nil:
		r.report(o, at.at(wholeRow), strings.Join(header, ","), problem(headerMissing))
	case tie:
		r.report(o, at.at(wholeRow), strings.Join(header, ","), problem(tableUnknown))
	default:
		return best
	}
	return nil
}

// receiverNamed finds out what the rows of a table are by its name:
// Dampers-2.csv, or a sheet "my dampers".
func (r *reading) receiverNamed(o origin) receiver {
	name := o.sheet
	if name == "" {
		name = o.file[strings.LastIndexAny(o.file, `/\`)+1:]
	}
	words := strings.FieldsFunc(strings.ToLower(name), func(r rune) bool { return r < 'a' || r > 'z' })
	for _, part := range r.receivers {
		if slices.Contains(words, part.table()) || slices.Contains(words, part.item()) {
			return part
		}
	}
	return nil
}
