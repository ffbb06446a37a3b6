package table

import (
	"bufio"
	"bytes"
	"errors"
	"io"
	"strings"

	"github.com/go-json-experiment/json/jsontext"

	"midstroke/internal/fault"
	"midstroke/internal/note"
	"midstroke/internal/unit"
)

// The members of an object that are no columns: what it is, and the units of
// its bare numbers.
const (
	kindMember  = "kind"
	unitsMember = "units"
)

// An objectReader reads one JSON object a line, each of which says of which
// kind it is. An object within, such as an end, is flattened: its names are
// joined to its own by an underscore.
type objectReader struct {
	lineReader
	decoder *jsontext.Decoder
	line    []byte
	members []member
	spare   []string // cells of a row
	unread  []oddCell
	begun   map[receiver]bool
	unknown map[string]bool // names that were reported
}

// A member is one value of an object, or of an object within.
type member struct {
	name string
	text string // of an array its items separated by |
	// array says that it was one; wrong that it is no value for a cell.
	array, wrong bool
}

// mostUnknown bounds how many names that are no columns are told apart.
const mostUnknown = 100

func newObjectReader(in *bufio.Reader) *objectReader {
	return &objectReader{lineReader: lineReader{in: in}, decoder: jsontext.NewDecoder(new(bytes.Buffer)), begun: map[receiver]bool{}, unknown: map[string]bool{}}
}

// at says where the present object stands.
func (r *objectReader) at(int) position { return position{line: r.lines} }

func (r *objectReader) odd() []oddCell { return r.unread }

func (r *objectReader) bare(int) bool { return false } // a JSON text is a text

// objects reads all objects of a file.
func (r *reading) objects(o origin, in *bufio.Reader) error {
	objects := newObjectReader(in)
	for {
		err := objects.next()
		switch {
		case errors.Is(err, io.EOF):
			return nil
		case err == nil:
			err = r.object(o, objects)
			if err != nil {
				return err
			}
		default:
			if goOn, err := r.reportOrReturn(o, err); !goOn {
				return err
			}
		}
	}
}

// object takes in the present object.
func (r *reading) object(o origin, in *objectReader) error {
	to, units, ok := r.header(o, in)
	if !ok {
		return nil
	}
	columns := to.columnNames()
	if !in.begun[to] {
		in.begun[to] = true
		to.begin(o, columns, in)
	}
	cells := append(in.spare[:0], make([]string, len(columns))...)
	in.spare, in.unread = cells, in.unread[:0]
	whole := true
	for i := range in.members {
		m := &in.members[i]
		place, isList := to.column(m.name)
		switch {
		case m.name == kindMember || m.name == unitsMember:
		case place < 0:
			whole = false
			r.unknownMember(o, in, to, m)
		case cells[place] != "":
			whole = false
			r.reportMember(o, in, m, problem(memberTwice))
		case m.wrong || m.array && !isList:
			cells[place] = m.text
			in.unread = append(in.unread, oddCell{place, problem(valueNested)})
		default:
			cells[place] = m.text
		}
	}
	if !whole {
		return nil
	}
	return r.take(to, o, in, cells, units)
}

// header reads what an object is and its units.
func (r *reading) header(o origin, in *objectReader) (to receiver, units unit.System, ok bool) {
	ok = true
	kind := member{name: kindMember}
	for i := range in.members {
		m := &in.members[i]
		switch m.name {
		case kindMember:
			kind = *m
			for _, part := range r.receivers {
				if part.item() == m.text || part.table() == m.text {
					to = part
				}
			}
		case unitsMember:
			if units, ok = unit.ParseSystem(m.text); !ok {
				r.reportMember(o, in, m, problem(unitsUnknown))
			}
		}
	}
	switch {
	case to != nil:
	case kind.text == "":
		r.reportMember(o, in, &kind, problem(kindMissing))
	default:
		r.reportMember(o, in, &kind, problem(kindUnknown))
	}
	return to, units, ok && to != nil
}

// reportMember reports what is wrong with a member of the present object.
func (r *reading) reportMember(o origin, in *objectReader, m *member, f *fault.Fault) {
	r.faults.add(o.put(*f, in.at(wholeRow), m.name, m.text))
}

