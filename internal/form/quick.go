package form

import (
	"strings"
	"unicode/utf8"
)

// quickParser makes a tree of a JSON body as nearly every body is: without
// escapes, and without anything wrong. It gives up on any other, which is then
// read by parser, who knows what to say of it. A test compares the two.
type quickParser struct {
	builder
	body string
	at   int
	most int // nodes
}

// parseQuick makes a tree of a body in the room of another one, which may be nil.
// It gives nil where it gives up.
func parseQuick(body string, most int, room *tree) *tree {
	p := quickParser{body: body, most: most}
	if room == nil {
		room = &tree{nodes: make([]node, 0, usualSize)}
	}
	p.tree.nodes = room.nodes[:0]
	var open, last [mostDepth]int32
	p.open, p.last = open[:0], last[:0]
	p.space()
	ok := p.value("")
	p.space()
	room.nodes = p.tree.nodes
	if !ok || p.at < len(body) {
		return nil
	}
	return room
}

func (p *quickParser) space() {
	for p.at < len(p.body) {
		switch p.body[p.at] {
		case ' ', '\t', '\r', '\n':
			p.at++
		default:
			return
		}
	}
}

// next gives the byte that stands next, 0 at the end.
func (p *quickParser) next() byte {
	if p.at < len(p.body) {
		return p.body[p.at]
	}
	return 0
}

// takes reads a byte after any space, and says whether it stands there.
func (p *quickParser) takes(b byte) bool {
	p.space()
	if p.next() != b {
		return false
	}
	p.at++
	return true
}

func (p *quickParser) value(name string) bool {
	if len(p.open) >= mostDepth || len(p.tree.nodes) > p.most {
		return false
	}
	n := node{name: name}
	from := p.at
	var ok bool
	switch p.next() {
	case '{':
		n.kind = record
		return p.members(p.add(n))
	case '[':
		n.kind = list
		return p.entries(p.add(n))
	case '"':
		n.kind = text
		n.text, ok = p.quoted()
	case 't':
		n.kind = boolean
		n.text, ok = p.word("true")
	case 'f':
		n.kind = boolean
		n.text, ok = p.word("false")
	case 'n':
		_, ok = p.word("null")
	default:
		n.kind, ok = number, p.number()
		n.text = p.body[from:p.at]
	}
	if ok {
		p.add(n)
	}
	return ok
}

// members reads an object, whose brace stands next.
func (p *quickParser) members(at int32) bool {
	p.at++
	if p.takes('}') {
		return true
	}
	p.push(at)
	for {
		p.space()
		name, ok := p.quoted()
		if !ok || !p.takes(':') {
			return false
		}
		p.space()
		if !p.value(name) {
			return false
		}
		if !p.takes(',') {
			p.pop()
			return p.takes('}')
		}
	}
}

// entries reads a list, whose bracket stands next.
func (p *quickParser) entries(at int32) bool {
	p.at++
	if p.takes(']') {
		return true
	}
	p.push(at)
	for {
		p.space()
		if !p.value("") {
			return false
		}
		if !p.takes(',') {
			p.pop()
			return p.takes(']')
		}
	}
}

// quoted reads a string without escapes.
func (p *quickParser) quoted() (string, bool) {
	if p.next() != '"' {
		return "", false
	}
	p.at++
	from, ascii := p.at, true
	for ; p.at < len(p.body); p.at++ {
		switch b := p.body[p.at]; {
		case b == '"':
			s := p.body[from:p.at]
			p.at++
			return s, ascii || utf8.ValidString(s)
		case b == '\\' || b < ' ':
			return "", false
		case b >= utf8.RuneSelf:
			ascii = false
		}
	}
	return "", false
}

func (p *quickParser) word(w string) (string, bool) {
	ok := strings.HasPrefix(p.body[p.at:], w)
	p.at += len(w)
	return w, ok
}

// number reads a number as RFC 8259 section 6 writes it.
func (p *quickParser) number() bool {
	if p.next() == '-' {
		p.at++
	}
	if p.next() == '0' {
		p.at++
	} else if !p.digits() {
		return false
	}
	if p.next() == '.' {
		p.at++
		if !p.digits() {
			return false
		}
	}
	if b := p.next(); b == 'e' || b == 'E' {
		p.at++
		if b := p.next(); b == '+' || b == '-' {
			p.at++
		}
		return p.digits()
	}
	return true
}

// digits reads at least one.
func (p *quickParser) digits() bool {
	from := p.at
	for b := p.next(); b >= '0' && b <= '9'; b = p.next() {
		p.at++
	}
	return p.at > from
}
