package form

import (
	"net/url"
	"slices"
	"strconv"
	"strings"

	"midstroke/internal/fault"
	"midstroke/internal/note"
)

// Name is one name of a table's flat form and the field that it stands for.
type Name struct {
	// Name is the parameter of a query.
	Name string
	// Pointer is the RFC 6901 pointer of the field in a body.
	Pointer string
	// List says that it may stand more than once in a query.
	List bool
	// Option is, of a list whose entries may be records, the value of the
	// record's second field that this name stands for.
	Option string
	// Field is what the table says of it, and When the values of other names
	// that it applies with.
	Field About
	When  []When

	segments []string // of the pointer
	item     []string // the names of an entry's first and second field
}

// When is a name and its values.
type When struct {
	Name   string
	Values []string
	// OrNone says that the field may also be left out.
	OrNone bool
}

// Names are the flat names of a table, in the table's order.
type Names struct {
	all   []Name
	index map[string]int
}

// NamesOf makes the flat names of a table: each field's path joined by "_". A
// field that decides goes by the name of its record where that is short.
func NamesOf[R any](t *Record[R]) *Names { return namesOf(t.table) }

func namesOf(t table) *Names {
	n := &Names{index: map[string]int{}}
	n.walk("", t.abouts(), Name{}, nil)
	for i := range n.all {
		n.index[n.all[i].Name] = i
	}
	if len(n.index) < len(n.all) {
		panic("form: two fields have one flat name")
	}
	return n
}

// All lists the names.
func (n *Names) All() []Name { return n.all }

// Has says whether there is such a name.
func (n *Names) Has(name string) bool {
	_, ok := n.index[name]
	return ok
}

// Find gives a name, nil where there is no such name.
func (n *Names) Find(name string) *Name {
	if i, ok := n.index[name]; ok {
		return &n.all[i]
	}
	return nil
}

// joined gives the usual flat name of a field.
func joined(pointer string) string { return strings.ReplaceAll(pointer[1:], "/", "_") }

// walk adds the names of the fields of a record; deciding is the field that decides
// in the record around it.
func (n *Names) walk(under string, fields []About, deciding Name, when []When) {
	for i := range fields {
		f := fields[i]
		at := Name{Pointer: under + "/" + f.Name, Field: f, When: when}
		at.Name, at.segments = joined(at.Pointer), strings.Split(at.Pointer[1:], "/")
		if f.Short {
			at.Name = joined(under)
		}
		if f.Decides {
			deciding = at
		}
		if len(f.With) > 0 {
			orNone := deciding.Field.Default != "" && slices.Contains(f.With, deciding.Field.Default)
			at.When = append(slices.Clone(when), When{deciding.Name, f.With, orNone})
		}
		switch {
		case f.Kind == KindRecord:
			n.walk(at.Pointer, f.Fields, deciding, at.When)
		case f.Kind != KindList:
			n.all = append(n.all, at)
		case f.Item.Kind == KindRecord: // has no flat form
		default:
			at.List = true
			n.all = append(n.all, at)
			n.addOptions(at)
		}
	}
}

// addOptions adds the names of a list whose entries may be records.
func (n *Names) addOptions(at Name) {
	fields := at.Field.Item.Fields
	if len(fields) == 0 {
		return
	}
	at.item = []string{fields[0].Name, fields[1].Name}
	for _, option := range fields[1].Options {
		at.Name, at.Option = joined(at.Pointer)+"_"+option, option
		n.all = append(n.all, at)
	}
}

// Flat is a request in flat names.
type Flat struct {
	Form
	names *Names
	named fault.List // faults of the names themselves
	// unnamed is how many of them there are beyond mostFaults.
	unnamed int
	// entries names the parameter of each entry of a list that several names
	// stand for, by the list's pointer.
	entries map[string][]string
}

// Read makes a form of flat values. A value without a visible character counts
// as not given.
func (n *Names) Read(values url.Values) *Flat {
	b := builder{}
	b.tree.nodes = make([]node, 0, usualSize)
	b.push(b.add(node{kind: record}))
	flat := &Flat{names: n, entries: map[string][]string{}}
	var known []int
	var unknown []string
	for name := range values {
		if i, ok := n.index[name]; ok {
			known = append(known, i)
		} else {
			unknown = append(unknown, name)
		}
	}
	slices.Sort(known)
	for _, i := range known {
		at := &n.all[i]
		given := slices.DeleteFunc(slices.Clone(values[at.Name]), func(s string) bool { return strings.TrimSpace(s) == "" })
		switch {
		case len(given) == 0:
			continue
		case len(given) > 1 && !at.List:
			flat.name(at.Name, DuplicateField)
			given = given[:1]
		}
		if at.List {
			if given = flat.separated(at.Name, given); len(given) == 0 {
				continue
			}
		}
		b.place(at, given)
		if at.List && len(at.Field.Item.Fields) > 0 {
			for range given {
				flat.entries[at.Pointer] = append(flat.entries[at.Pointer], at.Name)
			}
		}
	}
	slices.Sort(unknown)
	for _, name := range unknown {
		given := func(name string) bool { _, ok := values[name]; return ok }
		if near := n.Near(name, given); near != "" {
			flat.name(name, unknownParameterNear, note.Word("near", near))
		} else {
			flat.name(name, unknownParameter)
		}
	}
	flat.tree = &b.tree
	return flat
}

