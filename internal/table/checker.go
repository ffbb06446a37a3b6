package table

import (
	"slices"
	"strings"

	"midstroke/internal/catalog"
	"midstroke/internal/fault"
	"midstroke/internal/note"
	"midstroke/internal/unit"
)

// A checker takes in the rows of one kind, from however many tables, reports
// what is wrong with them and passes on those without faults. Rows are written
// through one, too, so that nothing is written that would be refused.
type checker[T any] struct {
	kind   *catalog.Table[T]
	judged func(*T) fault.List
	fields []*catalog.Field[T]
	names  []string       // of all columns
	places map[string]int // of those names
	faults *Faults
	emit   func(*T) error // nil where rows are only checked
	codes  *codes
	caches caches
	rows   int64
	priced bool // some row has a price
	failed bool // some fault was found
	stored bool // the rows were taken before, whatever their codes look like

	// The present table.
	from    origin
	width   int // cells of the header
	bound   []boundColumn[T]
	unnamed []int // places under no name whose cells are all empty so far
	whole   bool  // the header is without faults

	// The present row.
	row     rowInfo
	cells   []string
	units   unit.System // of bare numbers under a header without a unit
	current T
	wrong   []string // the columns at fault, "" for the whole row
}

func newChecker[T any](kind *catalog.Table[T], faults *Faults, emit func(*T) error) *checker[T] {
	c := &checker[T]{kind: kind, judged: kind.Judge(), fields: columns(kind), faults: faults, emit: emit, codes: newCodes(), places: map[string]int{}}
	for i, f := range c.fields {
		c.names = append(c.names, f.Name)
		c.places[f.Name] = i
	}
	return c
}

// report reports a fault at a place of the present row.
func (c *checker[T]) report(place int, column string, f *fault.Fault) {
	value := ""
	if place >= 0 {
		value = c.cells[place]
	}
	c.failed = true
	c.wrong = append(c.wrong, column)
	c.faults.add(c.from.put(*f, c.row.at(place), column, value))
}

// placeOf gives the place of a column, wholeRow where the table hasn't got it.
func (c *checker[T]) placeOf(column string) int {
	for i := range c.bound {
		if c.bound[i].Name == column {
			return c.bound[i].place
		}
	}
	return wholeRow
}

func (c *checker[T]) table() string { return c.kind.Name }

func (c *checker[T]) item() string { return c.kind.Item }

func (c *checker[T]) taken() int64 { return c.rows }

func (c *checker[T]) hasPrices() bool { return c.priced }

func (c *checker[T]) columnNames() []string { return c.names }

func (c *checker[T]) column(name string) (place int, isList bool) {
	place, ok := c.places[name]
	if !ok {
		return wholeRow, false
	}
	return place, c.fields[place].Kind == catalog.KindListOf
}

func (c *checker[T]) unknownColumn(name string) *fault.Fault { return unknownColumn(c.fields, name) }

func (c *checker[T]) likeness(names map[string]bool) (known int, complete bool) {
	needed, missing := 0, 0
	for _, f := range c.fields {
		if names[f.Name] {
			known++
		}
		if f.Needed {
			needed++
			if !names[f.Name] {
				missing++
			}
		}
	}
	return known, needed > 0 && missing == 0
}

func (c *checker[T]) begin(o origin, header []string, r rowInfo) bool {
	c.from, c.row, c.width, c.cells = o, r, len(header), header
	c.wrong, c.unnamed = c.wrong[:0], nil
	c.codes.begin(o)
	c.bound = bind(c.fields, header, func(place int, column string, f *fault.Fault) {
		if place == wholeRow && column == "" { // no column at all
			all := strings.Join(header, ",")
			c.failed = true
			c.faults.add(o.put(*f, r.at(slices.Index(header, all)), "", all))
			return
		}
		c.report(place, column, f)
	})
	for place, text := range header {
		if text == "" {
			c.unnamed = append(c.unnamed, place)
		}
	}
	// Under a header with faults no row is whole; rows are still read for their
	// own faults.
	c.whole = len(c.wrong) == 0
	return len(c.bound) > 0
}

