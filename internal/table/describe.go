package table

import (
	"slices"
	"strings"

	"midstroke/internal/catalog"
	"midstroke/internal/mount"
)

// A Sheet describes one table of a catalogue's files, as people fill it in.
type Sheet struct {
	// Name is that of the sheet, and of the file without its ending.
	Name string
	// Item is what one row is.
	Item    string
	Columns []SheetColumn
}

// File is the name of the CSV file.
func (s *Sheet) File() string { return s.Name + ".csv" }

// A SheetColumn describes one column.
type SheetColumn struct {
	// Header is the column's name as files are written.
	Header string
	Needed bool
	// Description says what the column is for, and Cells what its cells hold.
	Description, Cells string
	// Words are the values to choose from, nil where there are others, too.
	Words []string
}

// Sheets describes the tables of a catalogue's files in their order.
func Sheets() []Sheet {
	return []Sheet{
		describe(catalog.SettingsTable()), describe(catalog.DamperTable()), describe(catalog.SleeveTable()),
		describe(catalog.SpacerTable()), describe(catalog.AdapterTable()),
	}
}

func describe[T any](kind *catalog.Table[T]) Sheet {
	s := Sheet{Name: kind.Name, Item: kind.Item}
	for _, f := range columns(kind) {
		s.Columns = append(s.Columns, SheetColumn{header(f), f.Needed, f.Description + ofWhich(f.Group, f.Member()), cellsOf(f), wordsOf(f)})
	}
	return s
}

// ofWhich says of a field of an end which end that is, and which style it must have.
func ofWhich(group, member string) string {
	if group == "" {
		return ""
	}
	for _, m := range mount.Measures() {
		if m.Name == member {
			return "; of the " + group + " end, where its style is " + m.Style.String()
		}
	}
	return "; of the " + group + " end"
}

// cellsOf says what a column's cells hold.
func cellsOf[T any](f *catalog.Field[T]) string {
	switch f.Kind {
	case catalog.KindLength:
		return `a length with its unit, such as 438 mm or 17 1/4 in; or a bare number where the header ends in (mm) or (in)`
	case catalog.KindSigned:
		return "a number of either sign, in the unit that the header names"
	case catalog.KindMoney:
		return "an amount such as 84.50, without a currency's sign"
	case catalog.KindYesNo:
		return "yes or no; empty is no"
	case catalog.KindOneOf:
		return "one of: " + strings.Join(f.Choices(), ", ")
	case catalog.KindListOf:
		return `any of: ` + strings.Join(f.Choices(), ", ") + `; several are separated by "|"`
	case catalog.KindThread:
		return "a thread such as M12, M12x1.25, 1/2 in or 1/2-20 in"
	case catalog.KindNumber:
		return "a number"
	case catalog.KindForces:
		return `forces over velocity: velocity in m/s, compression/rebound in N; points are separated by ";", positions of the adjusters by "|", ` +
			"such as soft: 0.13 160/380; 0.39 290/690 | firm: 0.13 250/600; 0.39 430/1020"
	case catalog.KindText:
	}
	return "text"
}

// mostListed is the number of words in a list up to which every choice of them is
// offered.
const mostListed = 4

// wordsOf gives all values that a column's cells can have, nil where there are too
// many to choose from.
func wordsOf[T any](f *catalog.Field[T]) []string {
	words := f.Choices()
	switch {
	case f.Kind == catalog.KindYesNo:
		return []string{"yes", "no"}
	case f.Kind == catalog.KindOneOf:
		return words
	case f.Kind != catalog.KindListOf || len(words) > mostListed:
		return nil
	}
	var sets []string
	for set := 1; set < 1<<len(words); set++ {
		var chosen []string
		for i, word := range words {
			if set&(1<<i) != 0 {
				chosen = append(chosen, word)
			}
		}
		sets = append(sets, strings.Join(chosen, "|"))
	}
	slices.SortStableFunc(sets, func(a, b string) int { return strings.Count(a, "|") - strings.Count(b, "|") })
	return sets
}
