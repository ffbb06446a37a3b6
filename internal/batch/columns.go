package batch

import (
	"net/url"
	"slices"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"

	"midstroke/internal/fault"
	"midstroke/internal/form"
	"midstroke/internal/note"
	"midstroke/internal/table"
	"midstroke/internal/unit"
	"midstroke/internal/wire"
)

// AnswerPrefix begins the names of the columns that are added. A column of the file
// with such a name is one of an earlier answer, and is left out.
const AnswerPrefix = "answer_"

// The columns that say what is wrong with a row: in words, and by codes.
const (
	faultColumn = AnswerPrefix + "fault"
	codesColumn = AnswerPrefix + "fault_codes"
)

// The flat names that say what to answer from. All rows are answered from the same.
const (
	catalogName  = "catalog"
	revisionName = "revision"
)

// column is what a column of the file, or a member of an object, means.
type column struct {
	header  string
	name    *form.Name  // nil for one that is only kept
	units   unit.System // of bare numbers, where the header says them
	earlier bool        // of an earlier answer
	// near is the flat name that the column's looks like, and ofAxle says that the rest
	// of the name is that of an axle.
	near   string
	ofAxle bool
}

// needed are the names without which no row can be answered: one of each group.
var needed = [][]string{{"units"}, {"upper"}, {"lower"}, {"readings", "readings_left", "readings_right"}}

// columnOf says what a column means. given says which flat names there are.
func (b *Batch) columnOf(header string, given func(string) bool) column {
	name, units := table.ColumnName(header)
	one := column{header: header, units: units, earlier: strings.HasPrefix(name, AnswerPrefix)}
	if as, ok := b.ReadAs[name]; ok {
		name = as
	}
	switch {
	case one.earlier || name == "" || slices.Contains(b.Keep, name) || slices.Contains(b.Own, name):
	case wire.FlatForm().Has(name):
		one.name = wire.FlatForm().Find(name)
	default:
		if one.near = ofAxle(name); one.near != "" {
			one.ofAxle = true
		} else {
			one.near = b.likely.of(name).But(given)
		}
	}
	return one
}

// ofAxle gives the flat name in a name that is for one axle, such as "rear_upper" or
// "upper rear"; "" where there is none. A row is one axle: without a word such a column
// would be kept, and the axle left out of the answer.
func ofAxle(name string) string {
	for _, axle := range []string{"front", "rear"} {
		for _, base := range []string{
			strings.TrimPrefix(name, axle+"_axle_"), strings.TrimPrefix(name, axle+"_"),
			strings.TrimSuffix(name, "_"+axle+"_axle"), strings.TrimSuffix(name, "_"+axle),
		} {
			if base != name && wire.FlatForm().Has(base) {
				return base
			}
		}
	}
	return ""
}

// likely remembers what was likely meant by names that aren't the form's. Each object of
// a file tells its names again, and to compare one with the form's takes as long as to
// answer a row. It may be used by several goroutines.
type likely struct {
	byName sync.Map // string → *form.Likely
	many   atomic.Int32
}

// mostLikely is how many names are remembered. A file has few; one whose objects have ever
// new names mustn't fill the memory.
const mostLikely = 1000

func (l *likely) of(name string) *form.Likely {
	if found, ok := l.byName.Load(name); ok {
		return found.(*form.Likely)
	}
	found := wire.FlatForm().Likely(name)
	if l.many.Add(1) <= mostLikely {
		l.byName.Store(name, found)
	}
	return found
}

