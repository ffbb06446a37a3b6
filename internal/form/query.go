package form

import (
	"net/url"
	"slices"
	"strings"

	"midstroke/internal/fault"
	"midstroke/internal/note"
	"midstroke/internal/unit"
)

// Query reads the parameters of a query one by one, where there is no table of
// them. A parameter without a visible character counts as not given.
type Query struct {
	form  Form
	asked []string
}

// QueryOf makes a query of parameters that can each be read.
func QueryOf(values url.Values) *Query {
	var b builder
	b.push(b.add(node{kind: record}))
	for name, all := range values {
		b.push(b.add(node{kind: list, name: name}))
		for _, v := range all {
			if strings.TrimSpace(v) != "" {
				b.add(node{kind: loose, text: v})
			}
		}
		b.pop()
	}
	return &Query{form: Form{tree: &b.tree}}
}

// Param reads a parameter, which may stand once unless its type is a list. ok is
// false where it isn't given or is at fault.
func Param[T any](q *Query, name string, t Type[T]) (value T, ok bool) {
	q.asked = append(q.asked, name)
	v := Value{&q.form, q.form.tree.child(root, name)}
	switch n := v.count(); {
	case n == 0:
		return value, false
	case t.About.Kind == KindList:
		return t.Read(v)
	case n > 1:
		v.Fail(DuplicateField)
	}
	return t.Read(v.first())
}

// Units reads the units of all lengths, which must be given and stand before
// them.
func (q *Query) Units() unit.System {
	system, ok := Param(q, unitsName, Units)
	if !ok && !q.Given(unitsName) {
		q.Fail(unitsName, Missing, note.Word("field", unitsName))
	}
	if q.form.units = system; !ok {
		q.form.units, q.form.guessed = unit.Inches, true
	}
	return system
}

// Given says whether a parameter is given.
func (q *Query) Given(name string) bool {
	return Value{&q.form, q.form.tree.child(root, name)}.count() > 0
}

// Fail notes a fault of a parameter, unless it has one already.
func (q *Query) Fail(name string, code fault.Code, values ...note.Value) {
	at := "/" + token(name)
	for i := range q.form.faults {
		if within(q.form.faults[i].Pointer, at) {
			return
		}
	}
	q.form.failAt(at, code, values...)
}

// Close gives all faults, those of parameters that nobody asked for among them.
func (q *Query) Close() fault.List {
	faults := make(fault.List, 0, len(q.form.faults))
	for _, f := range q.form.faults {
		faults = append(faults, q.placed(f))
	}
	var unknown []string
	for c := q.form.tree.nodes[root].first; c != 0; c = q.form.tree.nodes[c].next {
		if name := q.form.tree.nodes[c].name; !slices.Contains(q.asked, name) {
			unknown = append(unknown, name)
		}
	}
	slices.Sort(unknown)
	known := note.Word("known", strings.Join(q.asked, ", "))
	for _, name := range unknown {
		f := fault.Fault{Place: fault.Place{Parameter: name}, Code: unknownParameter}
		if len(q.asked) > 0 {
			f.Code, f.Values = unknownParameterOf, []note.Value{known}
		}
		faults = append(faults, f)
	}
	if n := len(faults) - mostFaults; n > 0 {
		return append(faults[:mostFaults:mostFaults], unlisted(n)...)
	}
	return faults
}

// placed puts a fault at its parameter.
func (q *Query) placed(f fault.Fault) fault.Fault {
	name, index, item := strings.Cut(f.Pointer[1:], "/")
	f.Pointer, f.Parameter = "", unescapes.Replace(name)
	at := q.form.tree.child(root, f.Parameter)
	if at == 0 {
		return f
	}
	f.Item = item && q.form.tree.count(at) > 1
	if n := q.form.tree.item(at, index); item && n != 0 {
		f.Value = Shortened(q.form.tree.nodes[n].text, mostValue)
	}
	return f
}
