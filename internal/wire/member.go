package wire

import (
	"slices"
	"strconv"

	"midstroke/internal/unit"
)

// members is the table of one kind of object in an answer: the name of each
// member, the kind of its value and where the value comes from. The same table
// writes the JSON, gives the columns of the CSV form, and is what the path of a
// picked value is looked up in.
//
// It has no methods, nor has member: those of a generic type are compiled for
// each T, called or not, which took a third of this package's time.
type members[T any] []member[T]

// member is one entry of the table for a T.
type member[T any] struct {
	*head // its own
	// given says whether the member is there at all; nil where it always is.
	given func(w *writer, v *T) bool
	// json writes the value.
	json func(w *writer, v *T)
	// at finds the value at a path within this one, itself at an empty path.
	at func(path []string) (bareValue[T], error)
}

// head is the part of a member that needn't know T. So little else is compiled for each T.
type head struct {
	// name is "" for the members of another object that stand among these.
	name string
	// key is the name as JSON has it, with the comma before it: `,"name":`.
	key   string
	shape shape
}

//go:noinline
func headOf(name string, s shape) *head {
	h := &head{name: name, shape: s}
	if name != "" {
		h.key = `,"` + name + `":`
	}
	return h
}

// ofObject is the head of an object with some members.
//
//go:noinline
func ofObject(name string, members []*head) *head {
	return headOf(name, shape{kind: objectKind, members: shapesIn(members)})
}

// ofList is the head of a list of plain values, and ofObjects of a list of objects.
//
//go:noinline
func ofList(name string, kind shapeKind) *head {
	return headOf(name, shape{kind: listKind, items: &shape{kind: kind}})
}

//go:noinline
func ofObjects(name string, members []*head) *head {
	return headOf(name, shape{kind: listKind, items: &shape{kind: objectKind, members: shapesIn(members)}})
}

// bareValue writes a value of a T without the marks of JSON: a text as it is,
// nothing for null. For what holds several values it writes nothing and gives
// false.
type bareValue[T any] func(w *writer, v *T) bool

// shape is what the table says of a value, whatever it is made from.
type shape struct {
	kind     shapeKind
	null     bool // may be null
	optional bool // may be missing
	jsonOnly bool // has no column in the CSV form
	cells    bool // of a list of objects: each is a few words in the CSV form
	members  []namedShape
	items    *shape // of a list
}

type namedShape struct {
	name string
	shape
}

type shapeKind uint8

const (
	lengthKind shapeKind = iota
	numberKind
	wholeKind
	flagKind
	textKind
	anyKind // a number or a text
	objectKind
	listKind
	mapKind // an object with any names
)

// writeObject writes the object made from v.
func writeObject[T any](w *writer, of members[T], v *T) {
	from := len(w.b)
	appendMembers(w, of, v)
	w.b[from] = '{' // in place of the first comma
	w.b = append(w.b, '}')
}

// appendMembers writes the members made from v, each with a comma before it.
func appendMembers[T any](w *writer, of members[T], v *T) {
	for i := range of {
		m := &of[i]
		if m.given == nil || m.given(w, v) {
			w.b = append(w.b, m.key...)
			m.json(w, v)
		}
	}
}

// shapesOf lists the members, those of objects put among them included.
func shapesOf[T any](of members[T]) []namedShape { return shapesIn(headsOf(of)) }

//go:noinline
func headsOf[T any](of members[T]) []*head {
	heads := make([]*head, len(of))
	for i := range of {
		heads[i] = of[i].head
	}
	return heads
}

func shapesIn(heads []*head) []namedShape {
	var all []namedShape
	for _, h := range heads {
		if h.name != "" {
			all = append(all, namedShape{h.name, h.shape})
		} else {
			all = append(all, h.shape.members...)
		}
	}
	return all
}

// valueAt finds the value at a path of at least one step. The error is a
// *pathError.
func valueAt[T any](of members[T], path []string) (found bareValue[T], err error) {
	err = findAt(headsOf(of), path, func(i int, rest []string) error {
		write, err := of[i].at(rest)
		if err != nil {
			return err
		}
		found = write
		if given := of[i].given; given != nil {
			found = func(w *writer, v *T) bool { return !given(w, v) || write(w, v) }
		}
		return nil
	})
	return found, err
}

// findAt calls at with the index of the member that a path begins with, and with the
// rest of the path. Where several may be meant, the first one without an error is.
func findAt(heads []*head, path []string, at func(i int, rest []string) error) error {
	var wrong error
	for i, h := range heads {
		rest := path
		if h.name != "" {
			rest = path[1:]
		}
		if h.name != path[0] && (h.name != "" || namedIn(h.shape.members, path[0]) < 0) {
			continue
		}
		if wrong = at(i, rest); wrong == nil {
			return nil
		}
	}
	if wrong == nil {
		wrong = &pathError{path[0], shapesIn(heads)}
	}
	return wrong
}

