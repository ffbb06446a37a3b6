package wire

import (
	"bufio"
	"bytes"
	"errors"
	"io"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode"

	"midstroke/internal/fault"
	"midstroke/internal/form"
	"midstroke/internal/mount"
	"midstroke/internal/note"
	"midstroke/internal/quote"
	"midstroke/internal/table"
	"midstroke/internal/unit"
)

// The codes of the faults of stock.
const (
	sameStockLine fault.Code = "same_line"
	tooManyLines  fault.Code = "too_many.lines"
	noStockLines  fault.Code = "too_few.lines"
	notAStockLine fault.Code = "not_a_line"
	unknownColumn fault.Code = "unknown_field.column"
	missingColumn fault.Code = "missing.column"
	columnsDiffer fault.Code = "too_many.columns"
)

var (
	stockCode     = form.Checked(form.Text(1, mount.MostCode), plainName, notAName)
	stockLocation = form.Checked(form.Text(1, quote.MostLocation), plainName, notAName)
	stockQuantity = form.Whole(0, quote.MostQuantity)
)

// plainName says that a name can be written into a query and a file again.
func plainName(text string) bool {
	return strings.TrimSpace(text) == text && !strings.ContainsFunc(text, unicode.IsControl)
}

// stockTable is a line of PUT /v1/stock.
var stockTable = form.NewRecord(
	form.Field("code", stockCode, func(l *quote.StockLine) *string { return &l.Code }).Needed(),
	form.Field("location", stockLocation, func(l *quote.StockLine) *string { return &l.Location }).Needed(),
	form.Field("quantity", stockQuantity, func(l *quote.StockLine) *int { return &l.Quantity }).Needed(),
	form.Field("low", stockQuantity, func(l *quote.StockLine) *int { return orNew(&l.Low) }),
)

// ReadStockLine reads a body of one line.
func ReadStockLine(body []byte) ([]quote.StockLine, error) {
	f, err := form.OfBody(body, form.MostValues)
	if err != nil {
		return nil, unread(err)
	}
	var l quote.StockLine
	faults := form.Read(f, stockTable, &l, nil)
	return []quote.StockLine{l}, refused(faults, unit.Unset)
}

// MostFileFaults is how many faults of a file are listed; all are counted.
const MostFileFaults = 1000

// stockFile reads the lines of a file and collects what is wrong with them.
type stockFile struct {
	name  string
	lines []quote.StockLine
	at    map[[2]string]int // the line of a code and a location
	found fault.List
	more  int
}

// ReadStockCSV reads a file with a header line: code, location, quantity and, where it
// is wanted, low. It gives the faults that are listed, and how many more there are.
func ReadStockCSV(body []byte) ([]quote.StockLine, fault.List, int) {
	s := &stockFile{name: "stock.csv", at: map[[2]string]int{}}
	rows, err := table.OpenRows(table.File{Name: s.name, Data: bytes.NewReader(body), Size: int64(len(body))}, nil)
	if err != nil {
		return s.refused(err)
	}
	defer rows.Close()
	if rows.Kind != table.RowsOfCSV {
		s.add(fault.Place{Line: 1}, notAStockLine)
		return s.done()
	}
	columns := s.columns(rows.Header)
	if len(s.found) > 0 {
		return s.done()
	}
	for {
		row, err := rows.Next()
		switch {
		case errors.Is(err, io.EOF):
			return s.done()
		case err != nil:
			return s.refused(err)
		case row.Fault != nil:
			s.add(fault.Place{Line: row.Line}, row.Fault.Code, row.Fault.Values...)
			continue
		case len(row.Cells) > len(columns):
			s.add(fault.Place{Line: row.Line}, columnsDiffer, note.Num("most", float64(len(columns)), ""), note.Num("count", float64(len(row.Cells)), ""))
			continue
		}
		values := url.Values{}
		for i, cell := range row.Cells {
			values.Set(columns[i], cell)
		}
		s.read(row.Line, values)
	}
}

// refused ends a file that can't be read on.
func (s *stockFile) refused(err error) ([]quote.StockLine, fault.List, int) {
	var faults *table.Faults
	if !errors.As(err, &faults) {
		s.add(fault.Place{Line: len(s.lines) + 2}, notAStockLine)
		return s.done()
	}
	for _, f := range faults.List {
		s.add(f.Place, f.Code, f.Values...)
	}
	return s.done()
}

// columns reads the header line.
func (s *stockFile) columns(header []string) []string {
	known := []string{"code", "location", "quantity", "low"}
	columns := make([]string, len(header))
	for i, name := range header {
		columns[i] = strings.ToLower(strings.TrimSpace(name))
		if !slices.Contains(known, columns[i]) || slices.Contains(columns[:i], columns[i]) {
			s.add(fault.Place{Line: 1, Column: columns[i]}, unknownColumn, note.Word("options", strings.Join(known, ", ")))
		}
	}
	for _, name := range known[:3] {
		if !slices.Contains(columns, name) {
			s.add(fault.Place{Line: 1, Column: name}, missingColumn, note.Word("field", name))
		}
	}
	return columns
}

