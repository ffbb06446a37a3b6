package form

import (
	"slices"
	"sync"

	"midstroke/internal/fault"
	"midstroke/internal/note"
	"midstroke/internal/unit"
)

// Form is a request that is being read. It collects what is wrong with it.
type Form struct {
	tree  *tree
	root  int32 // of the request; the tree may hold several
	units unit.System
	// guessed says that the request names no units, so that units are a guess.
	guessed bool
	decided decision
	faults  fault.List
	more    int // faults beyond mostFaults
}

// The bounds of a body, in values of any kind: of one request and of a list of
// requests.
const (
	MostValues     = 20_000
	MostListValues = 200_000
)

// OfBody makes a form of a JSON body of at most so many values. Its error is a
// *SyntaxError, or a fault.List where the body holds too much to be read.
func OfBody(body []byte, mostValues int) (*Form, error) {
	room, _ := trees.Get().(*tree)
	t := parseQuick(string(body), mostValues, room)
	if t == nil {
		var err error
		if t, err = parseJSON(body, mostValues); err != nil {
			return nil, err
		}
	}
	if len(t.nodes) > mostValues {
		return nil, fault.List{fault.New("", tooManyInAll, note.Num("most", float64(mostValues), ""))}
	}
	return &Form{tree: t}, nil
}

// trees are those of forms that were read.
var trees sync.Pool // of *tree

// mostKept is how many nodes a tree may have room for to be used again.
const mostKept = 1024

// Release gives the room that f takes to the next form. Neither f nor a form of
// one of its entries may be used afterwards; what was read from it may.
func (f *Form) Release() {
	if t := f.tree; t != nil && cap(t.nodes) <= mostKept {
		clear(t.nodes) // the texts are parts of the body
		t.nodes = t.nodes[:0]
		trees.Put(t)
	}
	f.tree = nil
}

// Entries gives the forms of the requests in the list at a member of this one, none
// where that is no list.
func (f *Form) Entries(member string) []*Form {
	at := f.tree.child(f.root, member)
	if at == root || f.tree.nodes[at].kind != list {
		return nil
	}
	var all []*Form
	for c := f.tree.nodes[at].first; c != 0; c = f.tree.nodes[c].next {
		all = append(all, &Form{tree: f.tree, root: c})
	}
	return all
}

// Entry gives the form of the request that is a member of this one.
func (f *Form) Entry(member string) *Form {
	return &Form{tree: f.tree, root: f.tree.child(f.root, member)}
}

// Has says whether the request has a member of that name.
func (f *Form) Has(member string) bool { return f.tree.child(f.root, member) != 0 }

// Read fills in a request by its table; r holds the defaults. judge gives what
// the core finds wrong with what was read, own being what the reader found; nil
// asks nobody. All faults are told, up to 200 of them, and what could be read is
// filled in all the same.
func Read[R any](f *Form, t *Record[R], r *R, judge func(own fault.List, r *R) fault.List) fault.List {
	if t.table.index(unitsName, 0) < 0 {
		return pass(f, t, r, judge)
	}
	if system, ok := f.namedUnits(); ok {
		f.units = system
		return pass(f, t, r, judge)
	}
	// What is wrong in inches and in millimetres alike is wrong whatever the
	// units are. Nothing else is told.
	fresh := *r
	f.guessed = true
	f.units = unit.Inches
	inInches := pass(f, t, r, judge)
	*r = fresh
	f.units, f.faults, f.more = unit.Millimetres, nil, 0
	return slices.DeleteFunc(pass(f, t, r, judge), func(a fault.Fault) bool {
		return !slices.ContainsFunc(inInches, func(b fault.Fault) bool { return a.Pointer == b.Pointer && a.Code == b.Code })
	})
}

// pass reads the request once.
func pass[R any](f *Form, t *Record[R], r *R, judge func(own fault.List, r *R) fault.List) fault.List {
	if v := (Value{f, f.root}); f.tree.nodes[f.root].kind == record {
		t.read(v, r)
	} else {
		v.Wrong("a_body")
	}
	told, more := f.faults, f.more
	if judge != nil {
		told = merge(told, judge(told, r))
	}
	if n := len(told) - mostFaults; n > 0 {
		told, more = told[:mostFaults:mostFaults], more+n
	}
	return append(told, unlisted(more)...)
}

// unitsName is the field that says in which units a request's bare lengths are.
const unitsName = "units"

func (f *Form) namedUnits() (unit.System, bool) {
	if f.tree.nodes[f.root].kind != record {
		return unit.Unset, true // which is a fault of its own
	}
	v := Value{f, f.root}.Member(unitsName)
	if !v.IsText() {
		return unit.Unset, false
	}
	return unit.ParseSystem(v.Text())
}

// pointer gives the RFC 6901 pointer of a node as seen from the request.
func (f *Form) pointer(at int32) string { return f.tree.pointer(f.root, at) }

// failAt notes a fault at a pointer, unless there is one at the same place: what
// is found first is what the field's sender should look at.
func (f *Form) failAt(pointer string, code fault.Code, values ...note.Value) {
	for i := range f.faults {
		if f.faults[i].Pointer == pointer {
			return
		}
	}
	if len(f.faults) >= mostFaults {
		f.more++
		return
	}
	f.faults.Add(pointer, code, values...)
}
