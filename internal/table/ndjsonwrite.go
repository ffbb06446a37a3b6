package table

import (
	"bufio"
	"io"
	"strings"

	"github.com/go-json-experiment/json/jsontext"

	"midstroke/internal/catalog"
)

// An objectWriter writes a table as one JSON object a line: texts and lengths
// as strings, the latter with their units, an object for each end, and no
// member where there is no value.
type objectWriter struct {
	out     *bufio.Writer
	item    string
	columns []column
	line    []byte
}

func newObjectWriter(w io.Writer) *objectWriter { return &objectWriter{out: bufio.NewWriter(w)} }

func (w *objectWriter) begin(item string, columns []column) error {
	w.item, w.columns = item, columns
	return nil
}

func (w *objectWriter) row(cells []string) error {
	w.line = append(w.line[:0], '{')
	w.name(kindMember)
	w.text(w.item)
	group := ""
	for i, cell := range cells {
		c := &w.columns[i]
		if cell == "" {
			continue
		}
		if c.group != group {
			if group != "" {
				w.line = append(w.line, '}')
			}
			if group = c.group; group != "" {
				w.name(group)
				w.line = append(w.line, '{')
			}
		}
		w.name(c.member)
		w.value(c, cell)
	}
	if group != "" {
		w.line = append(w.line, '}')
	}
	w.line = append(w.line, '}', '\n')
	_, err := w.out.Write(w.line)
	return err
}

// name begins a member.
func (w *objectWriter) name(name string) {
	if w.line[len(w.line)-1] != '{' {
		w.line = append(w.line, ',')
	}
	w.text(name)
	w.line = append(w.line, ':')
}

func (w *objectWriter) value(c *column, cell string) {
	switch {
	case c.kind == catalog.KindYesNo && cell == yesOrNoText(true):
		w.line = append(w.line, "true"...)
	case c.kind == catalog.KindYesNo:
		w.line = append(w.line, "false"...)
	case c.kind == catalog.KindListOf:
		w.line = append(w.line, '[')
		for i, item := range strings.Split(cell, "|") {
			if i > 0 {
				w.line = append(w.line, ',')
			}
			w.text(item)
		}
		w.line = append(w.line, ']')
	case c.kind == catalog.KindSigned:
		w.text(cell + " mm")
	default:
		w.text(cell)
	}
}

// text writes a string, of which it is known that it is valid UTF-8.
func (w *objectWriter) text(s string) { w.line, _ = jsontext.AppendQuote(w.line, s) }

func (w *objectWriter) end() error { return w.out.Flush() }