// planHeader finds out what the columns under the header mean, and what is wrong with them.
func (b *Batch) planHeader() (faults fault.List) {
	if len(b.rows.Header) > mostColumns {
		return fault.List{b.headerFault("", tooManyColumns, note.Num("most", mostColumns, ""))}
	}
	present := map[string]bool{}
	for _, header := range b.rows.Header {
		name, _ := table.ColumnName(header)
		present[name] = true
	}
	given := func(name string) bool { return present[name] || b.Defaults.Has(name) }
	taken := map[string]bool{}
	for _, header := range b.rows.Header {
		one := b.columnOf(header, given)
		switch {
		case one.ofAxle:
			faults = append(faults, b.headerFault(header, columnOfAxle, note.Word("near", one.near), note.Word("name", header)))
		case one.near != "":
			faults = append(faults, b.headerFault(header, columnNear, note.Word("near", one.near), note.Word("name", header)))
		case one.strayUnits() != nil:
			taken[one.name.Name] = true // it is there, and not missing as well
			faults = append(faults, b.headerFault(header, unitsStray, one.strayUnits()...))
		case one.name != nil && taken[one.name.Name]:
			faults = append(faults, b.headerFault(header, columnTwice, note.Word("name", one.name.Name)))
		case one.name != nil:
			taken[one.name.Name] = true
		}
		b.columns = append(b.columns, one)
	}
	if len(taken) == 0 {
		return append(faults, b.headerFault("", headerMissing))
	}
	for _, group := range needed {
		if !slices.ContainsFunc(group, func(name string) bool { return taken[name] || b.Defaults.Has(name) }) {
			faults = append(faults, b.headerFault("", columnMissing, note.Word("name", group[0])))
		}
	}
	return faults
}

// looksLikeRequests says whether a header names columns of a request.
func looksLikeRequests(header []string) bool {
	n := 0
	for _, text := range header {
		if name, _ := table.ColumnName(text); wire.FlatForm().Has(name) {
			n++
		}
	}
	return n >= 2
}

// put puts a cell among the values of a request.
func (c *column) put(values url.Values, text string) {
	about := &c.name.Field
	if !c.name.List {
		values[c.name.Name] = []string{c.plain(about, text)}
		return
	}
	var items []string
	for item := range strings.SplitSeq(text, "|") {
		if item = strings.TrimSpace(item); item != "" {
			items = append(items, c.plain(itemOf(about), item))
		}
	}
	values[c.name.Name] = items
}

// itemOf says what the entries of a list are. One that may be a record is read as the
// first of its fields.
func itemOf(list *form.About) *form.About {
	if len(list.Item.Fields) > 0 {
		return &list.Item.Fields[0]
	}
	return list.Item
}

// plain gives a text as a request has it: people write "Bar pin" and "yes", and a bare
// number may have its unit in the header.
func (c *column) plain(about *form.About, text string) string {
	switch about.Kind {
	case form.KindFlag:
		switch strings.ToLower(text) {
		case "yes", "y", "1":
			return "true"
		case "no", "n", "0":
			return "false"
		}
	case form.KindChoice:
		if settled := table.NormalisedWord(text); !slices.Contains(about.Options, text) && slices.Contains(about.Options, settled) {
			return settled
		}
	case form.KindWhole:
		// A spreadsheet's 10 may come as 10.0.
		if whole, ok := strings.CutSuffix(text, ".0"); ok {
			return whole
		}
	case form.KindLength, wire.KindBolt:
		if c.units != unit.Unset && strings.Trim(text, "+-0123456789./ ") == "" {
			return text + " " + c.units.String()
		}
	case form.KindText, form.KindNumber, form.KindMeasure, form.KindList, form.KindRecord:
	}
	return text
}

// strayUnits gives the values of the fault unitsStray where the header gives a unit that no value
// under it can have, else nil.
func (c *column) strayUnits() []note.Value {
	if c.name == nil || c.units == unit.Unset {
		return nil
	}
	about := &c.name.Field
	if c.name.List {
		about = itemOf(about)
	}
	if about.Kind == form.KindLength || about.Kind == wire.KindBolt {
		return nil
	}
	return []note.Value{note.Word("name", c.name.Name), note.Word("units", c.units.String())}
}

// otherEdition says that a row wants to be answered from something else.
func (c *Config) otherEdition(name, text string) *fault.Fault {
	from := []note.Value{note.Word("catalog", c.Edition.Name), note.Num("revision", float64(c.Edition.Revision), "")}
	switch {
	case name == catalogName && text != c.Edition.Name:
		return &fault.Fault{Code: otherCatalog, Values: from}
	case name == revisionName && text != strconv.Itoa(c.Edition.Revision):
		return &fault.Fault{Code: otherRevision, Values: from}
	}
	return nil
}
