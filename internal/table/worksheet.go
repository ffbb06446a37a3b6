package table

import (
	"bytes"
	"errors"
	"io"
	"strconv"
	"strings"

	"midstroke/internal/fault"
	"midstroke/internal/note"
)

// sheetRows are the rows of one sheet of a workbook. A formula counts as the value
// that it had when the workbook was saved. A number counts as it is stored, not as
// it is rounded for display. Merged cells within the table are refused: their
// value was meant for all of them, but only the first one holds it.
type sheetRows struct {
	book   *workbook
	markup *markup
	err    error // sticks

	inData, ended bool
	row           int // the present one, from 1
	header        int // the first that isn't blank
	last          int // the last that isn't blank
	width         int // cells of the header, to which rows are filled up
	merged        int

	line    rowText
	columns []int // of the cells in line, from 0
	value   []byte
	formula []byte
	cells   []string
	unread  []oddCell
	numbers []int // the columns of numbers in the present row
	// literal says that truth values are given as they are shown, as TRUE.
	literal bool
}

func newSheetRows(w *workbook, in io.Reader) (*sheetRows, error) {
	m, err := newMarkup(in)
	return &sheetRows{book: w, markup: m}, err
}

func (s *sheetRows) at(place int) position { return position{line: s.row, column: place + 1} }

func (s *sheetRows) odd() []oddCell { return s.unread }

func (s *sheetRows) bare(int) bool { return false } // formulas are found as such

// next gives the next row that the sheet has, and at its end a *fileError for
// each range of merged cells.
func (s *sheetRows) next() ([]string, error) {
	if s.err != nil {
		return nil, s.err
	}
	cells, err := s.advance()
	var bad *fileError
	if err != nil && (!errors.As(err, &bad) || bad.last) && !errors.Is(err, io.EOF) {
		err = s.book.failed(err)
	}
	if err != nil && (bad == nil || bad.last) {
		s.err = err
	}
	return cells, err
}

func (s *sheetRows) advance() ([]string, error) {
	for {
		if err := s.markup.tag(); err != nil {
			if errors.Is(err, io.EOF) && s.ended {
				return nil, io.EOF
			}
			return nil, unexpected(err)
		}
		switch m := s.markup; {
		case string(m.name) == "sheetData":
			s.inData = !m.closing && !m.empty
		case s.inData && m.opens("row"):
			if err := s.begin(); err != nil {
				return nil, err
			}
			if m.empty {
				continue
			}
			if err := s.readCells(); err != nil {
				return nil, err
			}
			if len(s.columns) == 0 {
				continue
			}
			return s.cut(), nil
		case m.opens("mergeCell") && s.header > 0:
			if err := s.checkMerged(); err != nil {
				return nil, err
			}
		case m.closes("worksheet"):
			s.ended = true
		}
	}
}

// unexpected makes the end of a part where more must come an error of its own.
func unexpected(err error) error {
	if errors.Is(err, io.EOF) {
		return io.ErrUnexpectedEOF
	}
	return err
}

// begin begins a row, whose number may be left out.
func (s *sheetRows) begin() error {
	row := s.row + 1
	if number := s.markup.attribute("r"); number != nil {
		var ok bool
		if row, ok = atoi(number); !ok || row <= s.row {
			return errMarkup
		}
	}
	s.row = row
	s.line.reset()
	s.columns, s.unread, s.numbers = s.columns[:0], s.unread[:0], s.numbers[:0]
	return nil
}

// readCells reads the cells of a row, and keeps those that aren't empty.
func (s *sheetRows) readCells() error {
	m, column := s.markup, -1
	for {
		if err := m.tag(); err != nil {
			return unexpected(err)
		}
		switch {
		case m.closing && string(m.name) == "row":
			return nil
		case !m.opens("c"):
			continue
		}
		reference, kind, style := s.markup.cellAttributes()
		before := column
		column++
		if reference != nil {
			c, _, ok := cellReference(reference)
			if !ok || c-1 <= before {
				return errMarkup
			}
			column = c - 1
		}
		if column >= mostColumns {
			return errMarkup
		}
		if m.empty {
			continue
		}
		if err := s.readCell(column, kind, style); err != nil {
			return err
		}
	}
}

// A cellKind is how a cell's value is kept (ISO/IEC 29500-1, section 18.18.11).
type cellKind uint8

const (
	numberCell cellKind = iota
	sharedCell
	textCell
	boolCell
	dateCell
)

func cellKindNamed(name []byte) cellKind {
	switch string(name) {
	case "s":
		return sharedCell
	case "b":
		return boolCell
	case "d":
		return dateCell
	case "", "n":
		return numberCell
	}
	return textCell // inlineStr, str, e
}

// cellAttributes gives where a cell stands, the kind of its value and the
// number of its format. Entities have no place in any of them.
func (m *markup) cellAttributes() (reference []byte, kind cellKind, style int) {
	for name, value, rest, ok := cutAttribute(m.attributes); ok; name, value, rest, ok = cutAttribute(rest) {
		if len(name) != 1 {
			continue
		}
		switch name[0] {
		case 'r':
			reference = value
		case 's':
			style, _ = atoi(value) // 0 is the general one
		case 't':
			kind = cellKindNamed(value)
		}
	}
	return reference, kind, style
}

