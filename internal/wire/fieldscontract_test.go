package wire_test

import (
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"
	"testing"

	"midstroke/internal/form"
	"midstroke/internal/mount"
	"midstroke/internal/wire"
)

// TestRequestFieldsAreTheContracts holds the tables of request fields against the
// contract's schemas in both directions: the same fields with the same types,
// bounds and options, needed alike, for the same values of the field that
// decides.
func TestRequestFieldsAreTheContracts(t *testing.T) {
	c := readContract(t)
	for schema, fields := range wire.RequestFields() {
		c.compareFields(t, schema, fields, "", c.alternatives(map[string]any{"$ref": "#/components/schemas/" + schema}))
	}
}

// compareFields holds the fields of one record against its schemas; decided is
// the value of the deciding field around it, "" where there is none.
func (c contract) compareFields(t *testing.T, at string, fields []form.About, decided string, schemas []map[string]any) {
	t.Helper()
	if len(schemas) == 0 {
		t.Errorf("%s: the contract has no such record", at)
		return
	}
	for _, s := range schemas {
		if s["additionalProperties"] != false {
			t.Errorf("%s: the contract's record is open", at)
		}
	}
	if len(fields) > 0 && fields[0].Decides {
		var told []string
		for _, s := range schemas {
			for _, v := range propertiesOf(s)[fields[0].Name].(map[string]any)["enum"].([]any) {
				told = append(told, v.(string))
			}
		}
		slices.Sort(told)
		if told = slices.Compact(told); !slices.Equal(told, slices.Sorted(slices.Values(fields[0].Options))) {
			t.Errorf("%s/%s: %v in the contract, %v in the table", at, fields[0].Name, told, fields[0].Options)
		}
		for _, value := range told {
			c.compareRecord(t, at+"("+value+")", fields, value, slices.DeleteFunc(slices.Clone(schemas), func(s map[string]any) bool {
				return !slices.Contains(propertiesOf(s)[fields[0].Name].(map[string]any)["enum"].([]any), any(value))
			}))
		}
		return
	}
	c.compareRecord(t, at, fields, decided, schemas)
}

func propertiesOf(schema map[string]any) map[string]any {
	properties, _ := schema["properties"].(map[string]any)
	return properties
}

// compareRecord holds the fields that apply with one value against the schemas
// for it. A field is needed where each of the schemas needs it.
func (c contract) compareRecord(t *testing.T, at string, fields []form.About, decided string, schemas []map[string]any) {
	t.Helper()
	told := map[string][]map[string]any{}
	for _, s := range schemas {
		for name, property := range propertiesOf(s) {
			told[name] = append(told[name], property.(map[string]any))
		}
	}
	for i := range fields {
		f := &fields[i]
		properties, here := told[f.Name]
		delete(told, f.Name)
		if applies := len(f.With) == 0 || slices.Contains(f.With, decided); applies != here {
			t.Errorf("%s/%s: in the table %t, in the contract %t", at, f.Name, applies, here)
			continue
		} else if !applies {
			continue
		}
		needed := true
		for _, s := range schemas {
			required, _ := s["required"].([]any)
			needed = needed && slices.Contains(required, any(f.Name))
		}
		// A field that decides may be left out for its default alone.
		if want := f.Needed || f.Decides && f.Default != "" && decided != f.Default; needed != want {
			t.Errorf("%s/%s: needed %t in the table, %t in the contract", at, f.Name, want, needed)
		}
		var flat []map[string]any
		for _, p := range properties {
			flat = append(flat, c.alternatives(p)...)
		}
		c.compareField(t, at+"/"+f.Name, f, decided, flat)
	}
	for _, name := range slices.Sorted(maps.Keys(told)) {
		t.Errorf("%s/%s: only in the contract", at, name)
	}
}

