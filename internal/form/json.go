package form

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"strings"

	"github.com/go-json-experiment/json/jsontext"

	"midstroke/internal/fault"
	"midstroke/internal/note"
	"midstroke/internal/unit"
)

// mostDepth is how deep a body is read. The deepest field of the contract
// stands six deep; what is nested deeper can't be any field.
const mostDepth = 32

// SyntaxError says that a body isn't JSON by RFC 8259 and I-JSON's rule that
// text is UTF-8.
type SyntaxError struct {
	// Offset counts the bytes before the place where reading stopped.
	Offset int64
	Code   fault.Code
	Values []note.Value
}

// Text says what is wrong in lang.
func (e *SyntaxError) Text(lang string) string {
	return note.FaultText(lang, unit.Unset, string(e.Code), e.Values)
}

func (e *SyntaxError) Error() string {
	return fmt.Sprintf("not JSON, at byte %d: %s", e.Offset, e.Text("en"))
}

// parser makes a tree of a JSON body.
type parser struct {
	builder
	dec  *jsontext.Decoder
	body string
	most int // nodes; of a body that has more, one more is kept
}

// parseJSON makes a tree of a JSON body. Its error is a *SyntaxError.
//
// A name may stand twice in one object: RFC 8259 section 4 only warns of it. Both
// are kept, for the reader to refuse the second.
func parseJSON(body []byte, most int) (*tree, error) {
	p := parser{body: string(body), most: most}
	p.dec = jsontext.NewDecoder(bytes.NewBuffer(body), jsontext.AllowDuplicateNames(true))
	p.tree.nodes = make([]node, 0, usualSize)
	if err := p.value(""); err != nil {
		return nil, p.syntaxError(err)
	}
	if _, err := p.dec.ReadToken(); !errors.Is(err, io.EOF) {
		if err == nil {
			return nil, &SyntaxError{Offset: p.dec.InputOffset(), Code: notJSONMore}
		}
		return nil, p.syntaxError(err)
	}
	return &p.tree, nil
}

func (p *parser) value(name string) error {
	if len(p.open) >= mostDepth || len(p.tree.nodes) > p.most {
		return p.dec.SkipValue()
	}
	n := node{name: name}
	switch p.dec.PeekKind() {
	case '{':
		n.kind = record
		return p.children(p.add(n), '}')
	case '[':
		n.kind = list
		return p.children(p.add(n), ']')
	default: // a scalar, or what the next read finds to be no JSON
	}
	raw, err := p.scalar()
	if err != nil {
		return err
	}
	switch raw[0] {
	case 'n':
		n.kind = null
	case 't', 'f':
		n.kind, n.text = boolean, raw
	case '"':
		n.kind = text
		if n.text, err = unquote(raw); err != nil {
			return err
		}
	default:
		n.kind, n.text = number, raw
	}
	p.add(n)
	return nil
}

// children reads the members of an object or the entries of a list.
func (p *parser) children(at int32, closing jsontext.Kind) error {
	if _, err := p.dec.ReadToken(); err != nil {
		return err
	}
	p.push(at)
	defer p.pop()
	for p.dec.PeekKind() != closing {
		name := ""
		if closing == '}' {
			raw, err := p.scalar()
			if err != nil {
				return err
			}
			if name, err = unquote(raw); err != nil {
				return err
			}
		}
		if err := p.value(name); err != nil {
			return err
		}
	}
	_, err := p.dec.ReadToken()
	return err
}

// scalar reads a literal, a string or a number and gives it as it stands in
// the body, without a copy.
func (p *parser) scalar() (string, error) {
	raw, err := p.dec.ReadValue()
	if err != nil {
		return "", err
	}
	end := p.dec.InputOffset()
	return p.body[end-int64(len(raw)) : end], nil
}

func unquote(raw string) (string, error) {
	if strings.IndexByte(raw, '\\') < 0 {
		return raw[1 : len(raw)-1], nil
	}
	b, err := jsontext.AppendUnquote(nil, raw)
	return string(b), err
}

// syntaxError says why a body isn't JSON.
func (p *parser) syntaxError(err error) error {
	if strings.TrimLeft(p.body, " \t\r\n") == "" {
		return &SyntaxError{Offset: int64(len(p.body)), Code: notJSONEmpty}
	}
	offset := p.dec.InputOffset()
	var syntactic *jsontext.SyntacticError
	if errors.As(err, &syntactic) {
		offset = syntactic.ByteOffset
		err = syntactic.Err
	}
	if errors.Is(err, io.ErrUnexpectedEOF) || errors.Is(err, io.EOF) {
		return &SyntaxError{Offset: int64(len(p.body)), Code: notJSONCutOff}
	}
	return &SyntaxError{Offset: offset, Code: notJSONSyntax, Values: []note.Value{note.Word("reason", err.Error())}}
}
