package catalog

import (
	"strings"

	"midstroke/internal/fault"
	"midstroke/internal/mount"
	"midstroke/internal/note"
	"midstroke/internal/unit"
)

// Kind says what kind of value a field holds.
type Kind uint8

// The kinds of fields. The comment names the accessor of Field that is set.
const (
	KindText   Kind = iota + 1 // Text
	KindLength                 // Length, or Computed for one that isn't stored
	KindSigned                 // Length, which may be negative
	KindMoney                  // Price
	KindYesNo                  // YesNo
	KindOneOf                  // Choice and Words
	KindListOf                 // Set and Words
	KindThread                 // Thread
	KindNumber                 // Number and SetNumber
	KindForces                 // Forces
)

// IsFree says that a value may begin with any character, as a name that people
// give does.
func (k Kind) IsFree() bool { return k == KindText || k == KindForces }

// Zero says what a length of 0 stands for.
type Zero uint8

// The meanings of 0.
const (
	// ZeroUnknown is a length that isn't known. One that is given must be
	// greater than zero.
	ZeroUnknown Zero = iota
	// ZeroNone means "none", and so does a length that isn't given.
	ZeroNone
	// ZeroCounts is a length like any other, so it is always written.
	ZeroCounts
)

// Field is one field of a T, which is a kind of part or the settings of a
// catalogue. The fields of a Table drive how T is stored, written to files,
// listed, filtered and compared.
type Field[T any] struct {
	// Name is the field's name in snake_case, as SQL and files use it. A field of
	// an end has the end's name in front: "upper_bore".
	Name string
	// Group is the end that the field belongs to, as "upper"; "" for the part
	// itself.
	Group string
	Kind  Kind
	// Needed says that every part must have it.
	Needed bool
	Zero   Zero // of a length
	// Unique says that no two parts of a list may have the same.
	Unique bool
	// Filter names the parameter by which lists are filtered, "" for none. A
	// length's has min_ and max_ in front.
	Filter string
	// Searched says that the search by words looks into the text.
	Searched bool
	// ListOnly says that only lists show it, and answers don't.
	ListOnly bool
	// Stock says that it belongs to the shop's stock and not to the part itself.
	Stock bool
	// Beside says that lists write a field of an end under Name too, beside the
	// end.
	Beside bool
	// About says what the field is.
	About note.Code

	// The accessors give the place in T that holds the value, or the value; one is
	// set, by Kind. A Choice is a number that stands for a word of Words; a Set has a bit
	// for each word. A word "" can't be chosen.
	Text     func(*T) *string
	Length   func(*T) *unit.Length
	Computed func(*T) unit.Length
	Price    func(*T) *mount.Price
	YesNo    func(*T) *bool
	Choice   func(*T) *uint8
	Set      func(*T) *uint8
	Thread   func(*T) *mount.Thread
	Forces   func(*T) *Forces
	// Number gives a number, and whether it is known. SetNumber sets it.
	Number    func(*T) (n float64, known bool)
	SetNumber func(*T, float64)
	Words     []string
	// Offered are the words to tell people of, nil for all.
	Offered []string
	// WrongWord is the code of the fault of a cell that holds none of the words,
	// "" for the usual one.
	WrongWord fault.Code

	// Has says whether a part has the field at all: a stud has no bore. nil
	// stands for yes.
	Has func(*T) bool
	// Known says whether the field's choice means anything. nil stands for yes.
	Known func(*T) bool
}

// Table is one kind of part with its fields, or the settings.
type Table[T any] struct {
	// Name is that of the SQL table, the list and the file without its ending.
	Name string
	// Item is the name of one row.
	Item string
	// Fields are in the order in which they are written. Callers change nothing
	// in them.
	Fields []Field[T]
	// Blank is a row in which nothing is given.
	Blank T
	// Code and Price are those of a part, nil for the settings.
	Code  func(*T) *string
	Price func(*T) *mount.Price
	// Faults gives everything wrong with a row, with pointers from the row.
	Faults func(*T) fault.List
	// judge makes what Judge gives; nil where that is Faults itself.
	judge func() func(*T) fault.List
}

// Judge gives a function that does what Faults does, for many rows one after the other.
// It may remember which values are sound, since rows of a list have many in common.
func (t *Table[T]) Judge() func(*T) fault.List {
	if t.judge == nil {
		return t.Faults
	}
	return t.judge()
}

