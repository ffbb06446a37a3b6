package batch

import (
	"io"
	"slices"
	"strconv"
	"strings"

	"midstroke/internal/form"
	"midstroke/internal/guide"
	"midstroke/internal/mount"
	"midstroke/internal/note"
	"midstroke/internal/table"
	"midstroke/internal/unit"
	"midstroke/internal/wire"
)

// templateColumn is a column of the workbook that people fill in.
type templateColumn struct {
	name string // a flat name, or that of a column that is only kept
	note note.Code
	end  string // whose column it is
}

// templateColumns are the columns of the workbook. Others may be added, for every flat
// name is one.
var templateColumns = slices.Concat([]templateColumn{
	{name: "vehicle", note: "column_vehicle"}, {name: "units", note: "column_units"},
}, endColumns("upper"), endColumns("lower"), []templateColumn{
	{name: "readings_left", note: "column_readings_left"}, {name: "readings_right", note: "column_readings_right"},
	{name: "reading_tolerance", note: "column_reading_tolerance"}, {name: "suspension", note: "column_suspension"},
	{name: "limits_in_stock", note: "column_in_stock"}, {name: "limits_max_body_diameter", note: "column_max_body_diameter"},
	{name: WeightColumn, note: "column_weight"},
})

func endColumns(end string) []templateColumn {
	return []templateColumn{
		{end, "column_style", end}, {end + "_measured_to", "column_measured_to", end}, {end + "_bolt", "column_bolt", end},
		{end + "_opening", "column_opening", end}, {end + "_plate", "column_plate", end},
		{end + "_bushing_thickness", "column_bushing_thickness", end}, {end + "_washer_thickness", "column_washer_thickness", end},
		{end + "_bar_offset", "column_bar_offset", end}, {end + "_hole_spacing", "column_hole_spacing", end},
	}
}

// neededColumns are those that must be filled in for an answer.
var neededColumns = []string{"units", "upper", "lower", "readings_left", "suspension"}

// templateExamples are rows of the workbook, by flat name. They are invented.
var templateExamples = map[unit.System][]map[string]string{
	unit.Inches: {
		{"vehicle": "1", "upper": "stud", "upper_measured_to": "frame_face", "upper_bushing_thickness": "3/8", "upper_washer_thickness": "1/16", "lower": "eye", "lower_bolt": "M12", "lower_opening": "1 1/2", "lower_plate": "3/16", "readings_left": "16 5/8 | 16 9/16", "readings_right": "16 11/16", "reading_tolerance": "1/16", "suspension": "solid_axle", "limits_in_stock": "yes"},
		{"vehicle": "2", "upper": "eye", "lower": "eye", "readings_left": "17 5/16", "readings_right": "17 1/4", "suspension": "independent", "limits_max_body_diameter": "3", "weight": "4"},
	},
	unit.Millimetres: {
		{"vehicle": "1", "upper": "stud", "upper_measured_to": "frame_face", "upper_bushing_thickness": "9.5", "upper_washer_thickness": "1.5", "lower": "eye", "lower_bolt": "M12", "lower_opening": "38", "lower_plate": "5", "readings_left": "422 | 421", "readings_right": "424", "reading_tolerance": "1.5", "suspension": "solid_axle", "limits_in_stock": "yes"},
		{"vehicle": "2", "upper": "eye", "lower": "eye", "readings_left": "440", "readings_right": "438", "suspension": "independent", "limits_max_body_diameter": "76", "weight": "4"},
	},
}

// Template writes a workbook to fill in: its columns, how to measure, and cells that ask
// the service at an address. Lengths in its texts and examples are in units.
func Template(w io.Writer, language string, units unit.System, address string) error {
	term := func(word string) string { return note.Term(language, word) }
	b := table.FormBook{FormSheet: term("sheet_vehicles"), GuideSheet: term("sheet_measuring"), AskSheet: term("sheet_cells")}
	for _, c := range templateColumns {
		b.Columns = append(b.Columns, c.form(language, units))
	}
	for _, example := range templateExamples[units] {
		row := make([]string, len(templateColumns))
		for i, c := range templateColumns {
			row[i] = example[c.name]
		}
		row[0] = term("example") + " " + row[0]
		row[1] = units.String()
		b.Examples = append(b.Examples, row)
	}
	b.Lines = guideLines(language, units)
	b.Asks = askLines(language, units, address)
	return table.WriteFormBook(w, &b)
}

// form says of a column what people see.
func (c *templateColumn) form(language string, units unit.System) table.FormColumn {
	n := note.New(c.note)
	if c.end != "" {
		n = note.New(c.note, note.Word("end", c.end))
	}
	f := table.FormColumn{Header: c.name, Note: n.Text(language, units), Words: wordsOf(c.name), Needed: slices.Contains(neededColumns, c.name)}
	if f.Words != nil {
		choice := note.New("column_words", note.Word("words", strings.Join(f.Words, ", ")))
		f.WordsNote = choice.Text(language, units)
	}
	return f
}

// wordsOf gives the words to choose from for a flat name, nil for one that has others.
func wordsOf(name string) []string {
	if !wire.FlatForm().Has(name) {
		return nil
	}
	switch about := wire.FlatForm().Find(name).Field; about.Kind {
	case form.KindChoice:
		return about.Options
	case form.KindFlag:
		return []string{"yes", "no"}
	case form.KindText, form.KindLength, form.KindNumber, form.KindWhole, form.KindMeasure, form.KindList, form.KindRecord:
	}
	return nil
}

