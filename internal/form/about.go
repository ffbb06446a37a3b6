package form

// Kind says what a field holds.
type Kind string

// The kinds.
const (
	KindText   Kind = "text"
	KindLength Kind = "length"
	KindNumber Kind = "number"
	// KindMeasure is a number, or a text with its own unit.
	KindMeasure Kind = "measure"
	KindWhole   Kind = "whole" // number
	KindFlag    Kind = "flag"
	KindChoice  Kind = "choice"
	KindList    Kind = "list"
	KindRecord  Kind = "record"
)

// Sign is which lengths a field takes.
type Sign uint8

// The signs.
const (
	Positive Sign = iota
	ZeroOrMore
	AnySign
)

// Span bounds a number: from Least to Most, without Least where Above and
// without Most where Below.
type Span struct {
	Least, Most  float64
	Above, Below bool
}

func (s Span) holds(n float64) bool {
	return (n > s.Least || !s.Above && n == s.Least) && (n < s.Most || !s.Below && n == s.Most)
}

// About is what a table says of a field: for the flat names, the web pages and
// the test that holds the table against the contract.
type About struct {
	Name string
	Kind Kind

	Sign    Sign     // of a length
	Span    Span     // of a number, a whole number or a measure
	Units   Measure  // of a measure
	Options []string // of a choice
	// Least and Most bound the characters of a text or the entries of a list.
	Least, Most int
	// Item is what the entries of a list are.
	Item *About
	// Fields are those of a record. An entry of a list that has Fields and is no
	// record may be written either way: as the first of the fields alone, or as
	// the record.
	Fields []About

	// Needed says that the field must be there, wherever it applies.
	Needed bool
	// Decides says that the other fields of the record, and of the records in
	// it, apply by this one's value. A record has at most one such field.
	Decides bool
	// Default is the value that a deciding field counts as where it isn't given; ""
	// for none.
	Default string
	// Short says that its flat name is that of its record.
	Short bool
	// With are the values of the deciding field that the field applies with; it
	// applies with all where there are none.
	With []string
}
