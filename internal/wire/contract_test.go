package wire_test

import (
	"bytes"
	"encoding/json"
	"flag"
	"fmt"
	"maps"
	"os"
	"slices"
	"strings"
	"testing"

	"go.yaml.in/yaml/v3"

	"midstroke/api"
	"midstroke/internal/form"
	"midstroke/internal/table"
	"midstroke/internal/wire"
)

var update = flag.Bool("update", false, "write what is made from Go's tables into api/openapi.yaml")

// contractFile is the contract's place as seen from this package.
const contractFile = "../../api/openapi.yaml"

// TestFlatParametersAreTheContracts makes the parameters of GET /v1/fits from
// the table of flat names and from what the contract says of each field, and
// holds the contract's own against them.
func TestFlatParametersAreTheContracts(t *testing.T) {
	c := readContract(t)
	var definitions, references []string
	for _, n := range wire.FlatNames() {
		definitions = append(definitions, c.parameter(t, n))
		references = append(references, fmt.Sprintf("        - { $ref: '#/components/parameters/flat.%s' }\n", n.Name))
	}
	want := string(api.YAML)
	for _, block := range []struct {
		name  string
		lines []string
	}{
		{"flat names, from the fields of FitsRequest", references},
		{"flat names by reference", references},
		{"flat parameters, from the fields of FitsRequest", definitions},
	} {
		want = replaceBlock(t, want, block.name, strings.Join(block.lines, ""))
	}
	if want == string(api.YAML) {
		return
	}
	if !*update {
		t.Fatal("the flat parameters of openapi.yaml aren't those of flatNames; run go test -run FlatParameters -update ./internal/wire")
	}
	if err := os.WriteFile(contractFile, []byte(want), 0o644); err != nil {
		t.Fatal(err)
	}
}

// TestFileColumnsAreTheContracts holds the columns of a catalogue's files against
// what the contract says of an upload.
func TestFileColumnsAreTheContracts(t *testing.T) {
	text := "Columns, those with an asterisk needed."
	for _, sheet := range table.Sheets("en") {
		names := make([]string, len(sheet.Columns))
		for i, c := range sheet.Columns {
			if names[i] = "`" + c.Header + "`"; c.Needed {
				names[i] += "*"
			}
		}
		text += " In `" + sheet.File() + "`: " + strings.Join(names, ", ") + "."
	}
	const name = "columns of a catalogue's files"
	line := "          text/csv: { schema: { type: string, description: '" + text + "' } }\n"
	want := replaceBlock(t, string(api.YAML), name, line)
	if want == string(api.YAML) {
		return
	}
	if !*update {
		t.Fatalf("the block %q of openapi.yaml isn't made from the tables of fields; run go generate ./internal/wire", name)
	}
	// Another test may have written the file in this run.
	written, err := os.ReadFile(contractFile)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(contractFile, []byte(replaceBlock(t, string(written), name, line)), 0o644); err != nil {
		t.Fatal(err)
	}
}

// TestFlatNamesAreComplete holds that every field of the body, but for lists
// of objects, has exactly one flat name.
func TestFlatNamesAreComplete(t *testing.T) {
	c := readContract(t)
	named := map[string]bool{}
	seen := map[string]bool{}
	for _, n := range wire.FlatNames() {
		if seen[n.Name] {
			t.Errorf("%s stands twice", n.Name)
		}
		seen[n.Name] = true
		named[n.Pointer] = true
	}
	for _, pointer := range c.leaves("", []any{map[string]any{"$ref": "#/components/schemas/FitsRequest"}}) {
		if !named[pointer] {
			t.Errorf("%s has no flat name", pointer)
		}
		delete(named, pointer)
	}
	for pointer := range named {
		t.Errorf("the contract has no field %s", pointer)
	}
}

func replaceBlock(t *testing.T, text, name, with string) string {
	t.Helper()
	begin, end := "# "+name+": begin\n", "# "+name+": end\n"
	from := strings.Index(text, begin)
	to := strings.Index(text, end)
	if from < 0 || to < 0 {
		t.Fatalf("openapi.yaml has no block %q", name)
	}
	indent := text[strings.LastIndexByte(text[:to], '\n')+1 : to]
	return text[:from+len(begin)] + with + indent + text[to:]
}

// contract is the document as plain values.
type contract struct{ root map[string]any }

func readContract(t testing.TB) contract {
	t.Helper()
	var c contract
	if err := yaml.Unmarshal(api.YAML, &c.root); err != nil {
		t.Fatal(err)
	}
	return c
}

// resolved follows a reference; what stands beside it wins.
func (c contract) resolved(schema map[string]any) map[string]any {
	ref, ok := schema["$ref"].(string)
	if !ok {
		return schema
	}
	at := c.root
	for _, step := range strings.Split(strings.TrimPrefix(ref, "#/"), "/") {
		at = at[step].(map[string]any)
	}
	merged := map[string]any{}
	for k, v := range c.resolved(at) {
		merged[k] = v
	}
	for k, v := range schema {
		if k != "$ref" {
			merged[k] = v
		}
	}
	return merged
}

// alternatives gives a schema, or those that it is one of. One without a
// description has that of the whole.
func (c contract) alternatives(schema any) []map[string]any {
	s := c.resolved(schema.(map[string]any))
	of, ok := s["oneOf"].([]any)
	if !ok {
		return []map[string]any{s}
	}
	var all []map[string]any
	for _, one := range of {
		for _, alternative := range c.alternatives(one) {
			if alternative["description"] == nil && s["description"] != nil {
				alternative = maps.Clone(alternative)
				alternative["description"] = s["description"]
			}
			all = append(all, alternative)
		}
	}
	return all
}

