package form

import (
	"strconv"
	"strings"
)

// kind is what a node of a tree holds.
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
)

// term names the kind in the message files.
func (k kind) term() string {
	return [...]string{
		null: "null", boolean: "a_flag", number: "a_number", text: "a_text", list: "a_list", record: "an_object", loose: "a_text",
	}[k]
}

// node is one value of a request. Nodes refer to each other by their index in
// the tree; 0 is the root and stands for "none" elsewhere.
type node struct {
	text   string
	name   string // of a record's member
	parent int32
	first  int32 // child
	next   int32 // sibling
	index  int32 // in a list
	kind   kind
}

// tree is a request of any source, its root first.
type tree struct{ nodes []node }

const root = 0

// usualSize is room for the nodes of an ordinary request.
const usualSize = 64

// child finds the member of a record by its name, 0 where there is none.
func (t *tree) child(at int32, name string) int32 {
	for c := t.nodes[at].first; c != 0; c = t.nodes[c].next {
		if t.nodes[c].name == name {
			return c
		}
	}
	return 0
}

// item finds the entry of a list by its index, 0 where there is none.
func (t *tree) item(at int32, index string) int32 {
	for c := t.nodes[at].first; c != 0; c = t.nodes[c].next {
		if strconv.Itoa(int(t.nodes[c].index)) == index {
			return c
		}
	}
	return 0
}

// count gives how many children a node has.
func (t *tree) count(at int32) int {
	n := 0
	for c := t.nodes[at].first; c != 0; c = t.nodes[c].next {
		n++
	}
	return n
}

// pointer gives the RFC 6901 pointer of a node as seen from one above it.
func (t *tree) pointer(from, at int32) string {
	if at == from {
		return ""
	}
	n := &t.nodes[at]
	above := t.pointer(from, n.parent)
	if t.nodes[n.parent].kind == list {
		return above + "/" + strconv.Itoa(int(n.index))
	}
	return above + "/" + token(n.name)
}

var (
	escapes   = strings.NewReplacer("~", "~0", "/", "~1")
	unescapes = strings.NewReplacer("~1", "/", "~0", "~")
)

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

// push opens a node: what is added next goes into it.
func (b *builder) push(at int32) {
	b.open = append(b.open, at)
	b.last = append(b.last, 0)
}

func (b *builder) pop() {
	b.open = b.open[:len(b.open)-1]
	b.last = b.last[:len(b.last)-1]
}

// enter opens a member of the open record. It adds the member where there is none.
func (b *builder) enter(name string, k kind) {
	at := b.tree.child(b.open[len(b.open)-1], name)
	if at == 0 {
		at = b.add(node{kind: k, name: name})
	}
	b.push(at)
	for c := b.tree.nodes[at].first; c != 0; c = b.tree.nodes[c].next {
		b.last[len(b.last)-1] = c
	}
}
