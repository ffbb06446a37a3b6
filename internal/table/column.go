package table

import (
	"strings"
	"unicode/utf8"

	"midstroke/internal/fault"
	"midstroke/internal/unit"
)

// A column is one field of a kind of row, T, by its name: how it is read into
// a row and written out of one.
type column[T any] struct {
	name string
	// group is the name of the end that it belongs to, "" where it does to
	// none: JSON has an object for each end.
	group string
	form  form
	// needed says that the column must be there and every cell of it filled.
	needed bool
	// length says that its header may name a unit.
	length bool
	// bare says that it is written without a unit in its cells but with mm in
	// its header: a length that may be negative would look like a formula.
	bare bool
	// read puts a filled cell into a row.
	read func(*T, cell) *trouble
	// write gives the cell for a row, exactly, "" where it has no value.
	write func(*T, unit.System) string
}

// A form is what a column's cells are to software that reads them.
type form uint8

const (
	word   form = iota // a settled word, a length, a thread
	free               // a text of any kind
	list               // words parted by |
	yesNo              // yes or no
	amount             // a number
)

// header gives the column's name as it is written.
func (c *column[T]) header() string {
	if c.bare {
		return c.name + " (mm)"
	}
	return c.name
}

// A bound column has found its place in a file.
type bound[T any] struct {
	*column[T]
	place int
	units unit.System
}

// bind finds the columns of a header. It gives none where the header has no
// column at all that is known.
func bind[T any](columns []column[T], header []string, report func(column, value string, t trouble)) []bound[T] {
	var found []bound[T]
	taken := make(map[string]bool, len(columns))
	var strangers []struct{ name, text string }
	for place, text := range header {
		if !utf8.ValidString(text) {
			report("", text, notUTF8())
			continue
		}
		name, units, hasUnit, t := headerName(text)
		if name == "" && !hasUnit {
			continue // checked where a cell under it is filled
		}
		i := indexByName(columns, name)
		if i < 0 {
			strangers = append(strangers, struct{ name, text string }{name, text})
			continue
		}
		c := &columns[i]
		switch {
		case taken[name]:
			report(name, text, trouble{"column_twice", "this column stands twice", "leave one of the two out"})
			continue
		case t != nil:
			report(name, text, *t)
		case hasUnit && !c.length:
			report(name, text, trouble{"column_unit", "this column holds no lengths", "write its name without a unit"})
		}
		taken[name] = true
		found = append(found, bound[T]{c, place, units})
	}
	if len(found) == 0 {
		report("", strings.Join(header, ","), trouble{
			"header_missing", "the first row names none of the columns", "begin the file with a row that names its columns, as code",
		})
		return nil
	}
	for _, s := range strangers {
		report(s.name, s.text, stranger(columns, s.name))
	}
	for i := range columns {
		if c := &columns[i]; c.needed && !taken[c.name] {
			report(c.name, "", trouble{"column_missing", "this column must be there", "add it and fill it in on every row"})
		}
	}
	return found
}

// stranger says that no column has that name.
func stranger[T any](columns []column[T], name string) trouble {
	t := trouble{"column_unknown", "there is no such column", "leave it out, or see the list of columns for its right name"}
	names := make([]string, len(columns))
	for i := range columns {
		names[i] = columns[i].name
	}
	if near := fault.Nearest(name, names); near != "" {
		t.cure = "write " + near + " if that is meant, else leave the column out"
	}
	return t
}

// headerName takes a header's text apart: "Body diameter (mm)" is
// body_diameter in millimetres.
func headerName(text string) (name string, units unit.System, hasUnit bool, t *trouble) {
	name, inside, hasUnit := strings.Cut(tidy(text), "(")
	if hasUnit {
		word, ok := strings.CutSuffix(strings.TrimSpace(inside), ")")
		if units, hasUnit = unit.ParseSystem(strings.ToLower(strings.TrimSpace(word))); !ok || !hasUnit {
			t = &trouble{"column_unit", "the unit of this column can't be read", "write (in) or (mm) after its name"}
			hasUnit = true
		}
	}
	name = strings.Join(strings.FieldsFunc(strings.ToLower(name), func(r rune) bool {
		return r == ' ' || r == '_' || r == '-' || r == '\t' || r == '\n' || r == '\u00a0'
	}), "_")
	return name, units, hasUnit, t
}

func indexByName[T any](columns []column[T], name string) int {
	for i := range columns {
		if columns[i].name == name {
			return i
		}
	}
	return -1
}