func (c *checker[T]) take(cells []string, units unit.System) error {
	c.units = units
	c.rows++
	if c.inspect(cells); len(c.wrong) > 0 || !c.whole || c.emit == nil {
		return nil
	}
	return c.emit(&c.current)
}

func isBlank(cells []string) bool { return !slices.ContainsFunc(cells, isFilled) }

func isFilled(cell string) bool { return cell != "" }

// inspect reads cells into the current row and finds its faults.
func (c *checker[T]) inspect(cells []string) {
	c.cells, c.current, c.wrong = cells, c.kind.Blank, c.wrong[:0]
	if c.from.sheet != "" && !isBlank(cells[c.width:]) {
		c.report(c.width+slices.IndexFunc(cells[c.width:], isFilled), "", problem(columnUnnamed))
		return
	}
	if len(cells) < c.width || !isBlank(cells[c.width:]) {
		// Which cell stands under which column would be a guess.
		c.report(wholeRow, "", problem(cellCount, note.Num("cells", float64(len(cells)), ""), note.Num("header", float64(c.width), "")))
		return
	}
	c.readCells()
	c.checkUnnamed()
	c.judge()
	c.checkCode()
	if c.kind.Price != nil && !c.priced {
		c.priced = *c.kind.Price(&c.current) != *c.kind.Price(&c.kind.Blank)
	}
}

// readCells reads the cells into the current row.
func (c *checker[T]) readCells() {
	odd := c.row.odd()
	for i := range c.bound {
		b := &c.bound[i]
		text := c.cells[b.place]
		if len(odd) > 0 {
			if i := slices.IndexFunc(odd, func(o oddCell) bool { return o.place == b.place }); i >= 0 {
				c.report(b.place, b.Name, odd[i].fault)
				continue
			}
		}
		if text == "" {
			if b.Needed {
				c.report(b.place, b.Name, problem(cellMissing, note.Word("item", c.kind.Item), note.Word("column", b.Name)))
			}
			continue
		}
		units := b.units
		if units == unit.Unset {
			units = c.units
		}
		if bad := read(b.Field, &c.current, cell{text, units, &c.caches}); bad != nil {
			c.report(b.place, b.Name, betterReason(text, bad))
		}
	}
}

// checkUnnamed finds the first filled cell under no name at all.
func (c *checker[T]) checkUnnamed() {
	for i, place := range c.unnamed {
		if c.cells[place] != "" {
			c.report(place, "", problem(columnUnnamed))
			c.unnamed = slices.Delete(c.unnamed, i, i+1)
			return
		}
	}
}

// judge asks the core what is wrong with the row, and reports it of the columns
// that have no fault yet.
func (c *checker[T]) judge() {
	found := c.judged(&c.current)
	for i := range found {
		column := strings.ReplaceAll(found[i].Pointer[1:], "/", "_")
		place := c.placeOf(column)
		f := fieldNamed(c.fields, column)
		switch {
		case slices.Contains(c.wrong, column):
		case place < 0 && f.Needed: // the header's fault
		case place >= 0 && f.Kind == catalog.KindText && c.cells[place] != "":
			c.report(place, column, betterReason(c.cells[place], &found[i]))
		default:
			c.report(place, column, &found[i])
		}
	}
}

// checkCode finds a code that is no longer what was typed, or that another row
// has.
func (c *checker[T]) checkCode() {
	if c.kind.Code == nil {
		return
	}
	code, place := *c.kind.Code(&c.current), c.placeOf("code")
	if code == "" || place < 0 {
		return
	}
	if isShortenedNumber(code) {
		c.report(place, "code", problem(codeShortened))
	} else if bad := codeTextFault(code, c.row.bare(place)); bad != nil && !c.stored && !slices.Contains(c.wrong, "code") {
		c.report(place, "code", bad)
	}
	if o, first, twice := c.codes.add(code, c.row.at(place).line); twice {
		c.report(place, "code", c.from.codeTwice(o, first))
	}
}
