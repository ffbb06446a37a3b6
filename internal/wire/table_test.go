package wire_test

import (
	"maps"
	"slices"
	"testing"

	"midstroke/internal/wire"
)

// TestTablesAreTheContracts holds the tables that answers are written by against
// the contract's schemas, in both directions: the same members, of the same
// types, which may be missing or null in the same places.
func TestTablesAreTheContracts(t *testing.T) {
	c := readContract(t)
	for name, members := range wire.Tables() {
		c.sameMembers(t, name, members, c.objects(map[string]any{"$ref": "#/components/schemas/" + name}))
	}
}

// object is what the alternatives of a schema say of an object together.
type object struct {
	properties map[string][]any
	required   map[string]int // in how many alternatives
	count      int            // of alternatives
	open       bool           // further names may come
}

// objects joins all alternatives of a schema that are objects.
func (c contract) objects(schemas ...any) object {
	o := object{properties: map[string][]any{}, required: map[string]int{}}
	for _, schema := range schemas {
		for _, s := range c.alternatives(schema) {
			o.add(c, s)
		}
	}
	return o
}

func (o *object) add(c contract, s map[string]any) {
	if parts, ok := s["allOf"].([]any); ok {
		whole := c.objects(parts...)
		o.count++
		for name, properties := range whole.properties {
			o.properties[name] = append(o.properties[name], properties...)
			o.required[name] += whole.required[name]
		}
		return
	}
	properties, _ := s["properties"].(map[string]any)
	_, others := s["additionalProperties"].(map[string]any)
	if s["type"] != "object" {
		return
	}
	o.count++
	o.open = o.open || others
	for name, property := range properties {
		o.properties[name] = append(o.properties[name], property)
	}
	required, _ := s["required"].([]any)
	for _, name := range required {
		o.required[name.(string)]++
	}
}

func (c contract) sameMembers(t *testing.T, at string, members []wire.Shape, o object) {
	t.Helper()
	stands := map[string]bool{}
	for _, m := range members {
		here := at + "." + m.Name
		if stands[m.Name] {
			t.Errorf("%s stands twice in the table", here)
		}
		stands[m.Name] = true
		schemas := o.properties[m.Name]
		if schemas == nil {
			t.Errorf("%s isn't in the contract", here)
			continue
		}
		if always := o.required[m.Name] == o.count; always == m.Optional {
			t.Errorf("%s: required by the contract %v, optional by the table %v", here, always, m.Optional)
		}
		c.sameValue(t, here, m, schemas)
	}
	for _, name := range slices.Sorted(maps.Keys(o.properties)) {
		if !stands[name] {
			t.Errorf("%s.%s isn't in the table", at, name)
		}
	}
}

func (c contract) sameValue(t *testing.T, at string, s wire.Shape, schemas []any) {
	t.Helper()
	types := map[string]bool{}
	for _, schema := range schemas {
		for _, alternative := range c.alternatives(schema) {
			if alternative["allOf"] != nil {
				types["object"] = true
			}
			if kind, ok := alternative["type"].(string); ok {
				types[kind] = true
			}
		}
	}
	switch s.Kind {
	case "map":
		if !c.objects(schemas...).open {
			t.Errorf("%s: the contract admits no further names", at)
		}
		return
	case "": // a number, a text or null
		if !maps.Equal(types, map[string]bool{"number": true, "string": true, "null": true}) {
			t.Errorf("%s is %v in the contract", at, types)
		}
		return
	}
	want := map[string]bool{s.Kind: true}
	if s.Null {
		want["null"] = true
	}
	if !maps.Equal(types, want) {
		t.Errorf("%s is %v in the contract, %v in the table", at, types, want)
	}
	switch s.Kind {
	case "object":
		c.sameMembers(t, at, s.Members, c.objects(schemas...))
	case "array":
		var items []any
		for _, schema := range schemas {
			for _, alternative := range c.alternatives(schema) {
				items = append(items, alternative["items"])
			}
		}
		c.sameValue(t, at+".#", *s.Items, items)
	}
}