// separated splits values such as "1|2" and reports that as a fault: a query
// repeats the name instead.
func (f *Flat) separated(name string, values []string) []string {
	joined := strings.Join(values, "|")
	parts := strings.Split(joined, "|")
	if len(parts) == len(values) {
		return values
	}
	parts = slices.DeleteFunc(parts, func(s string) bool { return strings.TrimSpace(s) == "" })
	example := make([]string, 0, 2)
	for _, part := range parts[:min(2, len(parts))] {
		example = append(example, name+"="+Shortened(part, mostValue))
	}
	f.name(name, notRepeated, note.Word("example", strings.Join(example, "&")))
	return parts
}

// name notes a fault of a name.
func (f *Flat) name(name string, code fault.Code, values ...note.Value) {
	if len(f.named) >= mostFaults {
		f.unnamed++
		return
	}
	f.named = append(f.named, fault.Fault{Place: fault.Place{Parameter: name}, Code: code, Values: values})
}

// place adds the values of one name at its place in the tree.
func (b *builder) place(n *Name, values []string) {
	defer func() {
		for len(b.open) > 1 {
			b.pop()
		}
	}()
	last := len(n.segments) - 1
	for _, s := range n.segments[:last] {
		b.enter(s, record)
	}
	if !n.List {
		b.add(node{kind: loose, name: n.segments[last], text: values[0]})
		return
	}
	b.enter(n.segments[last], list)
	for _, v := range values {
		entry := node{kind: loose, text: v}
		if n.Option == "" {
			b.add(entry)
			continue
		}
		entry.name = n.item[0]
		b.push(b.add(node{kind: record}))
		b.add(entry)
		b.add(node{kind: loose, name: n.item[1], text: n.Option})
		b.pop()
	}
}

// Near suggests the name that was likely meant by one that isn't known: a short one
// that was called by its whole path, else the nearest that isn't given. It is "" where
// none is near.
func (n *Names) Near(name string, given func(name string) bool) string {
	return n.Likely(name).But(given)
}

// Likely is which names were likely meant by one that isn't known.
type Likely struct {
	short string   // its whole path was given
	near  []string // the nearest first
}

// Likely finds the names that were likely meant. It compares all names, so a caller that
// meets the same name often keeps what it found.
func (n *Names) Likely(name string) *Likely {
	all := make([]string, len(n.all))
	for i := range n.all {
		at := &n.all[i]
		if at.Field.Short && name == joined(at.Pointer) {
			return &Likely{short: at.Name}
		}
		all[i] = at.Name
	}
	return &Likely{near: fault.Near(name, all)}
}

// But gives the likeliest name that isn't given, "" where there is none.
func (l *Likely) But(given func(name string) bool) string {
	for _, name := range l.near {
		if !given(name) {
			return name
		}
	}
	return l.short
}

// All gives the faults of the names themselves and then those that were found in
// reading, in the sender's names.
func (f *Flat) All(found fault.List) fault.List {
	return slices.Concat(f.named, unlisted(f.unnamed), f.Place(found))
}

// Place tells faults in the sender's names.
func (f *Flat) Place(faults fault.List) fault.List {
	placed := slices.Clone(faults)
	for i := range placed {
		at := &placed[i]
		if at.Code == TooManyFaults {
			continue
		}
		at.Value, at.Item = f.value(at.Pointer)
		at.Parameter, at.Pointer = f.nameAt(at.Pointer), ""
	}
	return placed
}

// nameAt gives the name that the sender used, or would have used, for the field
// at pointer; "" for the whole.
func (f *Flat) nameAt(pointer string) string {
	if pointer == "" {
		return ""
	}
	for list, names := range f.entries {
		rest, in := strings.CutPrefix(pointer, list+"/")
		index, _, _ := strings.Cut(rest, "/")
		if i, err := strconv.Atoi(index); in && err == nil && i < len(names) {
			return names[i]
		}
	}
	for p := pointer; p != ""; p = p[:strings.LastIndexByte(p, '/')] {
		for i := range f.names.all {
			if within(f.names.all[i].Pointer, p) {
				return f.names.all[i].Name
			}
		}
	}
	return joined(pointer)
}

// mostValue is how many characters a fault shows of a value.
const mostValue = 64

// value gives what the sender wrote at pointer, and whether it is one of
// several in a list; "" where nothing single stands there.
func (f *Flat) value(pointer string) (value string, item bool) {
	t := f.tree
	at := int32(root)
	for step := range strings.SplitSeq(strings.TrimPrefix(pointer, "/"), "/") {
		if t.nodes[at].kind == loose {
			break // an entry's first field, where it is no record
		}
		if t.nodes[at].kind == list {
			item = item || t.count(at) > 1
			at = t.item(at, step)
		} else {
			at = t.child(at, step)
		}
		if at == root {
			return "", false
		}
	}
	if t.nodes[at].kind == record {
		at = t.nodes[at].first // of an entry that is a record
	}
	if at == root || t.nodes[at].kind != loose {
		return "", false
	}
	return Shortened(t.nodes[at].text, mostValue), item
}
