package table

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
	"strings"

	"github.com/go-json-experiment/json/jsontext"

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
	in      *bufio.Reader
	decoder *jsontext.Decoder
	line    []byte
	lines   int
	unended bool // the last line had no line end

	members []member
	spare   []string // cells of a row
	oddness []oddity
	begun   map[desk]bool
	unknown map[string]bool // names that were reported
}

// A member is one value of an object, or of an object within.
type member struct {
	name string
	text string // of an array its items parted by |
	// array says that it was one; wrong that it is no value for a cell.
	array, wrong bool
}

// mostUnknown bounds how many names that are no columns are told apart.
const mostUnknown = 100

func newObjectReader(in *bufio.Reader) *objectReader {
	return &objectReader{in: in, decoder: jsontext.NewDecoder(new(bytes.Buffer)), begun: map[desk]bool{}, unknown: map[string]bool{}}
}

// at says where the present object stands.
func (r *objectReader) at(int) spot { return spot{line: r.lines} }

func (r *objectReader) odd() []oddity { return r.oddness }

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
			if goOn, err := r.failed(o, err); !goOn {
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
	in.spare, in.oddness = cells, in.oddness[:0]
	strange := false
	for i := range in.members {
		m := &in.members[i]
		place, isList := to.place(m.name)
		switch {
		case m.name == kindMember || m.name == unitsMember:
		case place < 0:
			strange = true
			r.strange(o, in, to, m)
		case cells[place] != "":
			strange = true
			r.faults.add(o.fault(in.at(noPlace), m.name, m.text, trouble{"column_twice", "this stands twice in the object", "leave one of the two out"}))
		case m.wrong || m.array && !isList:
			cells[place] = m.text
			in.oddness = append(in.oddness, oddity{place, trouble{
				"value", "this holds no single value", "write a text, a number, true or false",
			}})
		default:
			cells[place] = m.text
		}
	}
	if strange {
		return nil
	}
	return r.take(to, o, in, cells, units)
}

// header reads what an object is and its units.
func (r *reading) header(o origin, in *objectReader) (to desk, units unit.System, ok bool) {
	ok = true
	kind := ""
	for _, m := range in.members {
		switch m.name {
		case kindMember:
			kind = m.text
			for _, d := range r.desks {
				if d.item() == kind || d.table() == kind {
					to = d
				}
			}
		case unitsMember:
			if units, ok = unit.ParseSystem(m.text); !ok {
				r.faults.add(o.fault(in.at(noPlace), unitsMember, m.text, trouble{"units", "these units aren't known", `write "in" or "mm"`}))
			}
		}
	}
	if to == nil {
		t := trouble{"kind", "there is no such kind of part", `write "damper", "sleeve", "spacer", "adapter" or "catalog"`}
		if kind == "" {
			t.detail = "the object doesn't say what it is"
		}
		r.faults.add(o.fault(in.at(noPlace), kindMember, kind, t))
	}
	return to, units, ok && to != nil
}

// strange reports a name that is no column, once for each kind.
func (r *reading) strange(o origin, in *objectReader, to desk, m *member) {
	key := to.item() + "." + m.name
	if in.unknown[key] {
		return
	}
	if len(in.unknown) < mostUnknown {
		in.unknown[key] = true
	}
	r.faults.add(o.fault(in.at(noPlace), m.name, m.text, to.stranger(m.name)))
}

// next reads the next line that isn't blank.
func (r *objectReader) next() error {
	for {
		if err := r.more(); err != nil {
			return err
		}
		if len(bytes.TrimSpace(r.line)) > 0 {
			break
		}
	}
	r.members = r.members[:0]
	r.decoder.Reset(bytes.NewBuffer(r.line))
	if err := r.object(""); err != nil {
		return r.failed(err)
	}
	if _, err := r.decoder.ReadToken(); !errors.Is(err, io.EOF) {
		return r.bad("json_more", "something follows the object on its line", "write one object a line and nothing between them")
	}
	return nil
}

// more reads the next line.
func (r *objectReader) more() error {
	r.line = r.line[:0]
	for {
		part, err := r.in.ReadSlice('\n')
		if len(r.line)+len(part) > mostRowBytes {
			return &broken{
				trouble: trouble{"row_too_long", "the line is longer than 1 MiB", "write one object a line"},
				spot:    spot{line: r.lines + 1}, end: true,
			}
		}
		r.line = append(r.line, part...)
		switch {
		case err == nil:
		case errors.Is(err, bufio.ErrBufferFull):
			continue
		case errors.Is(err, io.EOF) && len(r.line) > 0:
			r.unended = true
		default:
			return err
		}
		r.lines++
		return nil
	}
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

// failed puts in words why a line is no object.
func (r *objectReader) failed(err error) error {
	var syntax *jsontext.SyntacticError
	switch {
	case errors.Is(err, errNotAnObject):
		return r.bad("json_object", "the line holds no object", `write one object a line, as {"kind": "damper", …}`)
	case errors.Is(err, jsontext.ErrDuplicateName):
		return r.bad("json_name_twice", "a name stands twice in this object", "leave one of the two out")
	case r.unended && errors.Is(err, io.ErrUnexpectedEOF):
		return &broken{trouble: cutShort(), spot: r.at(noPlace)}
	case errors.As(err, &syntax):
		return r.bad("json_syntax", fmt.Sprintf("the line is no JSON from its byte %d on", syntax.ByteOffset+1), "write one whole JSON object a line, in UTF-8")
	}
	return r.bad("json_syntax", "the line is no JSON", "write one whole JSON object a line, in UTF-8")
}

func (r *objectReader) bad(code, detail, cure string) error {
	return &broken{trouble: trouble{code, detail, cure}, spot: r.at(noPlace)}
}
