package form

import (
	"slices"
	"strings"

	"midstroke/internal/fault"
	"midstroke/internal/note"
)

// Record is a table of the fields that fill in an R.
//
// What needn't know R is in table: a method of a generic type is compiled for each R.
type Record[R any] struct {
	table  table
	reads  []func(v Value, r *R) bool // of the fields of the table
	settle func(Value, *R)
}

// Member is one field of a record, while a table is made. Its methods change it.
type Member[R any] struct {
	*entry
	read func(v Value, r *R) bool
}

// table is what a record's table says of its fields.
type table []*entry

// entry is what it says of one. It has no methods, which each Member would get too.
type entry struct {
	about About
	// elsewhere is set on a deciding field: the code of the fault of a field that
	// doesn't apply with the value of this one.
	elsewhere fault.Code
}

// The functions below and in types.go that make fields are never inlined: a table of
// fields would grow into thousands of functions and be slow to compile.

// NewRecord makes a table of fields, in the contract's order. They are read in
// this order, so units stand before every length.
//
//go:noinline
func NewRecord[R any](fields ...*Member[R]) *Record[R] {
	t := &Record[R]{}
	for _, m := range fields {
		t.table.add(m.entry)
		t.reads = append(t.reads, m.read)
	}
	return t
}

func (t *table) add(e *entry) {
	if len(*t) == mostFields {
		panic("form: more fields in one record than mostFields")
	}
	if e.about.Decides && len(*t) > 0 {
		panic("form: the field that decides must stand first: " + e.about.Name)
	}
	*t = append(*t, e)
}

// mostFields is how many fields a record may have.
const mostFields = 64

// Settle adds a function that is called after the fields are read. It computes what
// several fields say together, and reports faults that only show in several.
func (t *Record[R]) Settle(do func(Value, *R)) *Record[R] {
	t.settle = do
	return t
}

// Fields says what the fields are.
func (t *Record[R]) Fields() []About { return t.table.abouts() }

func (t table) abouts() []About {
	all := make([]About, len(t))
	for i := range t {
		all[i] = t[i].about
	}
	return all
}

// Field makes a field of a type. home gives the place of its value in the record, and
// is called only if a value was read.
//
//go:noinline
func Field[R, T any](name string, t Type[T], home func(*R) *T) *Member[R] {
	return &Member[R]{entryOf(name, &t.About), func(v Value, r *R) bool {
		read, ok := t.Read(v)
		if ok {
			*home(r) = read
		}
		return ok
	}}
}

//go:noinline
func entryOf(name string, a *About) *entry {
	e := &entry{about: *a}
	e.about.Name = name
	return e
}

// Part makes a field that is a record itself. home gives its place in the outer
// record, and is called only if the field is given.
//
//go:noinline
func Part[R, P any](name string, t *Record[P], home func(*R) *P) *Member[R] {
	return &Member[R]{entryOf(name, &About{Kind: KindRecord, Fields: t.table.abouts()}), func(v Value, r *R) bool {
		if !v.isRecord() {
			return false
		}
		t.read(v, home(r))
		return true
	}}
}

// Needed says that the field must be given wherever it applies.
//
//go:noinline
func (m *Member[R]) Needed() *Member[R] {
	m.about.Needed = true
	return m
}

// With says that the field applies only if the deciding field of its record, or of
// the record around it, has one of these values.
//
//go:noinline
func (m *Member[R]) With(values ...string) *Member[R] {
	m.about.With = values
	return m
}

// Decides says that the value of this field, a choice, decides which other fields
// apply. elsewhere is the code of the fault of a field that is given and doesn't apply.
//
//go:noinline
func (m *Member[R]) Decides(elsewhere fault.Code) *Member[R] {
	m.about.Decides = true
	m.elsewhere = elsewhere
	return m
}

// Default is the value of a deciding field that isn't given.
//
//go:noinline
func (m *Member[R]) Default(value string) *Member[R] {
	m.about.Default = value
	return m
}

