package batch

import (
	"context"
	"errors"
	"io"
	"net/url"
	"runtime"
	"slices"

	"midstroke/internal/catalog"
	"midstroke/internal/fault"
	"midstroke/internal/note"
	"midstroke/internal/table"
	"midstroke/internal/wire"
)

// Config says how a file is answered.
type Config struct {
	// Snapshot is what all rows are answered from, and Edition says so. Required.
	Snapshot *catalog.Snapshot
	Edition  wire.Edition
	// Language is that of texts.
	Language string
	// Picks are the values that are added to each row.
	Picks wire.Picks
	// Keep are the names of columns that are only kept although they look like a
	// request's.
	Keep []string
	// ReadAs are names of columns that are read as flat names of a request.
	ReadAs map[string]string
	// Own are the names of columns that the caller of this package reads itself.
	Own []string
	// Defaults are flat values for all rows that have none of their own.
	Defaults url.Values
	// Workers is how many rows are answered at once. Defaults to the processors.
	Workers int
	// Turn calls do, which answers so many rows, when it is their turn. Nil for at once.
	Turn func(ctx context.Context, rows int, do func()) error
	// Late says that no more rows are to be answered. Nil for never.
	Late func() bool
	// From is what an earlier attempt has answered. Those rows are passed over. Nil for
	// none.
	From *Summary
	// Saved is called after every few rows, when what came before has been written. Nil
	// for nothing.
	Saved func(*Summary) error
	// Progress is told after every few rows how many have been written. It may be nil.
	Progress func(rows int)
}

// Batch is a file of requests that has been opened.
type Batch struct {
	Config
	file       table.File
	rows       *table.Rows
	columns    []column
	headerLine int
	likely     likely
}

// Open opens a file and finds out what its columns mean. The caller closes it.
func Open(file table.File, c Config) (*Batch, error) {
	b, faults, err := open(file, c)
	if err != nil {
		return nil, err
	}
	if err := asFaults(faults); err != nil {
		return nil, errors.Join(err, b.Close())
	}
	return b, nil
}

// open is Open, and gives what is wrong with the header beside the file.
func open(file table.File, c Config) (_ *Batch, faults fault.List, err error) {
	if c.Workers <= 0 {
		c.Workers = runtime.GOMAXPROCS(0)
	}
	b := &Batch{Config: c, file: file, headerLine: 1}
	if b.rows, err = table.OpenRows(file, looksLikeRequests); err != nil {
		return nil, nil, err
	}
	if b.rows.Kind != table.RowsOfObjects {
		faults = b.planHeader()
	}
	return b, faults, nil
}

// Close ends the reading of the file.
func (b *Batch) Close() error { return b.rows.Close() }

// Kind is the kind of the file, and of its answer.
func (b *Batch) Kind() table.Kind { return b.rows.Kind }

// Count reads the file to its end and gives the number of its rows. It finds what can't
// be read at all, and stops after most rows with more of them.
func Count(file table.File, most int) (rows int, err error) {
	r, err := table.OpenRows(file, looksLikeRequests)
	if err != nil {
		return 0, err
	}
	defer func() { err = errors.Join(err, r.Close()) }()
	for rows <= most {
		if _, err := r.Next(); errors.Is(err, io.EOF) {
			return rows, nil
		} else if err != nil {
			return rows, err
		}
		rows++
	}
	return rows, nil
}

// TooManyRows is the fault of a file that has more rows than are answered at once.
func TooManyRows(file string, most int) error {
	return asFaults(fault.List{{Place: fault.Place{File: file}, Code: tooManyRows, Values: []note.Value{note.Num("most", float64(most), "")}}})
}

// Summary says how a file was answered.
type Summary struct {
	Rows, Faults int
	// Outcomes counts the rows by outcome.
	Outcomes map[string]int
	// RowFaults are the first rows with faults.
	RowFaults []RowFault
	// Cautions are those of all answers, each code once.
	Cautions []Caution
}

// Caution is a caution with how many rows have it. The note is that of the first.
type Caution struct {
	Note note.Note
	Rows int
}

func (s *Summary) add(a *answered) {
	s.Rows++
	if a.fault != "" {
		if s.Faults++; len(s.RowFaults) < mostRowFaults {
			s.RowFaults = append(s.RowFaults, RowFault{a.row.Line, a.fault, a.codes, a.named})
		}
	}
	if a.outcome != "" {
		s.Outcomes[a.outcome]++
	}
	for i := range a.cautions {
		at := slices.IndexFunc(s.Cautions, func(c Caution) bool { return c.Note.Code == a.cautions[i].Code })
		if at < 0 {
			at = len(s.Cautions)
			s.Cautions = append(s.Cautions, Caution{Note: a.cautions[i]})
		}
		s.Cautions[at].Rows++
	}
}
