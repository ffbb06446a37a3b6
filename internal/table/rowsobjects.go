package table

import (
	"bufio"
	"bytes"
	"errors"
	"io"
	"strings"

	"github.com/go-json-experiment/json/jsontext"
)

// A Member is one value of a JSON object of a file of rows.
type Member struct {
	Name string
	// Raw is the value as it stands.
	Raw jsontext.Value
	// Text is what a cell would hold: a single value, or those of a list separated by
	// "|"; "" for null.
	Text string
	// Nested says that the value is an object, or a list of more than single values.
	Nested bool
}

// objectRows reads one JSON object a line and keeps its values as they stand.
type objectRows struct {
	lineReader
	decoder *jsontext.Decoder
	line    []byte
	members []Member
}

func newObjectRows(in *bufio.Reader) *objectRows {
	return &objectRows{lineReader: lineReader{in: in}, decoder: jsontext.NewDecoder(new(bytes.Buffer))}
}

// next reads the next line that isn't blank.
func (r *objectRows) next() ([]Member, error) {
	r.line = r.line[:0]
	for len(bytes.TrimSpace(r.line)) == 0 {
		var err error
		if r.line, err = r.appendLine(r.line[:0]); errors.Is(err, errRowTooLong) {
			return nil, &fileError{Fault: *problem(lineTooLong), position: position{line: r.lines + 1}, last: true}
		} else if err != nil {
			return nil, err
		}
	}
	r.members = r.members[:0]
	r.decoder.Reset(bytes.NewBuffer(r.line))
	if err := r.object(); err != nil {
		return nil, objectFault(err, r.lines, r.unended, `{"units": "mm", …}`)
	}
	if _, err := r.decoder.ReadToken(); !errors.Is(err, io.EOF) {
		return nil, &fileError{Fault: *problem(jsonMore), position: position{line: r.lines}}
	}
	return r.members, nil
}

func (r *objectRows) object() error {
	if r.decoder.PeekKind() != '{' {
		if _, err := r.decoder.ReadValue(); err != nil {
			return err
		}
		return errNotAnObject
	}
	if _, err := r.decoder.ReadToken(); err != nil {
		return err
	}
	for r.decoder.PeekKind() != '}' {
		name, err := r.decoder.ReadToken()
		if err != nil {
			return err
		}
		m := Member{Name: name.String()}
		raw, err := r.decoder.ReadValue()
		if err != nil {
			return err
		}
		m.Raw = raw.Clone()
		m.Text, m.Nested = cellOf(m.Raw)
		r.members = append(r.members, m)
	}
	_, err := r.decoder.ReadToken()
	return err
}

// cellOf gives what a cell would hold of a value.
func cellOf(value jsontext.Value) (text string, nested bool) {
	switch value.Kind() {
	case '"':
		unquoted, _ := jsontext.AppendUnquote(nil, value) // it was read as a text
		return string(unquoted), false
	case 'n':
		return "", false
	case '{':
		return "", true
	case '[':
	default:
		return string(value), false
	}
	d := jsontext.NewDecoder(bytes.NewReader(value))
	_, _ = d.ReadToken() // the bracket
	var items []string
	for d.PeekKind() != ']' {
		item, err := d.ReadValue()
		if err != nil || item.Kind() == '{' || item.Kind() == '[' || item.Kind() == 'n' {
			return "", true
		}
		one, _ := cellOf(item)
		items = append(items, one)
	}
	return strings.Join(items, "|"), false
}

// AppendJSONText appends a text as JSON. What isn't UTF-8 in it is replaced.
func AppendJSONText(b []byte, text string) []byte {
	b, _ = jsontext.AppendQuote(b, strings.ToValidUTF8(text, "\ufffd")) // which is then all that can fail
	return b
}
