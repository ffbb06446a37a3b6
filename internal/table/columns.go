package table

import (
	"strings"
	"unicode/utf8"

	"midstroke/internal/catalog"
	"midstroke/internal/fault"
	"midstroke/internal/note"
	"midstroke/internal/unit"
)

// columns are the fields of a table that files have a column for: all that are
// stored.
func columns[T any](t *catalog.Table[T]) []*catalog.Field[T] {
	var stored []*catalog.Field[T]
	for i := range t.Fields {
		if t.Fields[i].Stored() {
			stored = append(stored, &t.Fields[i])
		}
	}
	return stored
}

// header gives a column's name as it is written. A length that may be negative
// is written without a unit, for it would look like a formula; its header names
// the unit instead.
func header[T any](f *catalog.Field[T]) string {
	if f.Kind == catalog.KindSigned {
		return f.Name + " (mm)"
	}
	return f.Name
}

// A boundColumn is a field with its place in a file.
type boundColumn[T any] struct {
	*catalog.Field[T]
	place int
	units unit.System // that the header names
}

// bind finds the fields of a header and reports what is wrong with it. It finds
// none where the header has no column that is known.
func bind[T any](fields []*catalog.Field[T], header []string, report func(place int, column string, f *fault.Fault)) []boundColumn[T] {
	var found []boundColumn[T]
	var unknown []int
	taken := make(map[string]bool, len(fields))
	for place, text := range header {
		if !utf8.ValidString(text) {
			report(place, "", problem(notUTF8))
			continue
		}
		name, units, hasUnit, bad := headerName(text)
		if name == "" && !hasUnit {
			continue // checked where a cell under it is filled
		}
		f := fieldNamed(fields, name)
		switch {
		case f == nil:
			unknown = append(unknown, place)
			continue
		case taken[name]:
			report(place, name, problem(columnTwice))
			continue
		case bad:
			report(place, name, problem(columnUnit))
		case hasUnit && f.Kind != catalog.KindLength && f.Kind != catalog.KindSigned:
			report(place, name, problem(columnNoLength))
		}
		taken[name] = true
		found = append(found, boundColumn[T]{f, place, units})
	}
	if len(found) == 0 {
		report(wholeRow, "", problem(headerMissing))
		return nil
	}
	for _, place := range unknown {
		name, _, _, _ := headerName(header[place])
		report(place, name, unknownColumn(fields, name))
	}
	for _, f := range fields {
		if f.Needed && !taken[f.Name] {
			report(wholeRow, f.Name, problem(columnMissing))
		}
	}
	return found
}

// unknownColumn says that no column has that name, and which one is near.
func unknownColumn[T any](fields []*catalog.Field[T], name string) *fault.Fault {
	names := make([]string, len(fields))
	for i, f := range fields {
		names[i] = f.Name
	}
	if near := fault.Nearest(name, names); near != "" {
		return problem(columnNear, note.Word("near", near))
	}
	return problem(columnUnknown)
}

// headerName takes a header's text apart: "Body diameter (mm)" is
// body_diameter in millimetres. bad says that its unit can't be read.
func headerName(text string) (name string, units unit.System, hasUnit, bad bool) {
	name, inside, hasUnit := strings.Cut(tidy(text), "(")
	if hasUnit {
		word, closed := strings.CutSuffix(strings.TrimSpace(inside), ")")
		var known bool
		units, known = unit.ParseSystem(strings.ToLower(strings.TrimSpace(word)))
		bad = !closed || !known
	}
	name = strings.Join(strings.FieldsFunc(strings.ToLower(name), func(r rune) bool {
		return r == ' ' || r == '_' || r == '-' || r == '\t' || r == '\n' || r == '\u00a0'
	}), "_")
	return name, units, hasUnit, bad
}

func fieldNamed[T any](fields []*catalog.Field[T], name string) *catalog.Field[T] {
	for _, f := range fields {
		if f.Name == name {
			return f
		}
	}
	return nil
}