// at gives the schemas of the field at pointer, one for each alternative of
// the records around it.
func (c contract) at(pointer string) []map[string]any {
	now := c.alternatives(map[string]any{"$ref": "#/components/schemas/FitsRequest"})
	for _, step := range strings.Split(pointer[1:], "/") {
		var next []map[string]any
		for _, s := range now {
			if properties, ok := s["properties"].(map[string]any); ok && properties[step] != nil {
				next = append(next, c.alternatives(properties[step])...)
			}
		}
		now = next
	}
	return now
}

// leaves lists the pointers of the fields that hold no further fields.
func (c contract) leaves(under string, schemas []any) []string {
	fields := map[string][]any{}
	for _, schema := range schemas {
		for _, s := range c.alternatives(schema) {
			properties, _ := s["properties"].(map[string]any)
			for name, property := range properties {
				fields[name] = append(fields[name], property)
			}
		}
	}
	if len(fields) == 0 {
		return []string{under}
	}
	var all []string
	for name, property := range fields {
		if c.listOfObjects(property) {
			continue // has no flat form
		}
		all = append(all, c.leaves(under+"/"+name, property)...)
	}
	return all
}

// listOfObjects says whether a field is a list of nothing but objects.
func (c contract) listOfObjects(schemas []any) bool {
	for _, schema := range schemas {
		s, _ := schema.(map[string]any)
		items, ok := c.resolved(s)["items"].(map[string]any)
		if !ok || c.resolved(items)["type"] != "object" {
			return false
		}
	}
	return true
}

// exampleQuery are the values of a query that can be sent as it stands.
var exampleQuery = map[string]any{
	"units": "in", "upper": "eye", "lower": "eye", "readings": []string{"17 5/16"}, "suspension": "solid_axle",
}

// parameter writes the definition of one flat parameter.
func (c contract) parameter(t *testing.T, n form.Name) string {
	t.Helper()
	schemas := c.at(n.Pointer)
	if len(schemas) == 0 {
		t.Fatalf("the contract has no field %s", n.Pointer)
	}
	schema := c.flatSchema(t, n, schemas)
	if n.List {
		schema = map[string]any{"type": "array", "items": schema}
	}
	required := n.Name == "units" || n.Name == "upper" || n.Name == "lower"
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	err := enc.Encode(struct {
		Name        string         `json:"name"`
		In          string         `json:"in"`
		Required    bool           `json:"required,omitempty"`
		Description string         `json:"description"`
		Schema      map[string]any `json:"schema"`
		Example     any            `json:"example,omitempty"`
	}{n.Name, "query", required, describe(n, schemas), schema, exampleQuery[n.Name]})
	if err != nil {
		t.Fatal(err)
	}
	return "    flat." + n.Name + ": " + b.String()
}

// wholes are the words for what goes by the name of the whole that it is of.
var wholes = map[string]string{
	"upper": "how the place's upper end is made", "lower": "how the place's lower end is made",
	"condition": "how the vehicle stood", "travel": "how the needed travel is found",
}

// describe takes the body's words for a field.
func describe(n form.Name, schemas []map[string]any) string {
	text := "`" + n.Pointer + "` of the body"
	if words, ok := wholes[n.Name]; ok {
		return text + ": " + words
	}
	for _, s := range schemas {
		if d, ok := s["description"].(string); ok && !strings.HasPrefix(d, "a length ") && d != "[x, y, z]" {
			text += ": " + d
			break
		}
	}
	if len(schemas) == 1 { // a length's description says that it is greater than zero
		// The library reads no parameter whose schema has a "not".
		for _, v := range excluded(schemas[0]) {
			if v == schemas[0]["minimum"] {
				text += ", more than " + inFull(v)
			} else {
				text += ", less than " + inFull(v)
			}
		}
	}
	if strings.HasPrefix(n.Name, "readings_") {
		text += " (" + strings.TrimPrefix(n.Name, "readings_") + " side)"
	}
	return text
}

// excluded lists the bounds that a number may not equal.
func excluded(s map[string]any) []any {
	if s["type"] != "number" {
		return nil
	}
	not, _ := s["not"].(map[string]any)
	values, _ := not["enum"].([]any)
	return values
}

// flatSchema is the schema of one value as it is written in a query.
func (c contract) flatSchema(t *testing.T, n form.Name, schemas []map[string]any) map[string]any {
	t.Helper()
	if n.Name == "upper" || n.Name == "lower" {
		return map[string]any{"$ref": "#/components/schemas/Style"}
	}
	if items, ok := schemas[0]["items"]; ok {
		schemas = c.alternatives(items)
	}
	var enum []any
	for _, s := range schemas {
		values, _ := s["enum"].([]any)
		for _, v := range values {
			if !slices.Contains(enum, v) {
				enum = append(enum, v)
			}
		}
	}
	if enum != nil {
		return map[string]any{"type": "string", "enum": enum}
	}
	s := schemas[0]
	text := slices.IndexFunc(schemas, func(s map[string]any) bool { return s["type"] == "string" })
	switch kind, _ := s["type"].(string); {
	case kind == "number" && text > 0: // a number or a text
		if pattern := schemas[text]["pattern"]; pattern != nil {
			return map[string]any{"type": "string", "pattern": pattern}
		}
		return map[string]any{"$ref": "#/components/schemas/FlatLength"}
	case kind != "":
		flat := map[string]any{"type": kind}
		for _, k := range []string{"format", "minimum", "maximum", "minLength", "maxLength", "pattern"} {
			if v, ok := s[k]; ok {
				flat[k] = v
			}
		}
		return flat
	}
	t.Fatalf("%s: no flat schema for %v", n.Name, s)
	return nil
}