// Stored says whether the field's value is kept, or computed from others.
func (f *Field[T]) Stored() bool { return f.Computed == nil }

// In says whether t has the field.
func (f *Field[T]) In(t *T) bool { return f.Has == nil || f.Has(t) }

// Member is the field's name within its group: "bore" of "upper_bore".
func (f *Field[T]) Member() string { return strings.TrimPrefix(f.Name, f.Group+"_") }

// Path is the field's place in the JSON of a part: "upper.bore".
func (f *Field[T]) Path() string {
	if f.Group == "" {
		return f.Name
	}
	return f.Group + "." + f.Member()
}

// LengthOf gives t's length, stored or computed.
func (f *Field[T]) LengthOf(t *T) unit.Length {
	if f.Computed != nil {
		return f.Computed(t)
	}
	return *f.Length(t)
}

// Word gives the word that t's choice stands for, "" where it means nothing.
func (f *Field[T]) Word(t *T) string {
	if f.Known != nil && !f.Known(t) {
		return ""
	}
	return f.Words[*f.Choice(t)]
}

// Choose sets t's choice by its word, and says whether there is such a word.
func (f *Field[T]) Choose(t *T, word string) bool {
	i := f.find(word)
	if i < 0 {
		return false
	}
	*f.Choice(t) = uint8(i)
	return true
}

// Include adds a word to t's set, and says whether there is such a word.
func (f *Field[T]) Include(t *T, word string) bool {
	i := f.find(word)
	if i < 0 {
		return false
	}
	*f.Set(t) |= 1 << i
	return true
}

func (f *Field[T]) find(word string) int {
	for i, w := range f.Words {
		if w == word && w != "" {
			return i
		}
	}
	return -1
}

// Items lists the words of t's set.
func (f *Field[T]) Items(t *T) []string {
	var items []string
	for i, word := range f.Words {
		if *f.Set(t)&(1<<i) != 0 {
			items = append(items, word)
		}
	}
	return items
}

// Choices lists the words to tell people of.
func (f *Field[T]) Choices() []string {
	if f.Offered != nil {
		return f.Offered
	}
	var words []string
	for _, w := range f.Words {
		if w != "" {
			words = append(words, w)
		}
	}
	return words
}

// Same says whether two parts have the same value.
func (f *Field[T]) Same(a, b *T) bool {
	if f.In(a) != f.In(b) {
		return false
	}
	switch f.Kind {
	case KindText:
		return *f.Text(a) == *f.Text(b)
	case KindLength, KindSigned:
		return f.LengthOf(a) == f.LengthOf(b)
	case KindMoney:
		return *f.Price(a) == *f.Price(b)
	case KindYesNo:
		return *f.YesNo(a) == *f.YesNo(b)
	case KindOneOf:
		return *f.Choice(a) == *f.Choice(b)
	case KindListOf:
		return *f.Set(a) == *f.Set(b)
	case KindThread:
		return *f.Thread(a) == *f.Thread(b)
	case KindNumber:
		was, wasKnown := f.Number(a)
		is, isKnown := f.Number(b)
		return wasKnown == isKnown && was == is
	case KindForces:
		return f.Forces(a).Text() == f.Forces(b).Text()
	}
	return false
}

// Field gives the table's field of that name, nil where there is none.
func (t *Table[T]) Field(name string) *Field[T] {
	for i := range t.Fields {
		if t.Fields[i].Name == name {
			return &t.Fields[i]
		}
	}
	return nil
}

// check reports what is wrong with the value of a field of the part itself: a
// length or a word that is missing, or a length that can't be.
func (f *Field[T]) check(t *T, faults *fault.List) {
	switch f.Kind {
	case KindLength:
		if f.Needed && f.Zero == ZeroUnknown {
			mount.NeedLength(faults, f.Name, f.LengthOf(t))
		} else {
			mount.CheckLength(faults, f.Name, f.LengthOf(t))
		}
	case KindOneOf:
		if f.Needed && f.Word(t) == "" {
			faults.Add("/"+f.Name, wordMissing, note.Word("words", strings.Join(f.Choices(), ", ")))
		}
	case KindText, KindSigned, KindMoney, KindYesNo, KindListOf, KindThread, KindNumber, KindForces:
		// These have no check of their own.
	}
}