// Short gives the field the name of its record in the flat form.
//
//go:noinline
func (m *Member[R]) Short() *Member[R] {
	m.about.Short = true
	return m
}

// decision is a deciding field with its value, "" if the value isn't known.
type decision struct {
	field, value string
	elsewhere    fault.Code
}

// read fills in r from a record of the request.
func (t *Record[R]) read(v Value, r *R) {
	t.table.read(v, func(i int, field Value) bool { return t.reads[i](field, r) }, func() {
		if t.settle != nil {
			t.settle(v, r)
		}
	})
}

// read reads a record of the request. one reads the field of an index, and settle is
// called after the fields.
func (t table) read(v Value, one func(i int, field Value) bool, settle func()) {
	f := v.form
	outer := f.decided
	at, all := t.match(v)
	for i := range t {
		m := t[i]
		field := Value{f, at[i]}
		ok := false
		switch open := len(m.about.With) > 0 && f.decided.value == ""; {
		case !open && !applies(&m.about, f.decided.value):
			if field.Given() {
				f.refuse(field, &m.about)
			}
		case field.Given():
			ok = one(i, field)
		case m.about.Needed && !open:
			f.failAt(f.pointer(v.at)+"/"+m.about.Name, Missing, note.Word("field", m.about.Name))
		}
		if m.about.Decides {
			f.decided = decision{field: m.about.Name, elsewhere: m.elsewhere}
			switch {
			case ok:
				f.decided.value = field.Text()
			case !field.Given():
				f.decided.value = m.about.Default
			}
		}
	}
	settle()
	if !all {
		t.refuseOthers(v, &at)
	}
	f.decided = outer
}

// applies says whether a field goes with a value of the one that decides.
func applies(about *About, decided string) bool {
	return len(about.With) == 0 || slices.Contains(about.With, decided)
}

// refuse reports a field that doesn't apply.
func (f *Form) refuse(field Value, about *About) {
	field.Fail(f.decided.elsewhere, note.Word("field", about.Name), note.Word("only", strings.Join(about.With, ", ")),
		note.Word("decides", f.decided.field), note.Word("is", f.decided.value))
}

// match finds the node of each field, 0 where there is none, and says whether
// the record has no other members.
func (t table) match(v Value) (at [mostFields]int32, all bool) {
	nodes := v.form.tree.nodes
	next := 0
	all = true
	for c := nodes[v.at].first; c != 0; c = nodes[c].next {
		i := t.index(nodes[c].name, next)
		if i < 0 || at[i] != 0 {
			all = false
			continue
		}
		at[i] = c
		next = i + 1
	}
	return at, all
}

// index finds a field by its name, -1 if there is none. It begins at start, since
// most senders keep the contract's order.
func (t table) index(name string, start int) int {
	for i := start; i < len(t); i++ {
		if t[i].about.Name == name {
			return i
		}
	}
	for i := range min(start, len(t)) {
		if t[i].about.Name == name {
			return i
		}
	}
	return -1
}

// refuseOthers reports members that are no fields, and members that are given twice.
func (t table) refuseOthers(v Value, at *[mostFields]int32) {
	f := v.form
	for c := f.tree.nodes[v.at].first; c != 0; c = f.tree.nodes[c].next {
		name := f.tree.nodes[c].name
		other := Value{f, c}
		switch i := t.index(name, 0); {
		case i < 0:
			if near := t.nearest(f, name, at); near != "" {
				other.Fail(unknownFieldNear, note.Word("near", near))
			} else {
				other.Fail(unknownField)
			}
		case at[i] != c:
			other.Fail(DuplicateField)
		}
	}
}

// nearest suggests the field that might have been meant: one that isn't given.
func (t table) nearest(f *Form, name string, at *[mostFields]int32) string {
	if len(f.faults) >= mostFaults {
		return "" // no further fault is listed
	}
	var names []string
	for i := range t {
		if at[i] == 0 {
			names = append(names, t[i].about.Name)
		}
	}
	return fault.Nearest(name, names)
}