// compareField holds one field against the schemas of its alternatives.
func (c contract) compareField(t *testing.T, at string, f *form.About, decided string, schemas []map[string]any) {
	t.Helper()
	switch {
	case f.Kind == form.KindRecord:
		c.compareFields(t, at, f.Fields, decided, schemas)
		return
	case len(f.Fields) > 0: // a value, or a record that begins with it
		records := slices.DeleteFunc(slices.Clone(schemas), func(s map[string]any) bool { return s["type"] != "object" })
		c.compareFields(t, at, f.Fields, decided, records)
		schemas = slices.DeleteFunc(slices.Clone(schemas), func(s map[string]any) bool { return s["type"] == "object" })
	case f.Kind == form.KindList:
		c.compareList(t, at, f, decided, schemas)
		return
	case f.Kind == form.KindChoice:
		var options []string
		for _, s := range schemas {
			enum, _ := s["enum"].([]any)
			for _, v := range enum {
				if !slices.Contains(options, v.(string)) {
					options = append(options, v.(string))
				}
			}
		}
		if want := optionsOf(f, decided); !f.Decides && !slices.Equal(slices.Sorted(slices.Values(options)), slices.Sorted(slices.Values(want))) {
			t.Errorf("%s: %v in the contract, %v in the table", at, options, want)
		}
		return
	}
	if got, want := typeOf(schemas), typeWanted(f); got != want {
		t.Errorf("%s: %s in the contract, %s in the table", at, got, want)
	}
}

// optionsOf gives the options that a choice has with one value of the deciding
// field: all of them, but that each style has planes of its own.
func optionsOf(f *form.About, decided string) []string {
	if f.Name != "measured_to" {
		return f.Options
	}
	style, _ := mount.Styles.Parse(decided)
	var names []string
	for _, plane := range style.Planes() {
		names = append(names, plane.String())
	}
	return names
}

// compareList holds a list against its schemas, of which each may have bounds of
// its own within the table's.
func (c contract) compareList(t *testing.T, at string, f *form.About, decided string, schemas []map[string]any) {
	t.Helper()
	least, most := 1<<31, 0
	for _, s := range schemas {
		n, _ := s["minItems"].(int)
		m, _ := s["maxItems"].(int)
		least, most = min(least, n), max(most, m)
		items := c.alternatives(s["items"])
		c.compareField(t, at+"/#", f.Item, decided, items)
	}
	// A planar linkage has points of two figures, any other of three.
	if planar := f.Most == 3; least != f.Least && !planar || most != f.Most && !planar || least < f.Least || most > f.Most {
		t.Errorf("%s: %d to %d entries in the contract, %d to %d in the table", at, least, most, f.Least, f.Most)
	}
}

// typeOf puts the alternatives of a schema in words, each of them once.
func typeOf(schemas []map[string]any) string {
	var alternatives []string
	for _, s := range schemas {
		words := []string{fmt.Sprint(s["type"])}
		for _, k := range []string{"minimum", "maximum", "minLength", "maxLength"} {
			if v, ok := s[k]; ok {
				words = append(words, k+" "+inFull(v))
			}
		}
		for _, v := range excluded(s) {
			words = append(words, "not "+inFull(v))
		}
		if text := strings.Join(words, " "); !slices.Contains(alternatives, text) {
			alternatives = append(alternatives, text)
		}
	}
	return strings.Join(alternatives, " or ")
}

func inFull(v any) string {
	if f, ok := v.(float64); ok {
		return strconv.FormatFloat(f, 'f', -1, 64)
	}
	return fmt.Sprint(v)
}

// typeWanted puts what the contract must say of a field in words. A bare length
// is bounded by the millimetres of 10 m, since the contract can't know its
// units.
func typeWanted(f *form.About) string {
	bounds := func(s form.Span) string {
		words := " minimum " + inFull(s.Least) + " maximum " + inFull(s.Most)
		if s.Above {
			words += " not " + inFull(s.Least)
		}
		if s.Below {
			words += " not " + inFull(s.Most)
		}
		return words
	}
	switch f.Kind {
	case form.KindLength:
		return "number" + bounds([...]form.Span{
			form.Positive: {Most: 10_000, Above: true}, form.ZeroOrMore: {Most: 10_000}, form.AnySign: {Least: -10_000, Most: 10_000},
		}[f.Sign]) + " or string"
	case form.KindMeasure:
		return "number" + bounds(f.Span) + " or string"
	case form.KindNumber:
		return "number" + bounds(f.Span)
	case form.KindWhole:
		return "integer" + bounds(f.Span)
	case form.KindFlag:
		return "boolean"
	case form.KindText:
		words := "string"
		if f.Least > 0 {
			words += " minLength " + strconv.Itoa(f.Least)
		}
		return words + " maxLength " + strconv.Itoa(f.Most)
	case "bolt":
		return "string"
	case "amount":
		return "number minimum 0 maximum 9999999999.99 or string"
	default:
		return string(f.Kind)
	}
}