// unknownMember reports a name that is no column, once for each kind.
func (r *reading) unknownMember(o origin, in *objectReader, to receiver, m *member) {
	key := to.item() + "." + m.name
	if in.unknown[key] {
		return
	}
	if len(in.unknown) < mostUnknown {
		in.unknown[key] = true
	}
	r.reportMember(o, in, m, to.unknownColumn(m.name))
}

// next reads the next line that isn't blank.
func (r *objectReader) next() error {
	r.line = r.line[:0]
	for len(bytes.TrimSpace(r.line)) == 0 {
		var err error
		if r.line, err = r.appendLine(r.line[:0]); errors.Is(err, errRowTooLong) {
			return &fileError{Fault: *problem(lineTooLong), position: position{line: r.lines + 1}, last: true}
		} else if err != nil {
			return err
		}
	}
	r.members = r.members[:0]
	r.decoder.Reset(bytes.NewBuffer(r.line))
	if err := r.object(""); err != nil {
		return r.failed(err)
	}
	if _, err := r.decoder.ReadToken(); !errors.Is(err, io.EOF) {
		return r.bad(jsonMore)
	}
	return nil
}

// mostNesting is how deep objects stand within the object of a line; what is
// flattened out of an end stands one deep.
const mostNesting = 2

var errNotAnObject = errors.New("not an object")

// object reads the object that comes next; prefix goes before its names.
func (r *objectReader) object(prefix string) error {
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
		if err := r.value(prefix + name.String()); err != nil {
			return err
		}
	}
	_, err := r.decoder.ReadToken()
	return err
}

// value reads the value of a member.
func (r *objectReader) value(name string) error {
	switch r.decoder.PeekKind() {
	case '{':
		if r.decoder.StackDepth() <= mostNesting {
			return r.object(name + "_")
		}
		r.members = append(r.members, member{name: name, text: "{…}", wrong: true})
		return r.decoder.SkipValue()
	case '[':
		return r.array(name)
	case 'n':
		return r.decoder.SkipValue()
	default: // a single value, or what reading it tells is none
	}
	value, err := r.decoder.ReadToken()
	if err != nil {
		return err
	}
	if text := strings.TrimSpace(value.String()); text != "" {
		r.members = append(r.members, member{name: name, text: text})
	}
	return nil
}

// array reads a list of single values.
func (r *objectReader) array(name string) error {
	if _, err := r.decoder.ReadToken(); err != nil {
		return err
	}
	m := member{name: name, array: true}
	var items []string
	for r.decoder.PeekKind() != ']' {
		switch r.decoder.PeekKind() {
		case '{', '[', 'n':
			m.wrong = true
			if err := r.decoder.SkipValue(); err != nil {
				return err
			}
			items = append(items, "…")
		default: // as above
			item, err := r.decoder.ReadToken()
			if err != nil {
				return err
			}
			items = append(items, item.String())
		}
	}
	if m.text = strings.Join(items, "|"); m.text != "" {
		r.members = append(r.members, m)
	}
	_, err := r.decoder.ReadToken()
	return err
}

// failed says why a line is no object.
func (r *objectReader) failed(err error) error {
	return objectFault(err, r.lines, r.unended, `{"kind": "damper", …}`)
}

// objectFault says why a line is no object. unended says that it has no line end.
func objectFault(err error, line int, unended bool, example string) error {
	bad := func(code fault.Code, values ...note.Value) error {
		return &fileError{Fault: *problem(code, values...), position: position{line: line}}
	}
	var syntax *jsontext.SyntacticError
	switch {
	case errors.Is(err, errNotAnObject):
		return bad(jsonObject, note.Word("example", example))
	case errors.Is(err, jsontext.ErrDuplicateName):
		return bad(jsonTwice)
	case unended && errors.Is(err, io.ErrUnexpectedEOF):
		return bad(cutShort)
	case errors.As(err, &syntax):
		return bad(jsonSyntaxAt, note.Num("byte", float64(syntax.ByteOffset+1), ""))
	}
	return bad(jsonSyntax)
}

// bad says what is wrong with the present line.
func (r *objectReader) bad(code fault.Code) error {
	return &fileError{Fault: *problem(code), position: r.at(wholeRow)}
}
