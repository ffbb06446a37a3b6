package batch

import (
	"bufio"
	"io"
	"strings"

	"midstroke/internal/table"
	"midstroke/internal/wire"
)

// writer writes the rows of a file with their answers.
type writer interface {
	row(a *answered) error
	// flush writes what is held back of the rows, as far as the form of the file allows.
	flush() error
	// end ends the file; broken says that not all rows came.
	end(s *Summary, broken bool) error
}

func (b *Batch) writer(w io.Writer) (writer, error) {
	switch b.rows.Kind {
	case table.RowsOfObjects:
		return &objectWriter{b: b, out: bufio.NewWriterSize(w, bufferBytes)}, nil
	case table.RowsOfSheet:
		return newBookWriter(b, w)
	case table.RowsOfCSV:
	}
	c := &csvWriter{b: b, out: bufio.NewWriterSize(w, bufferBytes)}
	if b.From != nil && b.From.Rows > 0 {
		return c, nil // the header stands before the rows of then
	}
	return c, c.header()
}

const bufferBytes = 32 << 10

// csvWriter writes CSV by RFC 4180, with the delimiter that the file has.
type csvWriter struct {
	b    *Batch
	out  *bufio.Writer
	line []byte
}

func (w *csvWriter) header() error {
	w.line = w.line[:0]
	for i := range w.b.columns {
		if !w.b.columns[i].earlier {
			w.cell(w.b.columns[i].header)
		}
	}
	for _, name := range w.b.answerNames() {
		w.cell(name)
	}
	return w.write()
}

// answerNames are the names of the columns that are added.
func (b *Batch) answerNames() []string {
	names := make([]string, 0, len(b.Picks)+2)
	for i := range b.Picks {
		names = append(names, AnswerPrefix+b.Picks[i].Name)
	}
	return append(names, faultColumn, codesColumn)
}

func (w *csvWriter) row(a *answered) error {
	w.line = w.line[:0]
	for i := range w.b.columns {
		switch {
		case w.b.columns[i].earlier:
		case i < len(a.row.Cells):
			w.cell(a.row.Cells[i])
		default:
			w.cell("")
		}
	}
	for i := range w.b.Picks {
		if i < len(a.values) {
			w.cell(a.values[i])
		} else {
			w.cell("")
		}
	}
	w.cell(a.fault)
	w.cell(a.codes)
	// Cells that a row has too many aren't lost.
	for i := len(w.b.columns); i < len(a.row.Cells); i++ {
		w.cell(a.row.Cells[i])
	}
	return w.write()
}

// cell adds a cell to the line.
func (w *csvWriter) cell(text string) {
	text = table.Neutral(text)
	if !strings.ContainsAny(text, "\"\r\n") && strings.IndexByte(text, w.b.rows.Comma) < 0 {
		w.line = append(append(w.line, text...), w.b.rows.Comma)
		return
	}
	w.line = append(w.line, '"')
	w.line = append(w.line, strings.ReplaceAll(text, `"`, `""`)...)
	w.line = append(w.line, '"', w.b.rows.Comma)
}

// write ends the line in place of its last delimiter.
func (w *csvWriter) write() error {
	w.line = append(w.line[:len(w.line)-1], '\r', '\n')
	_, err := w.out.Write(w.line)
	return err
}

func (w *csvWriter) flush() error { return w.out.Flush() }

func (w *csvWriter) end(*Summary, bool) error { return w.out.Flush() }

// objectWriter writes one JSON object a line: the members as they came, and the answer.
type objectWriter struct {
	b    *Batch
	out  *bufio.Writer
	line []byte
}

// unreadMember has the text of a line that is no object.
const unreadMember = "line"

func (w *objectWriter) row(a *answered) error {
	w.line = append(w.line[:0], '{')
	if a.row.Fault != nil {
		w.name(unreadMember)
		w.line = table.AppendJSONText(w.line, a.row.Cells[0])
	}
	for i := range a.row.Members {
		if m := &a.row.Members[i]; !strings.HasPrefix(m.Name, AnswerPrefix) {
			w.name(m.Name)
			w.line = append(w.line, m.Raw...)
		}
	}
	for i := range a.values {
		w.name(AnswerPrefix + w.b.Picks[i].Name)
		w.value(w.b.Picks[i].Kind, a.values[i])
	}
	w.name(faultColumn)
	w.value(wire.PickText, a.fault)
	w.name(codesColumn)
	w.value(wire.PickText, a.codes)
	w.line = append(w.line, '}', '\n')
	_, err := w.out.Write(w.line)
	return err
}

func (w *objectWriter) name(name string) {
	if w.line[len(w.line)-1] != '{' {
		w.line = append(w.line, ',')
	}
	w.line = append(table.AppendJSONText(w.line, name), ':')
}

func (w *objectWriter) value(kind wire.PickKind, text string) {
	switch {
	case text == "":
		w.line = append(w.line, "null"...)
	case kind == wire.PickText || kind == wire.PickAmount:
		w.line = table.AppendJSONText(w.line, text)
	default: // it was written as JSON has it
		w.line = append(w.line, text...)
	}
}

func (w *objectWriter) flush() error { return w.out.Flush() }

func (w *objectWriter) end(*Summary, bool) error { return w.out.Flush() }