func namedIn(members []namedShape, name string) int {
	return slices.IndexFunc(members, func(m namedShape) bool { return m.name == name })
}

// pathError says that nothing is called step; there are members in its place.
type pathError struct {
	step    string
	members []namedShape
}

func (e *pathError) Error() string { return "nothing is called " + strconv.Quote(e.step) }

// The makers below are called once for each entry of a table. They are kept from
// being inlined: a table would grow into thousands of functions, and this
// package would take twice as long to compile.

// plain makes a member of a value that holds no others.
//
//go:noinline
func plain[T, X any](name string, kind shapeKind, get func(*T) X, write func(*writer, X)) member[T] {
	return plainMember(headOf(name, shape{kind: kind}), func(w *writer, v *T) { write(w, get(v)) })
}

// orNull makes a member of a value that holds no others, null where it is the
// zero value of its type, which means not known.
//
//go:noinline
func orNull[T any, X comparable](name string, kind shapeKind, get func(*T) X, write func(*writer, X)) member[T] {
	var unknown X
	return plainMember(headOf(name, shape{kind: kind, null: true}), func(w *writer, v *T) {
		if x := get(v); x != unknown {
			write(w, x)
		} else {
			w.appendNull()
		}
	})
}

func plainValue[T any](name string, s shape, json func(*writer, *T)) member[T] {
	return plainMember(headOf(name, s), json)
}

//go:noinline
func plainMember[T any](h *head, json func(*writer, *T)) member[T] {
	return member[T]{head: h, json: json, at: func(path []string) (bareValue[T], error) {
		if len(path) > 0 {
			return nil, &pathError{step: path[0]}
		}
		return func(w *writer, v *T) bool { json(w, v); return true }, nil
	}}
}

//go:noinline
func aText[T any](name string, get func(*T) string) member[T] {
	return plain(name, textKind, get, (*writer).appendText)
}

//go:noinline
func aTextOrNull[T any](name string, get func(*T) string) member[T] {
	return orNull(name, textKind, get, (*writer).appendText)
}

//go:noinline
func aFlag[T any](name string, get func(*T) bool) member[T] {
	return plain(name, flagKind, get, (*writer).appendFlag)
}

//go:noinline
func aWhole[T any](name string, get func(*T) int) member[T] {
	return plain(name, wholeKind, get, (*writer).appendWhole)
}

//go:noinline
func aLength[T any](name string, get func(*T) unit.Length) member[T] {
	return plain(name, lengthKind, get, (*writer).appendLength)
}

//go:noinline
func aLengthOrNull[T any](name string, get func(*T) unit.Length) member[T] {
	return orNull(name, lengthKind, get, (*writer).appendLength)
}

// aNumber is told to so many decimals.
//
//go:noinline
func aNumber[T any](name string, decimals int, get func(*T) float64) member[T] {
	return plain(name, numberKind, get, func(w *writer, n float64) { w.appendFigure(n, decimals) })
}

//go:noinline
func aNumberOrNull[T any](name string, decimals int, get func(*T) float64) member[T] {
	return orNull(name, numberKind, get, func(w *writer, n float64) { w.appendFigure(n, decimals) })
}

// aKnownNumber is there only where the number isn't 0, which means not known.
func aKnownNumber[T any](name string, decimals int, get func(*T) float64) member[T] {
	return when(aNumber(name, decimals, get), func(v *T) bool { return get(v) != 0 })
}

// anObject is made from what get gives, which is never nil.
//
//go:noinline
func anObject[T, C any](name string, of members[C], get func(*T) *C) member[T] {
	m := inside(name, of, get)
	m.json = func(w *writer, v *T) { writeObject(w, of, get(v)) }
	return m
}

// anObjectOrNull is null where get gives nil.
//
//go:noinline
func anObjectOrNull[T, C any](name string, of members[C], get func(*T) *C) member[T] {
	m := inside(name, of, get)
	m.shape.null = true
	m.json = func(w *writer, v *T) {
		if c := get(v); c != nil {
			writeObject(w, of, c)
		} else {
			w.appendNull()
		}
	}
	return m
}

// allOf puts all members of another object among those of this one.
//
//go:noinline
func allOf[T, C any](of members[C], get func(*T) *C) member[T] {
	m := inside("", of, get)
	m.json = func(w *writer, v *T) { appendMembers(w, of, get(v)) }
	return m
}

//go:noinline
func inside[T, C any](name string, of members[C], get func(*T) *C) member[T] {
	m := member[T]{head: ofObject(name, headsOf(of))}
	m.at = func(path []string) (bareValue[T], error) {
		if len(path) == 0 {
			return func(w *writer, v *T) bool { return get(v) == nil }, nil
		}
		write, err := valueAt(of, path)
		return func(w *writer, v *T) bool {
			c := get(v)
			return c == nil || write(w, c)
		}, err
	}
	return m
}

