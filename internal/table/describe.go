package table

import (
	"slices"
	"strings"

	"midstroke/internal/catalog"
	"midstroke/internal/mount"
	"midstroke/internal/note"
	"midstroke/internal/unit"
)

// english is the language of the words in files.
const english = "en"

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
	// Description says what the column is for, and Cells what its cells hold, in the
	// reader's language.
	Description, Cells string
	// Words are the values to choose from, nil where there are others, too.
	Words []string
}

// Sheets describes the tables of a catalogue's files in their order, to readers of a
// language.
func Sheets(language string) []Sheet {
	return []Sheet{
		describe(catalog.SettingsTable(), language), describe(catalog.DamperTable(), language), describe(catalog.SleeveTable(), language),
		describe(catalog.SpacerTable(), language), describe(catalog.AdapterTable(), language),
	}
}

func describe[T any](kind *catalog.Table[T], language string) Sheet {
	s := Sheet{Name: kind.Name, Item: kind.Item}
	for _, f := range columns(kind) {
		about := note.New(f.About)
		description := ofWhich(about.Text(language, unit.Unset), f.Group, f.Member(), language)
		s.Columns = append(s.Columns, SheetColumn{header(f), f.Needed, description, cellsOf(f, language), wordsOf(f)})
	}
	return s
}

// ofWhich adds to what is said of a field of an end which end that is, and which style
// it must have.
func ofWhich(about, group, member, language string) string {
	var code note.Code
	switch group {
	case "":
		return about
	case "from":
		code = "field_of_from"
	case "to":
		code = "field_of_to"
	default:
		code = "field_of_end"
	}
	n := note.New(code, note.Word("about", about), note.Word("end", group))
	for _, m := range mount.Measures() {
		if m.Name == member {
			n.Values = append(n.Values, note.Word("style", explained(m.Style.String(), language)))
		}
	}
	return n.Text(language, unit.Unset)
}

// cellCodes say what the cells of a column of each kind hold.
var cellCodes = map[catalog.Kind]note.Code{
	catalog.KindText: "cell_text", catalog.KindLength: "cell_length", catalog.KindSigned: "cell_signed",
	catalog.KindMoney: "cell_money", catalog.KindYesNo: "cell_yes_no", catalog.KindOneOf: "cell_one_of",
	catalog.KindListOf: "cell_list_of", catalog.KindThread: "cell_thread", catalog.KindNumber: "cell_number",
	catalog.KindForces: "cell_forces",
}

// cellsOf says what a column's cells hold.
func cellsOf[T any](f *catalog.Field[T], language string) string {
	var words []string
	for _, word := range f.Choices() {
		words = append(words, explained(word, language))
	}
	n := note.New(cellCodes[f.Kind], note.Word("words", strings.Join(words, ", ")))
	return n.Text(language, unit.Unset)
}

// explained puts the reader's word behind one that files hold, which is English.
func explained(word, language string) string {
	if term := note.Term(language, word); language != english && term != word {
		return word + " (" + term + ")"
	}
	return word
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
