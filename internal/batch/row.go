package batch

import (
	"errors"
	"net/url"
	"slices"
	"strings"

	"midstroke/internal/fault"
	"midstroke/internal/fit"
	"midstroke/internal/form"
	"midstroke/internal/note"
	"midstroke/internal/table"
	"midstroke/internal/unit"
	"midstroke/internal/wire"
)

// answered is one row with its answer.
type answered struct {
	row table.Row
	// values are those that were picked, none where the row has a fault or is blank.
	values       []string
	fault, codes string
	named        bool // fault begins with the name of a column
	outcome      string
	cautions     []note.Note
	drawing      string
	asked        *asked // for a coverage
}

// answer answers one row.
func (b *Batch) answer(a *answered) {
	request, blank, faults := b.request(&a.row)
	if blank {
		return
	}
	if len(faults) == 0 {
		answer, found := fit.Find(&request.Fit, b.Snapshot)
		if len(found) == 0 {
			b.fill(a, answer, &request)
			return
		}
		faults = placed(&request, found)
	}
	b.refuse(a, faults, request.Units)
}

// fill fills in what was found.
func (b *Batch) fill(a *answered, answer *fit.Answer, request *wire.FitsRequest) {
	a.outcome, a.cautions = answer.Outcome.String(), answer.Cautions
	a.values = b.Picks.Append(make([]string, 0, len(b.Picks)), answer, request, b.Edition, b.Language)
	if len(answer.Fits) > 0 {
		a.drawing = strokeDrawing(answer.Fits[0].RidePosition)
	}
}

// request reads the request of a row. blank says that no cell of it is filled in.
func (b *Batch) request(row *table.Row) (r wire.FitsRequest, blank bool, faults fault.List) {
	values, blank, faults := b.values(row)
	if blank || len(faults) > 0 {
		return r, blank, faults
	}
	r, err := wire.ReadFitsQuery(values)
	return r, false, listOf(err)
}

// values reads the flat values of a row's request.
func (b *Batch) values(row *table.Row) (values url.Values, blank bool, faults fault.List) {
	if row.Fault != nil {
		return nil, false, fault.List{*row.Fault}
	}
	values = url.Values{}
	if b.rows.Kind == table.RowsOfObjects {
		blank = b.readMembers(row.Members, values, &faults)
	} else {
		blank = b.readCells(row, values, &faults)
	}
	if blank || len(faults) > 0 {
		return nil, blank, faults
	}
	for name, all := range b.Defaults {
		if _, given := values[name]; !given {
			values[name] = all
		}
	}
	if _, given := values["top"]; !given {
		values.Set("top", "1") // only the best one goes into the row
	}
	return values, false, nil
}

// readCells takes the request out of the cells of a row.
func (b *Batch) readCells(row *table.Row, values url.Values, faults *fault.List) (blank bool) {
	blank = true
	if n := len(row.Cells); n != len(b.columns) && b.rows.Kind == table.RowsOfCSV {
		*faults = append(*faults, *table.CellsFault(n, len(b.columns)))
		return false
	}
	for i, text := range row.Cells {
		if text == "" || i >= len(b.columns) || b.columns[i].earlier {
			continue
		}
		blank = false
		c := &b.columns[i]
		if c.name == nil {
			continue
		}
		bad := row.Odd[i]
		if bad == nil {
			bad = b.putCell(c, values, text)
		}
		if bad != nil {
			f := *bad
			f.Parameter = c.header
			*faults = append(*faults, f)
		}
	}
	return blank
}

// putCell puts a filled cell among the values, unless it says what to answer from.
func (b *Batch) putCell(c *column, values url.Values, text string) *fault.Fault {
	if name := c.name.Name; name == catalogName || name == revisionName {
		return b.otherEdition(name, text)
	}
	c.put(values, text)
	return nil
}

// readMembers takes the request out of the members of an object.
func (b *Batch) readMembers(members []table.Member, values url.Values, faults *fault.List) (blank bool) {
	given := func(name string) bool {
		return b.Defaults.Has(name) || slices.ContainsFunc(members, func(m table.Member) bool { return m.Name == name })
	}
	blank = true
	for i := range members {
		m := &members[i]
		c := b.columnOf(m.Name, given)
		if c.earlier {
			continue
		}
		blank = blank && m.Text == "" && !m.Nested
		var bad *fault.Fault
		switch {
		case c.ofAxle:
			bad = &fault.Fault{Code: memberOfAxle, Values: []note.Value{note.Word("near", c.near), note.Word("name", m.Name)}}
		case c.near != "":
			bad = &fault.Fault{Code: memberNear, Values: []note.Value{note.Word("near", c.near), note.Word("name", m.Name)}}
		case c.strayUnits() != nil:
			bad = &fault.Fault{Code: unitsStray, Values: c.strayUnits()}
		case c.name == nil || m.Text == "" && !m.Nested:
		case m.Nested:
			bad = &fault.Fault{Code: nested}
		default:
			bad = b.putCell(&c, values, m.Text)
		}
		if bad != nil {
			f := *bad
			f.Parameter = m.Name
			*faults = append(*faults, f)
		}
	}
	return blank
}

// placed gives the faults that the core found under the names of columns.
func placed(r *wire.FitsRequest, found fault.List) fault.List { return listOf(r.Place(found)) }

// listOf gives the faults of a request that was refused.
func listOf(err error) fault.List {
	var refused *wire.Refused
	if !errors.As(err, &refused) {
		return nil // there is no other error
	}
	return refused.Faults
}

// refuse fills in what is wrong with a row.
func (b *Batch) refuse(a *answered, faults fault.List, units unit.System) {
	var texts, codes []string
	for i := range faults {
		f := &faults[i]
		if better := table.Diagnose(f.Value); better != nil && f.Parameter != "" {
			f.Code, f.Values = better.Code, better.Values
		}
		text, named := inWords(f, b.Language, units)
		texts, a.named = append(texts, text), a.named || named && i == 0
		if code := f.Code.Public(); !slices.Contains(codes, code) {
			codes = append(codes, code)
		}
	}
	a.fault, a.codes = strings.Join(texts, "; "), strings.Join(codes, "|")
}

// inWords says where a fault is, what it is, and what to do about it. named says that the
// text begins with the name of a column.
func inWords(f *fault.Fault, language string, units unit.System) (text string, named bool) {
	text = f.Text(language, units)
	// "lower is missing" names its column itself.
	if at := f.Place.Text(language); at != "" && f.Code != form.Missing {
		text, named = at+": "+text, true
	} else if at != "" {
		named = strings.HasPrefix(text, at)
	}
	if cure := f.Cure(language, units); cure != "" {
		text += " (" + cure + ")"
	}
	return text, named
}

// drawingCells is how many characters the drawing of a stroke has.
const drawingCells = 21

// strokeDrawing draws a stroke as one line: compressed at the left, extended at the
// right, and a dot where the vehicle rides.
func strokeDrawing(ride float64) string {
	at := max(0, min(drawingCells-1, int(ride*drawingCells)))
	return "├" + strings.Repeat("─", at) + "●" + strings.Repeat("─", drawingCells-1-at) + "┤"
}