// read reads the cells of a line by their columns.
func (s *stockFile) read(line int, values url.Values) {
	q := form.QueryOf(values)
	var l quote.StockLine
	l.Code, _ = form.Param(q, "code", stockCode)
	l.Location, _ = form.Param(q, "location", stockLocation)
	l.Quantity, _ = form.Param(q, "quantity", stockQuantity)
	if low, given := form.Param(q, "low", stockQuantity); given {
		l.Low = &low
	}
	found := q.Close()
	for _, name := range []string{"code", "location", "quantity"} {
		if values.Get(name) == "" {
			s.add(fault.Place{Line: line, Column: name}, form.Missing, note.Word("field", name))
		}
	}
	for i := range found {
		s.add(fault.Place{Line: line, Column: found[i].Parameter, Value: values.Get(found[i].Parameter)}, found[i].Code, found[i].Values...)
	}
	s.keep(line, l)
}

// keep adds a line, which no other may be for the same part at the same location.
func (s *stockFile) keep(line int, l quote.StockLine) {
	key := [2]string{l.Code, l.Location}
	if before, there := s.at[key]; there && l.Code != "" && l.Location != "" {
		s.add(fault.Place{Line: line, Column: "code", Value: l.Code}, sameStockLine, note.Num("line", float64(before), ""))
	}
	s.at[key] = line
	if s.lines = append(s.lines, l); len(s.lines) == quote.MostLines+1 {
		s.add(fault.Place{Line: line}, tooManyLines, note.Num("most", quote.MostLines, ""))
	}
}

func (s *stockFile) add(at fault.Place, code fault.Code, values ...note.Value) {
	if len(s.found) == MostFileFaults {
		s.more++
		return
	}
	at.File = s.name
	s.found = append(s.found, fault.Fault{Place: at, Code: code, Values: values})
}

func (s *stockFile) done() ([]quote.StockLine, fault.List, int) {
	if len(s.lines) == 0 && len(s.found) == 0 {
		s.add(fault.Place{Line: 1}, noStockLines)
	}
	return s.lines, s.found, s.more
}

// ReadStockLines reads a file with a JSON object in each line, as ReadStockCSV does.
func ReadStockLines(body []byte) ([]quote.StockLine, fault.List, int) {
	s := &stockFile{name: "stock.ndjson", at: map[[2]string]int{}}
	in := bufio.NewScanner(bytes.NewReader(bytes.TrimPrefix(body, []byte("\ufeff"))))
	in.Buffer(nil, mostStockLine)
	for line := 1; in.Scan(); line++ {
		if strings.TrimSpace(in.Text()) == "" {
			continue
		}
		f, err := form.OfBody(in.Bytes(), form.MostValues)
		if err != nil {
			s.add(fault.Place{Line: line}, notAStockLine)
			continue
		}
		var l quote.StockLine
		for _, found := range form.Read(f, stockTable, &l, nil) {
			s.add(fault.Place{Line: line, Column: strings.TrimPrefix(found.Pointer, "/")}, found.Code, found.Values...)
		}
		s.keep(line, l)
	}
	if in.Err() != nil {
		s.add(fault.Place{Line: len(s.lines) + 1}, notAStockLine)
	}
	return s.done()
}

// mostStockLine is the longest line of such a file, in bytes.
const mostStockLine = 64 << 10

type stockLineJSON struct {
	Code     string    `json:"code"`
	Location string    `json:"location"`
	Quantity int       `json:"quantity"`
	Low      *int      `json:"low"`
	Changed  time.Time `json:"changed_at"`
}

// AppendStock appends a page of stock as JSON; next is the cursor of the next page, ""
// on the last one.
func AppendStock(dst []byte, list []quote.StockLine, version int64, next string) []byte {
	page := struct {
		Version    int64           `json:"version"`
		Items      []stockLineJSON `json:"items"`
		NextCursor *string         `json:"next_cursor"`
	}{Version: version, Items: []stockLineJSON{}}
	for _, l := range list {
		page.Items = append(page.Items, stockLineJSON{l.Code, l.Location, l.Quantity, l.Low, l.Changed.UTC()})
	}
	if next != "" {
		page.NextCursor = &next
	}
	return appendJSON(dst, page)
}

// AppendStockCSV appends a page of stock as a file that can be put again.
func AppendStockCSV(dst []byte, list []quote.StockLine) []byte {
	dst = append(dst, "code,location,quantity,low\r\n"...)
	for _, l := range list {
		for _, text := range []string{l.Code, l.Location} {
			from := len(dst)
			dst = append(quoteCell(append(dst, text...), from), ',')
		}
		dst = append(strconv.AppendInt(dst, int64(l.Quantity), 10), ',')
		if l.Low != nil {
			dst = strconv.AppendInt(dst, int64(*l.Low), 10)
		}
		dst = append(dst, "\r\n"...)
	}
	return dst
}

// AppendStockPut appends the answer to a change of the stock.
func AppendStockPut(dst []byte, version int64, lines int) []byte {
	return appendJSON(dst, struct {
		Version int64 `json:"version"`
		Lines   int   `json:"lines"`
	}{version, lines})
}