// guideLines tell how to measure. Steps that depend on how an end is made are told for
// each style in turn.
func guideLines(language string, units unit.System) []table.GuideLine {
	var guides []guide.Guide
	for _, name := range mount.Styles.All() {
		style, _ := mount.Styles.Parse(name)
		if g, _ := guide.For(guide.End{Style: style}, guide.End{Style: style}); len(g.Outside) == 0 {
			guides = append(guides, g)
		}
	}
	var lines []table.GuideLine
	add := func(of string, n note.Note, fields []string) {
		lines = append(lines, table.GuideLine{Of: of, Text: n.Text(language, units), Columns: strings.Join(flatNames(fields), ", ")})
	}
	lines = append(lines, table.GuideLine{Heading: note.Term(language, "guide_before")})
	for _, n := range guides[0].Cautions {
		add("", n, nil)
	}
	lines = append(lines, table.GuideLine{}, table.GuideLine{Heading: note.Term(language, "guide_steps")})
	told := make([]int, len(guides)) // how many steps of each guide are told
	for _, step := range guides[0].Steps {
		if !inEach(guides, step) {
			continue
		}
		for i := range guides {
			for ; told[i] < len(guides[i].Steps) && !same(guides[i].Steps[told[i]], step); told[i]++ {
				own := guides[i].Steps[told[i]]
				add(note.Term(language, guides[i].Upper.Style.String()), own.Note, own.Fields)
			}
			told[i]++
		}
		add("", step.Note, step.Fields)
	}
	lines = append(lines, table.GuideLine{}, table.GuideLine{Heading: note.Term(language, "guide_columns")})
	for _, code := range []note.Code{"columns_lists", "columns_lengths", "columns_others", "columns_more"} {
		add("", note.New(code), nil)
	}
	return lines
}

// inEach says whether all guides have a step.
func inEach(guides []guide.Guide, step guide.Step) bool {
	return !slices.ContainsFunc(guides, func(g guide.Guide) bool {
		return !slices.ContainsFunc(g.Steps, func(s guide.Step) bool { return same(s, step) })
	})
}

// same says whether two steps are told alike.
func same(a, b guide.Step) bool { return a.Code == b.Code && slices.Equal(a.Values, b.Values) }

// flatNames gives the columns of fields, which are named by their paths.
func flatNames(paths []string) (names []string) {
	for _, path := range paths {
		pointer := "/" + strings.ReplaceAll(path, ".", "/")
		for i := range wire.FlatForm().All() {
			if name := &wire.FlatForm().All()[i]; name.Pointer == pointer && !slices.Contains(names, name.Name) {
				names = append(names, name.Name)
			}
		}
	}
	return names
}

// askedNames are the flat names that have a cell, with the values that it begins with.
var askedNames = map[unit.System][][2]string{
	unit.Inches:      {{"upper", "eye"}, {"lower", "eye"}, {"readings", "17 5/16"}, {"suspension", "solid_axle"}},
	unit.Millimetres: {{"upper", "eye"}, {"lower", "eye"}, {"readings", "440"}, {"suspension", "solid_axle"}},
}

// picked are the values that cells ask for.
var picked = []struct {
	path   string
	number bool
}{
	{"outcome", false}, {"damper.code", false}, {"grade", false}, {"margin.compression", true}, {"margin.extension", true}, {"ride_position", true}, {"total.amount", true},
}

// askLines are the cells that ask the service. Names are their places in the sheet.
func askLines(language string, units unit.System, address string) []table.AskLine {
	text := func(code note.Code) string {
		n := note.New(code)
		return n.Text(language, units)
	}
	term := func(word string) string { return note.Term(language, word) }
	lines := []table.AskLine{
		{Heading: term("cells_service"), Hint: text("cells_allow")},
		{Label: term("cells_address"), Value: address, Hint: text("cells_address_hint")},
		{Label: term("cells_key"), Hint: text("cells_key_hint")},
		{},
		{Heading: term("cells_vehicle")},
		{Label: "units", Value: units.String(), Words: wordsOf("units"), Hint: text("cells_entry_hint")},
	}
	last := func() string { return "B" + strconv.Itoa(len(lines)) }
	base, key := "B2", "B3"
	query := `"units="&_xlfn.ENCODEURL(` + last() + ")"
	for _, asked := range askedNames[units] {
		lines = append(lines, table.AskLine{Label: asked[0], Value: asked[1], Words: wordsOf(asked[0])})
		query += `&"&` + asked[0] + `="&_xlfn.ENCODEURL(` + last() + ")"
	}
	query += `&IF(` + key + `="","","&key="&_xlfn.ENCODEURL(` + key + `))`
	lines = append(lines, table.AskLine{}, table.AskLine{Heading: term("cells_answer"), Hint: text("cells_number_hint")},
		table.AskLine{Label: term("cells_query"), Formula: query})
	asked := last()
	for _, p := range picked {
		lines = append(lines, table.AskLine{
			Label: p.path, Number: p.number,
			Formula: `_xlfn.WEBSERVICE(` + base + `&"/v1/fits?format=text&errors=text&pick=` + p.path + `&"&` + asked + `)`,
		})
	}
	return lines
}