// aList is a list of objects.
//
//go:noinline
func aList[T, C any](name string, of members[C], get func(*T) []C) member[T] {
	m := listOf(ofObjects(name, headsOf(of)), get, func(w *writer, v *C) { writeObject(w, of, v) })
	m.at = func(path []string) (bareValue[T], error) {
		if len(path) == 0 {
			return func(w *writer, v *T) bool { return len(get(v)) == 0 }, nil
		}
		place, err := placeIn(path[0])
		if err != nil {
			return nil, err
		}
		if len(path) == 1 {
			return func(w *writer, v *T) bool { return place >= len(get(v)) }, nil
		}
		write, err := valueAt(of, path[1:])
		return func(w *writer, v *T) bool {
			all := get(v)
			return place >= len(all) || write(w, &all[place])
		}, err
	}
	return m
}

// inCells is a list of objects that can each be said in a few words: cell writes
// them. Without the marks of JSON the list is these words, separated by "|".
func inCells[T, C any](name string, of members[C], get func(*T) []C, cell func(*writer, *C)) member[T] {
	m := aList(name, of, get)
	m.shape.cells = true
	within := m.at
	m.at = func(path []string) (bareValue[T], error) {
		if len(path) > 0 {
			return within(path)
		}
		return func(w *writer, v *T) bool {
			all := get(v)
			for i := range all {
				if i > 0 {
					w.nextItem()
				}
				cell(w, &all[i])
			}
			return true
		}, nil
	}
	return m
}

// membersNamed gives the members of some names. Members of another object that stand among
// these come all together, by the name of one of them.
func membersNamed[T any](of members[T], names ...string) members[T] {
	var some members[T]
	for _, name := range names {
		i := slices.IndexFunc(of, func(m member[T]) bool {
			return m.name == name || m.name == "" && namedIn(m.shape.members, name) >= 0
		})
		some = append(some, of[i])
	}
	return some
}

// aListOf is a list of plain values; without the marks of JSON they are
// separated by "|".
//
//go:noinline
func aListOf[T, X any](name string, kind shapeKind, get func(*T) []X, write func(*writer, X)) member[T] {
	m := listOf(ofList(name, kind), get, func(w *writer, x *X) { write(w, *x) })
	m.at = func(path []string) (bareValue[T], error) {
		switch len(path) {
		case 0:
			return func(w *writer, v *T) bool { m.json(w, v); return true }, nil
		case 1:
			place, err := placeIn(path[0])
			return func(w *writer, v *T) bool {
				if all := get(v); place < len(all) {
					write(w, all[place])
				}
				return true
			}, err
		}
		return nil, &pathError{step: path[1]}
	}
	return m
}

//go:noinline
func listOf[T, X any](h *head, get func(*T) []X, write func(*writer, *X)) member[T] {
	return member[T]{head: h, json: func(w *writer, v *T) {
		w.beginList()
		all := get(v)
		for i := range all {
			if i > 0 {
				w.nextItem()
			}
			write(w, &all[i])
		}
		w.endList()
	}}
}

// placeIn reads the place of an item in a list, from 0.
func placeIn(step string) (int, error) {
	n, err := strconv.ParseUint(step, 10, 16)
	if err != nil {
		return 0, &pathError{step: step}
	}
	return int(n), nil
}

// when makes m one that is there only where given holds.
func when[T any](m member[T], given func(v *T) bool) member[T] {
	m.shape.optional, m.given = true, func(_ *writer, v *T) bool { return given(v) }
	return m
}

// whenAsked makes m one that is there only where the caller asked for working.
func whenAsked[T any](m member[T]) member[T] {
	m.shape.optional, m.given = true, func(w *writer, _ *T) bool { return w.working }
	return m
}

// as makes m one whose JSON is written in another way, to the same effect.
func as[T any](m member[T], json func(w *writer, v *T)) member[T] {
	m.json = json
	return m
}

// whenDamped makes m one that is there only where the caller asked for damping.
func whenDamped[T any](m member[T]) member[T] {
	m.shape.optional, m.given = true, func(w *writer, _ *T) bool { return w.damped }
	return m
}

// besideInches makes m one that is there only where lengths are in inches.
func besideInches[T any](m member[T]) member[T] {
	m.shape.optional, m.given = true, func(w *writer, _ *T) bool { return w.units == unit.Inches }
	return m
}

// onlyJSON makes m one without columns in the CSV form.
func onlyJSON[T any](m member[T]) member[T] {
	m.shape.jsonOnly = true
	return m
}

// unitsMember tells the units of an answer's lengths.
//
//go:noinline
func unitsMember[T any]() member[T] {
	return plainValue("units", shape{kind: textKind}, func(w *writer, _ *T) { w.appendText(w.units.String()) })
}