// readCell reads the value of a cell.
func (s *sheetRows) readCell(column int, kind cellKind, style int) (err error) {
	m := s.markup
	s.value, s.formula = s.value[:0], s.formula[:0]
	hasFormula, hasValue := false, false
	for {
		if err := m.tag(); err != nil {
			return unexpected(err)
		}
		switch {
		case m.closing && string(m.name) == "c":
			// A formula may well give the empty text; no number is empty.
			return s.keep(column, kind, style, hasFormula && !(hasValue && kind == textCell))
		case m.opens("v"):
			hasValue = true
			if m.empty {
				continue
			}
			from := len(s.value)
			if s.value, err = m.text(s.value); err != nil {
				return err
			}
			if kind == textCell {
				s.value = unescaped(s.value, from)
			}
		case m.opens("is") && !m.empty:
			if s.value, err = richText(m, s.value, "is"); err != nil {
				return err
			}
		case m.opens("f"):
			if hasFormula = true; !m.empty {
				if s.formula, err = m.text(s.formula); err != nil {
					return err
				}
			}
		}
	}
}

// keep puts a cell's value into the row. computed says that a formula must have
// given one, so that an empty value is none.
func (s *sheetRows) keep(column int, kind cellKind, style int, computed bool) error {
	if len(s.line.text)+len(s.value) > mostRowBytes {
		return errRowTooLong
	}
	switch {
	case len(s.value) == 0 && computed:
		s.line.text = append(append(s.line.text, '='), s.formula[:min(len(s.formula), mostShown)]...)
		s.report(column, problem(formulaUnevaluated))
	case len(s.value) == 0:
		return nil
	case kind == numberCell:
		s.number(column, style)
	case kind == sharedCell:
		i, ok := atoi(s.value)
		text, found := s.book.texts.at(i)
		if !ok || !found {
			return errMarkup
		}
		if len(s.line.text)+len(text) > mostRowBytes {
			return errRowTooLong
		}
		s.line.text = append(s.line.text, text...)
	case kind == boolCell && s.literal:
		s.line.text = append(s.line.text, strings.ToUpper(strconv.FormatBool(isTrue(s.value)))...)
	case kind == boolCell && isTrue(s.value):
		s.line.text = append(s.line.text, "yes"...)
	case kind == boolCell:
		s.line.text = append(s.line.text, "no"...)
	case kind == dateCell:
		s.line.text = append(s.line.text, s.value...)
		d, _ := looksLikeDate(string(s.value))
		s.report(column, d.fault())
	default:
		s.line.text = append(s.line.text, s.value...)
	}
	s.line.end()
	s.columns = append(s.columns, column)
	return nil
}

// number puts a number into the row, which may stand for a date.
func (s *sheetRows) number(column, style int) {
	var f format
	if style < len(s.book.formats) {
		f = s.book.formats[style]
	}
	if f.date {
		serial, err := strconv.ParseFloat(string(s.value), 64)
		if err != nil || serial < 0 || serial > 1e7 {
			serial = 0 // no day at all
		}
		d, ok := serialDate(int(serial), s.book.from1904)
		if ok {
			s.line.text = append(s.line.text, d.String()...)
		} else {
			s.line.text = append(s.line.text, s.value...)
		}
		s.report(column, d.fault())
		return
	}
	s.numbers = append(s.numbers, column)
	var lost bool
	if s.line.text, lost = appendNumber(s.line.text, s.value, f); lost {
		s.report(column, problem(numberShortened))
	}
}

// report reports a cell that holds no plain value.
func (s *sheetRows) report(column int, f *fault.Fault) {
	s.unread = append(s.unread, oddCell{column, f})
}

// cut gives the cells of the row, each in its column.
func (s *sheetRows) cut() []string {
	if s.header == 0 {
		s.header = s.row
	}
	s.last = s.row
	filled := s.line.cut()
	n := max(s.width, s.columns[len(s.columns)-1]+1)
	if cap(s.cells) < n {
		s.cells = make([]string, n)
	}
	s.cells = s.cells[:n]
	clear(s.cells)
	for i, column := range s.columns {
		s.cells[column] = tidy(filled[i])
	}
	return s.cells
}

// mostMerged is how many ranges of merged cells are reported.
const mostMerged = 20

// checkMerged reports a range of merged cells that touches the table.
func (s *sheetRows) checkMerged() error {
	reference := s.markup.attribute("ref")
	first, last, isRange := bytes.Cut(reference, []byte{':'})
	if !isRange {
		last = first
	}
	left, top, firstOK := cellReference(first)
	_, bottom, lastOK := cellReference(last)
	if !firstOK || !lastOK {
		return errMarkup
	}
	if left > s.width || bottom < s.header || top > s.last || s.merged == mostMerged {
		return nil
	}
	s.merged++
	return &fileError{Fault: *problem(mergedCells, note.Word("range", string(reference))), position: position{line: top, column: left}}
}

// cellReference reads a cell's name, as C7, into its column and row, from 1.
func cellReference(name []byte) (column, row int, ok bool) {
	i := 0
	for i < len(name) && i < 4 && 'A' <= name[i]&^0x20 && name[i]&^0x20 <= 'Z' {
		column = 26*column + int(name[i]&^0x20-'A') + 1
		i++
	}
	row, ok = atoi(name[i:])
	return column, row, ok && i > 0 && row > 0
}

// atoi reads a whole number of at most nine digits.
func atoi(text []byte) (n int, ok bool) {
	if len(text) == 0 || len(text) > 9 {
		return 0, false
	}
	for _, b := range text {
		if b < '0' || b > '9' {
			return 0, false
		}
		n = 10*n + int(b-'0')
	}
	return n, true
}
