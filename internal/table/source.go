package table

// mostRowBytes bounds what one row may hold, so that a quote which is never
// closed doesn't take a whole file into memory.
const mostRowBytes = 1 << 20

// A source gives the rows of one table one at a time, whatever it is written
// in.
type source interface {
	row
	// next gives the cells of the next row without blanks around them,
	// io.EOF after the last. They are good until the next call. A *broken is
	// the file's fault, any other error is of reading itself.
	next() ([]string, error)
}

// A row is what a source can tell of the row that it gave last.
type row interface {
	// at says where the cell at a place stands, and where the row does for
	// noPlace.
	at(place int) spot
	// odd lists cells that hold no plain value, such as a date.
	odd() []oddity
}

// noPlace stands for a row as a whole.
const noPlace = -1

// An oddity is a cell that holds no plain value.
type oddity struct {
	place int
	trouble
}

// broken is what is wrong with a row that can't be taken apart.
type broken struct {
	trouble
	spot
	// end says that nothing behind it can be read either.
	end bool
}

func (b *broken) Error() string { return b.detail }

// A line gathers the cells of a row, all of which are one text in the end.
type line struct {
	text  []byte
	ends  []int
	cells []string
}

func (l *line) reset() { l.text, l.ends = l.text[:0], l.ends[:0] }

// end ends the cell to which text was appended.
func (l *line) end() { l.ends = append(l.ends, len(l.text)) }

// cut gives the cells. They are good until the next call, their texts for
// ever.
func (l *line) cut() []string {
	text, start := string(l.text), 0
	l.cells = l.cells[:0]
	for _, end := range l.ends {
		l.cells = append(l.cells, text[start:end])
		start = end
	}
	return l.cells
}
