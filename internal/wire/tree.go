package wire

import (
	"bytes"
	"errors"
	"io"
	"strconv"
	"strings"

	"github.com/go-json-experiment/json/jsontext"
)

// kind is what a node of a tree is.
type kind uint8

const (
	null kind = iota
	boolean
	number // text is the number as written
	text   // text is the string, unescaped
	list
	record
	// loose is a text of the flat form, where the field decides what it is.
	loose
	// unread is what stood too deep, or too late, to be read.
	unread
)

// words names the kinds for people.
func (k kind) words() string {
	switch k {
	case null:
		return "null"
	case boolean:
		return "true or false"
	case number:
		return "a number"
	case text, loose:
		return "a text"
	case list:
		return "a list"
	case record:
		return "an object"
	case unread:
	}
	return "unreadable"
}

// node is one value of a request. Nodes refer to each other by their place in
// the tree; 0, which is the root, stands for none.
type node struct {
	text   string
	name   string // of a record's member
	parent int32
	first  int32 // child
	next   int32 // sibling
	index  int32 // in a list
	kind   kind
	asked  bool // by the form
	twice  bool // a name that stood before it in the same record
}

// tree is a request of any source, its root first.
type tree struct{ nodes []node }

// The bounds of a tree. The deepest field of the contract stands six deep, and
// the longest lists have a thousand entries.
const (
	mostNodes = 20_000
	mostDepth = 32
)

// usualSize is room for what an ordinary request comes to, of nodes and of
// fields that it doesn't give.
const usualSize = 64

const root = 0

// child finds the member of a record by its name, 0 where there is none.
func (t *tree) child(at int32, name string) int32 {
	for c := t.nodes[at].first; c != 0; c = t.nodes[c].next {
		if t.nodes[c].name == name {
			return c
		}
	}
	return 0
}

// pointer gives the RFC 6901 pointer of a node.
func (t *tree) pointer(at int32) string {
	if at == root {
		return ""
	}
	n := &t.nodes[at]
	above := t.pointer(n.parent)
	if t.nodes[n.parent].kind == list {
		return above + "/" + strconv.Itoa(int(n.index))
	}
	return above + "/" + token(n.name)
}

var escapes = strings.NewReplacer("~", "~0", "/", "~1")

// token gives a member's name as RFC 6901 writes it.
func token(name string) string {
	if strings.ContainsAny(name, "~/") {
		return escapes.Replace(name)
	}
	return name
}

// builder adds nodes to a tree in the order in which they are written.
type builder struct {
	tree tree
	last []int32 // for each open node, its newest child
	open []int32
}

func (b *builder) add(n node) int32 {
	at := int32(len(b.tree.nodes))
	if len(b.open) > 0 {
		n.parent = b.open[len(b.open)-1]
		newest := &b.last[len(b.last)-1]
		if *newest == 0 {
			b.tree.nodes[n.parent].first = at
		} else {
			b.tree.nodes[*newest].next = at
			n.index = b.tree.nodes[*newest].index + 1
		}
		*newest = at
	}
	b.tree.nodes = append(b.tree.nodes, n)
	return at
}

func (b *builder) push(at int32) {
	b.open = append(b.open, at)
	b.last = append(b.last, 0)
}

func (b *builder) pop() {
	b.open = b.open[:len(b.open)-1]
	b.last = b.last[:len(b.last)-1]
}

// parse makes a tree of a JSON body. Its error is a *SyntaxError.
//
// A name that stands twice in one object is JSON still (RFC 8259 section 4
// only warns of it), so it is kept and marked, for the form to refuse. What
// stands deeper than mostDepth, or after mostNodes, is marked unread.
func parse(body []byte) (*tree, error) {
	p := parser{body: string(body)}
	p.dec = jsontext.NewDecoder(bytes.NewBuffer(body), jsontext.AllowDuplicateNames(true))
	p.tree.nodes = make([]node, 0, usualSize)
	if err := p.value(""); err != nil {
		return nil, p.syntaxError(err)
	}
	if _, err := p.dec.ReadToken(); !errors.Is(err, io.EOF) {
		if err == nil {
			err = errMore
		}
		return nil, p.syntaxError(err)
	}
	return &p.tree, nil
}

var errMore = errors.New("something follows the end of the object")

type parser struct {
	builder
	dec  *jsontext.Decoder
	body string
}

func (p *parser) value(name string) error {
	n := node{name: name}
	if len(p.open) >= mostDepth || len(p.tree.nodes) >= mostNodes {
		if len(p.tree.nodes) <= mostNodes {
			n.kind = unread
			p.add(n)
		}
		return p.dec.SkipValue()
	}
	switch p.dec.PeekKind() {
	case '{':
		n.kind = record
		return p.members(p.add(n))
	case '[':
		n.kind = list
		return p.items(p.add(n))
	default: // a scalar, or what the next read will tell is no JSON
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

func (p *parser) members(at int32) error {
	if _, err := p.dec.ReadToken(); err != nil {
		return err
	}
	p.push(at)
	defer p.pop()
	var seen names
	for p.dec.PeekKind() != '}' {
		raw, err := p.scalar()
		if err != nil {
			return err
		}
		name, err := unquote(raw)
		if err != nil {
			return err
		}
		twice := seen.add(p, at, name)
		mine := len(p.tree.nodes)
		if err := p.value(name); err != nil {
			return err
		}
		if mine < len(p.tree.nodes) {
			p.tree.nodes[mine].twice = twice
		}
	}
	_, err := p.dec.ReadToken()
	return err
}

// names tells whether a name stood before in the same object: by looking
// through the few that an honest object has, by a map beyond.
type names struct {
	n   int
	set map[string]struct{}
}

const fewNames = 24

func (s *names) add(p *parser, at int32, name string) (twice bool) {
	s.n++
	if s.n <= fewNames {
		return p.tree.child(at, name) != 0
	}
	if s.set == nil {
		s.set = make(map[string]struct{}, 2*fewNames)
		for c := p.tree.nodes[at].first; c != 0; c = p.tree.nodes[c].next {
			s.set[p.tree.nodes[c].name] = struct{}{}
		}
	}
	_, twice = s.set[name]
	s.set[name] = struct{}{}
	return twice
}

func (p *parser) items(at int32) error {
	if _, err := p.dec.ReadToken(); err != nil {
		return err
	}
	p.push(at)
	defer p.pop()
	for p.dec.PeekKind() != ']' {
		if err := p.value(""); err != nil {
			return err
		}
	}
	_, err := p.dec.ReadToken()
	return err
}

// syntaxError says in plain words why a body isn't JSON.
func (p *parser) syntaxError(err error) error {
	if strings.TrimLeft(p.body, " \t\r\n") == "" {
		return &SyntaxError{Offset: int64(len(p.body)), Detail: "the body is empty; it must be a JSON object"}
	}
	offset := p.dec.InputOffset()
	var syntactic *jsontext.SyntacticError
	if errors.As(err, &syntactic) {
		offset = syntactic.ByteOffset
		err = syntactic.Err
	}
	if errors.Is(err, io.ErrUnexpectedEOF) || errors.Is(err, io.EOF) {
		return &SyntaxError{Offset: int64(len(p.body)), Detail: "the body ends in the middle of a value"}
	}
	return &SyntaxError{Offset: offset, Detail: err.Error()}
}
