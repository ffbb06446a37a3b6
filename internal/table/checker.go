package table

import (
	"errors"
	"fmt"
	"slices"
	"strconv"

	"midstroke/internal/unit"
)

// A checker takes in the rows of one kind, from however many tables, finds
// what is wrong with them and hands on those without faults. Rows are written
// through one, too, so that nothing is written that would be refused.
type checker[T any] struct {
	kind[T]
	faults *Faults
	emit   func(*T) error // nil where rows are only checked
	codes  *codes
	memos  memos
	price  bool // whether any row has one
	hurt   bool // whether any fault was found
	rows   int64
	names  []string       // of all columns
	places map[string]int // of those names

	// The present table.
	from    origin
	width   int // cells of the header
	bound   []bound[T]
	unnamed []int // places under no name whose cells are all empty so far
	whole   bool  // the header is without faults

	// The present row.
	row     row
	cells   []string
	units   unit.System // of bare numbers under a header without a unit
	current T
	faulted bool
	bad     complain
}

func newChecker[T any](k kind[T], faults *Faults, emit func(*T) error) *checker[T] {
	c := &checker[T]{kind: k, faults: faults, emit: emit, codes: newCodes(), places: map[string]int{}}
	for i := range k.columns {
		c.names = append(c.names, k.columns[i].name)
		c.places[k.columns[i].name] = i
	}
	c.bad = func(column, code, detail, cure string) {
		place := c.placeOf(column)
		if place < 0 {
			c.fault(noPlace, column, "", trouble{code, detail, cure})
			return
		}
		c.fault(place, column, c.cells[place], trouble{code, detail, cure})
	}
	return c
}

// fault reports what is wrong at a place of the present row.
func (c *checker[T]) fault(place int, column, value string, t trouble) {
	c.faulted, c.hurt = true, true
	c.faults.add(c.from.fault(c.row.at(place), column, value, t))
}

func (c *checker[T]) placeOf(column string) int {
	for i := range c.bound {
		if c.bound[i].name == column {
			return c.bound[i].place
		}
	}
	return noPlace
}

// item gives what one row is, "damper".
func (c *checker[T]) item() string { return c.one }

// taken counts the rows, those with faults among them.
func (c *checker[T]) taken() int64 { return c.rows }

// hasPrices says whether any row had a price.
func (c *checker[T]) hasPrices() bool { return c.price }

func (c *checker[T]) columnNames() []string { return c.names }

func (c *checker[T]) place(name string) (place int, isList bool) {
	place, ok := c.places[name]
	if !ok {
		return noPlace, false
	}
	return place, c.columns[place].form == list
}

func (c *checker[T]) stranger(name string) trouble { return stranger(c.columns, name) }

// likeness counts how many of a header's names are the kind's columns, and
// says whether all are there that must be, of which there is at least one.
func (c *checker[T]) likeness(names map[string]bool) (known int, complete bool) {
	needed, missing := 0, 0
	for i := range c.columns {
		of := &c.columns[i]
		if names[of.name] {
			known++
		}
		if of.needed {
			needed++
			if !names[of.name] {
				missing++
			}
		}
	}
	return known, needed > 0 && missing == 0
}

// begin takes in a table's header, and says whether it names any column.
func (c *checker[T]) begin(o origin, header []string, r row) bool {
	c.from, c.row, c.width, c.faulted, c.unnamed = o, r, len(header), false, nil
	c.codes.begin(o)
	c.bound = bind(c.columns, header, func(column, value string, t trouble) {
		place := noPlace
		if value != "" {
			place = slices.Index(header, value)
		}
		c.fault(place, column, value, t)
	})
	for place, text := range header {
		if text == "" {
			c.unnamed = append(c.unnamed, place)
		}
	}
	// Under a header with faults no row is whole; they are read for their own
	// faults.
	c.whole = !c.faulted
	return len(c.bound) > 0
}

// take takes in the present row. Its error is emit's.
func (c *checker[T]) take(cells []string, units unit.System) error {
	c.units = units
	c.rows++
	if c.inspect(cells); c.faulted || !c.whole || c.emit == nil {
		return nil
	}
	return c.emit(&c.current)
}

// cellsOf counts cells in words.
func cellsOf(n int) string {
	if n == 1 {
		return "1 cell"
	}
	return strconv.Itoa(n) + " cells"
}

func isBlank(cells []string) bool { return !slices.ContainsFunc(cells, isFilled) }

func isFilled(cell string) bool { return cell != "" }

// inspect reads cells into the current row and finds its faults.
func (c *checker[T]) inspect(cells []string) {
	c.cells, c.current, c.faulted = cells, c.blank(), false
	if c.from.sheet != "" && !isBlank(cells[c.width:]) {
		c.unnamedCell(c.width + slices.IndexFunc(cells[c.width:], isFilled))
		return
	}
	if len(cells) < c.width || !isBlank(cells[c.width:]) {
		// What stands under which column would be a guess.
		c.fault(noPlace, "", "", trouble{
			"cells", fmt.Sprintf("the row has %s and the header %d", cellsOf(len(cells)), c.width),
			"look for a delimiter too many or too few; a cell that holds one goes in quotes",
		})
		return
	}
	odd := c.row.odd()
	for i := range c.bound {
		b := &c.bound[i]
		text := cells[b.place]
		if text == "" {
			if b.needed && !isOdd(odd, b.place) {
				c.fault(b.place, b.name, "", trouble{"missing", "this cell must be filled in", "write the " + c.one + "'s " + b.name})
			}
			continue
		}
		if len(odd) > 0 && isOdd(odd, b.place) {
			continue
		}
		units := b.units
		if units == unit.Unset {
			units = c.units
		}
		if t := b.read(&c.current, cell{text, units, &c.memos}); t != nil {
			c.fault(b.place, b.name, text, *diagnosed(text, t))
		}
	}
	c.checkOdd(odd)
	c.checkUnnamed()
	c.check(&c.current, c.bad)
	c.checkCode()
	if c.priced != nil && !c.price {
		c.price = c.priced(&c.current)
	}
}

func isOdd(odd []oddity, place int) bool {
	return slices.ContainsFunc(odd, func(o oddity) bool { return o.place == place })
}

// checkOdd reports the cells under a name that hold no plain value.
func (c *checker[T]) checkOdd(odd []oddity) {
	for _, o := range odd {
		for i := range c.bound {
			if b := &c.bound[i]; b.place == o.place {
				c.fault(o.place, b.name, c.cells[o.place], o.trouble)
			}
		}
	}
}

// checkUnnamed finds the first filled cell under no name at all.
func (c *checker[T]) checkUnnamed() {
	for i, place := range c.unnamed {
		if c.cells[place] != "" {
			c.unnamedCell(place)
			c.unnamed = slices.Delete(c.unnamed, i, i+1)
			return
		}
	}
}

func (c *checker[T]) unnamedCell(place int) {
	c.fault(place, "", c.cells[place], trouble{"column_unnamed", "this cell stands under no name", "name its column in the first row or empty it"})
}

// checkCode finds a code that another row has.
func (c *checker[T]) checkCode() {
	if c.code == nil || c.code(&c.current) == "" {
		return
	}
	line := c.row.at(c.placeOf("code")).line
	if o, first, twice := c.codes.add(c.code(&c.current), line); twice {
		c.bad("code", "code_twice", o.row(first, c.from)+" has the same code, but for case and blanks", "give every part a code of its own")
	}
}

// errStop ends a reading that its caller has had enough of.
var errStop = errors.New("no more rows are wanted")
