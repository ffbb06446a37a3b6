package wire

import (
	"fmt"

	"midstroke/internal/fault"
	"midstroke/internal/unit"
)

// form asks a tree for the fields that a request has, in whatever order suits
// the reader (units before lengths), and notes every fault.
type form struct {
	tree   *tree
	units  unit.System
	faults fault.List
	more   int      // faults past mostFaults
	absent []absent // what was asked for in vain
}

// newForm makes a form of a JSON body. Its error is a *SyntaxError, or Faults
// where the body holds too much to be read.
func newForm(body []byte) (*form, error) {
	t, err := parse(body)
	if err != nil {
		return nil, err
	}
	if len(t.nodes) > mostNodes {
		return nil, Faults{{Code: tooMany, Detail: fmt.Sprintf("must hold at most %d values in all", mostNodes)}}
	}
	return formOf(t), nil
}

func formOf(t *tree) *form { return &form{tree: t, absent: make([]absent, 0, usualSize)} }

// absent is a field that was asked for and isn't there.
type absent struct {
	in   int32
	name string
}

// fail notes a fault at a node.
func (f *form) fail(at int32, code, detail string) { f.failAt(f.tree.pointer(at), code, detail) }

// failAt notes a fault at a pointer, unless there is one at the same place: what
// is found first is what the field's sender should look at.
func (f *form) failAt(pointer, code, detail string) {
	for i := range f.faults {
		if f.faults[i].Pointer == pointer {
			return
		}
	}
	if len(f.faults) >= mostFaults {
		f.more++
		return
	}
	f.faults = append(f.faults, fault.Fault{Place: fault.Place{Pointer: pointer}, Code: fault.Code(code), Detail: detail})
}

// object is a record whose members are asked for one by one; close reports
// those that nobody asked for.
type object struct {
	f  *form
	at int32
	ok bool // false where the record is absent or isn't one
}

// top gives the request itself.
func (f *form) top() object {
	v := value{f, root}
	if f.tree.nodes[root].kind != record {
		v.wrong("a JSON object")
		return object{f: f}
	}
	return object{f, root, true}
}

// get asks for a member.
func (o object) get(name string) value {
	if !o.ok {
		return value{f: o.f}
	}
	v := o.find(name)
	if v.at == 0 {
		o.f.absent = append(o.f.absent, absent{o.at, name})
	}
	return v
}

// find is get for a member that is not to be suggested.
func (o object) find(name string) value {
	if !o.ok {
		return value{f: o.f}
	}
	at := o.f.tree.child(o.at, name)
	if at != 0 {
		o.f.tree.nodes[at].asked = true
	}
	return value{o.f, at}
}

// need asks for a member that must be there.
func (o object) need(name string) value {
	v := o.get(name)
	if o.ok && !v.given() {
		o.missing(name)
	}
	return v
}

func (o object) missing(name string) {
	o.f.failAt(o.f.tree.pointer(o.at)+"/"+token(name), missingField, name+" is missing")
}

// close reports every member that was not asked for, and every name that
// stands twice.
func (o object) close() {
	if !o.ok {
		return
	}
	t := o.f.tree
	for c := t.nodes[o.at].first; c != 0; c = t.nodes[c].next {
		n := &t.nodes[c]
		switch {
		case n.twice:
			o.f.fail(c, duplicateField, "stands twice in the same object")
		case !n.asked && n.kind == unread && n.name == "":
			value{o.f, c}.wrong("")
		case !n.asked:
			o.f.fail(c, unknownField, "there is no field of this name here"+o.f.hint(o.at, n.name))
		}
	}
}

// hint suggests the field that might have been meant: one that was asked for
// in the same record and isn't there.
func (f *form) hint(in int32, name string) string {
	if len(f.faults) >= mostFaults {
		return "" // it won't be told
	}
	var candidates []string
	for _, a := range f.absent {
		if a.in == in {
			candidates = append(candidates, a.name)
		}
	}
	return nearest(name, candidates)
}

// refuse notes a fault at each of names that is given though it has no place
// here; why and of end the sentence that the name begins.
func (o object) refuse(code, why, of string, names ...string) {
	for _, name := range names {
		if v := o.find(name); v.given() {
			v.fail(code, name+" "+why+of)
		}
	}
}

// all gives the faults found, with those that the core finds in what could be
// read, up to mostFaults, and how many there are beside them.
func (f *form) all(core fault.List) (told fault.List, more int) {
	told, more = merge(f.faults, core), f.more
	if n := len(told) - mostFaults; n > 0 {
		told, more = told[:mostFaults:mostFaults], more+n
	}
	return told, more
}
