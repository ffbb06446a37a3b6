package table

import (
	"errors"
	"fmt"
	"io"
)

// A sheet is one file while its rows are read, or checked before they are
// written.
type sheet[T any] struct {
	kind[T]
	faults *Faults
	// line gives where the cell at a place of the present row begins.
	line func(place int) int

	width   int // cells of the header
	bound   []bound[T]
	unnamed []int          // places under no name whose cells are all empty so far
	lines   map[string]int // of each code, in the form in which codes are alike

	// The present row.
	cells   []string
	current T
	faulted bool
	bad     complain
}

func newSheet[T any](k kind[T], faults *Faults, line func(place int) int) *sheet[T] {
	s := &sheet[T]{kind: k, faults: faults, line: line, lines: map[string]int{}}
	s.bad = func(column, code, detail, cure string) {
		place := s.placeOf(column)
		if place < 0 {
			s.fault(0, column, "", trouble{code, detail, cure})
			return
		}
		s.fault(place, column, tidy(s.cells[place]), trouble{code, detail, cure})
	}
	return s
}

// fault reports what is wrong at a place of the present row.
func (s *sheet[T]) fault(place int, column, value string, t trouble) {
	s.faultAt(s.line(place), column, value, t)
}

func (s *sheet[T]) faultAt(line int, column, value string, t trouble) {
	s.faulted = true
	s.faults.add(Fault{File: s.file, Line: line, Column: column, Value: value, Code: t.code, Detail: t.detail, Cure: t.cure})
}

func (s *sheet[T]) placeOf(column string) int {
	for i := range s.bound {
		if s.bound[i].name == column {
			return s.bound[i].place
		}
	}
	return -1
}

// bind takes in the header, and says whether it names any column.
func (s *sheet[T]) bind(header []string) bool {
	s.width = len(header)
	s.bound = bind(s.columns, header, func(column, value string, t trouble) { s.fault(0, column, value, t) })
	for place, text := range header {
		if tidy(text) == "" {
			s.unnamed = append(s.unnamed, place)
		}
	}
	return len(s.bound) > 0
}

// read reads the header and every row of in, and gives yield those without
// faults. It ends where the file does, where it can't be read any further, or
// where yield wants no more.
func (s *sheet[T]) read(in *rows, yield func(*T) bool) error {
	header, err := in.next()
	if errors.Is(err, io.EOF) {
		s.faultAt(0, "", "", trouble{"file_empty", "the file is empty", "begin it with a row that names its columns, as code"})
		return nil
	}
	if err != nil {
		return err
	}
	if !s.bind(header) {
		return nil
	}
	// Under a header with faults no row is whole; they are read for their own
	// faults.
	whole := !s.faulted
	for {
		cells, err := in.next()
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			t, line, ok := broken(err)
			if !ok {
				return err
			}
			s.faultAt(line, "", "", t)
			continue
		}
		if isBlank(cells) {
			continue
		}
		if row, ok := s.row(cells); ok && whole && !yield(row) {
			return nil
		}
	}
}

func isBlank(cells []string) bool {
	for _, c := range cells {
		if tidy(c) != "" {
			return false
		}
	}
	return true
}

// row reads cells into a row, which is good until the next call, and says
// whether it is without faults.
func (s *sheet[T]) row(cells []string) (*T, bool) {
	s.cells, s.current, s.faulted = cells, s.blank(), false
	if len(cells) < s.width || !isBlank(cells[s.width:]) {
		// What stands under which column would be a guess.
		s.fault(0, "", "", trouble{
			"cells", fmt.Sprintf("the row has %d cells and the header %d", len(cells), s.width),
			"look for a delimiter too many or too few; a cell that holds one goes in quotes",
		})
		return &s.current, false
	}
	for i := range s.bound {
		b := &s.bound[i]
		text := tidy(cells[b.place])
		if text == "" {
			if b.needed {
				s.fault(b.place, b.name, "", trouble{"missing", "this cell must be filled in", "write the part's " + b.name})
			}
			continue
		}
		t := plainTrouble(text)
		if t == nil {
			t = b.read(&s.current, cell{text, b.units})
		}
		if t != nil {
			s.fault(b.place, b.name, text, *t)
		}
	}
	s.checkUnnamed()
	s.check(&s.current, s.bad)
	s.checkCode()
	return &s.current, !s.faulted
}

// checkUnnamed finds the first filled cell under no name at all.
func (s *sheet[T]) checkUnnamed() {
	for i, place := range s.unnamed {
		if text := tidy(s.cells[place]); text != "" {
			s.fault(place, "", text, trouble{"column_unnamed", "this cell stands under no name", "name its column in the first row or empty it"})
			s.unnamed = append(s.unnamed[:i], s.unnamed[i+1:]...)
			return
		}
	}
}

// checkCode finds a code that another row has.
func (s *sheet[T]) checkCode() {
	if s.code == nil || s.code(&s.current) == "" {
		return
	}
	key := alike(s.code(&s.current))
	if first, twice := s.lines[key]; twice {
		s.bad("code", "code_twice", fmt.Sprintf("line %d has the same code, but for case and blanks", first), "give every part a code of its own")
		return
	}
	s.lines[key] = s.line(s.placeOf("code"))
}
