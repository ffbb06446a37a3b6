package wire

import (
	"net/url"
	"slices"
	"strconv"
	"strings"
)

// FlatName is one name of the flat form of POST /v1/fits and the field it
// stands for.
type FlatName struct {
	// Name is the parameter of a query, or the heading of a column.
	Name string
	// Pointer is the RFC 6901 pointer of the field in a body.
	Pointer string
	// List says that it may stand more than once in a query, and that in a
	// cell its items are parted by "|".
	List bool

	side string // of readings
}

// flatNames are in the order in which the contract tells of the fields.
var flatNames = makeFlatNames()

// FlatNames lists every name of the flat form.
func FlatNames() []FlatName { return slices.Clone(flatNames) }

// makeFlatNames joins each field's path by "_", but that a style, a state and
// a basis go by the name of what they are of.
func makeFlatNames() []FlatName {
	var all []FlatName
	add := func(under string, fields ...string) {
		for _, field := range fields {
			pointer := under + "/" + field
			name := strings.ReplaceAll(pointer[1:], "/", "_")
			switch field {
			case "style", "state", "basis":
				name = under[1:]
			}
			all = append(all, FlatName{Name: name, Pointer: pointer})
		}
	}
	lists := func(under string, fields ...string) {
		from := len(all)
		add(under, fields...)
		for i := from; i < len(all); i++ {
			all[i].List = true
		}
	}
	add("", "units", "reference", "catalog", "revision")
	for _, end := range []string{"/upper", "/lower"} {
		add(end, "style", "measured_to", "bolt", "opening", "plate", "washer", "shear", "grade",
			"bar_offset", "hole_spacing",
			"bushing_thickness", "washer_thickness", "stud_length", "frame_hole", "frame_thickness")
	}
	all = append(all,
		FlatName{Name: "readings", Pointer: "/readings", List: true},
		FlatName{Name: "readings_left", Pointer: "/readings", List: true, side: "left"},
		FlatName{Name: "readings_right", Pointer: "/readings", List: true, side: "right"})
	add("", "reading_tolerance", "tape", "sideways_offset")
	add("/condition", "state", "arch_gap", "arch_gap_at_ride", "gap_tolerance")
	add("", "motion_ratio", "motion_ratio_tolerance", "planned_change")
	add("/old_damper", "at_stop", "carries_load")
	add("", "lean_deg", "suspension")
	add("/travel", "basis", "compression", "extension", "bump", "droop", "at_bump", "at_droop", "reserve")
	add("/travel/range", "bump", "droop")
	add("/travel/linkage", "kind")
	lists("/travel/linkage", "pivot_a", "pivot_b", "wheel", "roll_point")
	lists("/travel/linkage/wheels", "left", "right")
	for _, arm := range []string{"/travel/linkage/lower_arm", "/travel/linkage/upper_arm"} {
		lists(arm, "front", "rear", "inner", "outer")
	}
	lists("/travel/linkage/tie_rod", "inner", "outer")
	lists("/travel/linkage/damper", "upper", "lower")
	add("/travel/linkage/damper", "on")
	add("/travel", "class", "speed_kmh", "hours")
	add("/travel/corner", "sprung_kg", "unsprung_kg", "wheel_rate_n_mm", "tyre_rate_n_mm", "damping_ns_m")
	add("/bump_stop", "gap", "height", "squash", "motion_ratio", "reserve")
	add("/strap", "distance", "motion_ratio", "stretch", "reserve")
	add("/limits", "max_body_diameter", "max_compressed", "construction")
	lists("/limits", "adjusters")
	add("/limits", "in_stock", "max_price", "mounting", "adapters")
	add("/prefer", "ride_position")
	lists("", "codes")
	add("", "top", "dampers", "explain")
	return all
}

// flatForm remembers where each value of a flat request was written, so that
// a fault is told in the sender's own names.
type flatForm struct {
	// readings names the parameter of each reading, in the tree's order.
	readings []string
	tree     *tree
}

// value gives what the sender wrote at pointer, and whether it is one of
// several in a list; "" where nothing single stands there.
func (f *flatForm) value(pointer string) (value string, item bool) {
	at := int32(root)
	for _, step := range strings.Split(strings.TrimPrefix(pointer, "/"), "/") {
		if f.tree.nodes[at].kind == loose {
			break // a reading's length, where no side is named
		}
		item = item || f.tree.nodes[at].kind == list && f.tree.nodes[f.tree.nodes[at].first].next != 0
		if at, _ = f.tree.step(at, step); at == root {
			return "", false
		}
	}
	if f.tree.nodes[at].kind == record {
		at = f.tree.child(at, "length") // of a reading with its side
	}
	if at == root || f.tree.nodes[at].kind != loose {
		return "", false
	}
	return cut(f.tree.nodes[at].text, mostValue), item
}

// mostValue is how many characters a fault shows of a value.
const mostValue = 64

// place gives the name that the sender used, or would have used, for the
// field at pointer; "" for the whole.
func (f *flatForm) place(pointer string) string {
	if rest, ok := strings.CutPrefix(pointer, "/readings/"); ok {
		index, _, _ := strings.Cut(rest, "/")
		if i, err := strconv.Atoi(index); err == nil && i < len(f.readings) {
			return f.readings[i]
		}
	}
	for p := pointer; p != ""; p = p[:strings.LastIndexByte(p, '/')] {
		for i := range flatNames {
			if within(flatNames[i].Pointer, p) {
				return flatNames[i].Name
			}
		}
	}
	return strings.ReplaceAll(strings.TrimPrefix(pointer, "/"), "/", "_")
}

// flatten makes a tree of flat values. An empty value counts as not given, as
// an empty cell does. Faults are those of the names alone.
func flatten(values url.Values) (*tree, *flatForm, Faults) {
	b := builder{}
	b.tree.nodes = make([]node, 0, usualSize)
	b.push(b.add(node{kind: record}))
	flat := &flatForm{}
	var faults Faults
	more := 0
	for i := range flatNames {
		n := &flatNames[i]
		all, given := values[n.Name]
		if !given {
			continue
		}
		all = slices.DeleteFunc(slices.Clone(all), func(s string) bool { return strings.TrimSpace(s) == "" })
		if len(all) == 0 {
			continue
		}
		if len(all) > 1 && !n.List {
			faults = append(faults, Fault{Parameter: n.Name, Code: duplicateField, Detail: "may stand only once"})
			all = all[:1]
		}
		b.place(n, all)
		if n.Pointer == "/readings" {
			for range all {
				flat.readings = append(flat.readings, n.Name)
			}
		}
	}
	for _, name := range sortedNames(values) {
		if slices.ContainsFunc(flatNames, func(n FlatName) bool { return n.Name == name }) {
			continue
		}
		if len(faults) >= mostFaults {
			more++ // nobody reads on
		} else {
			faults = append(faults, Fault{Parameter: name, Code: unknownField, Detail: "there is no parameter of this name" + suggestion(name, values)})
		}
	}
	flat.tree = &b.tree
	return &b.tree, flat, append(faults, unlisted(more)...)
}

// place adds the values of one name at its place in the tree. Names of one
// record follow each other in flatNames but for those of an inner record,
// which is found again by its name.
func (b *builder) place(n *FlatName, values []string) {
	defer b.reopen(root)
	segments := strings.Split(n.Pointer[1:], "/")
	last := len(segments) - 1
	for _, s := range segments[:last] {
		b.enter(s, record)
	}
	if !n.List {
		b.add(node{kind: loose, name: segments[last], text: values[0]})
		return
	}
	b.enter(segments[last], list)
	for _, v := range values {
		reading := node{kind: loose, text: v}
		if n.side == "" {
			b.add(reading)
			continue
		}
		reading.name = "length"
		b.push(b.add(node{kind: record}))
		b.add(reading)
		b.add(node{kind: loose, name: "side", text: n.side})
		b.pop()
	}
}

// enter opens the member of the open record, making it where it is new.
func (b *builder) enter(name string, k kind) {
	at := b.tree.child(b.open[len(b.open)-1], name)
	if at == 0 {
		at = b.add(node{kind: k, name: name})
	}
	b.push(at)
	for c := b.tree.nodes[at].first; c != 0; c = b.tree.nodes[c].next {
		b.last[len(b.last)-1] = c
	}
}

// reopen closes all but the first open node.
func (b *builder) reopen(at int32) {
	for b.open[len(b.open)-1] != at {
		b.pop()
	}
}

func sortedNames(values url.Values) []string {
	names := make([]string, 0, len(values))
	for name := range values {
		names = append(names, name)
	}
	slices.Sort(names)
	return names
}

// suggestion names the parameter that was likely meant by one that isn't known:
// of those not given yet the nearest, but for a style, a state or a basis that
// was called by its field's name.
func suggestion(name string, values url.Values) string {
	var unused []string
	for i := range flatNames {
		n := &flatNames[i]
		if name == strings.ReplaceAll(n.Pointer[1:], "/", "_") {
			return "; did you mean " + n.Name + "?"
		}
		if _, given := values[n.Name]; !given {
			unused = append(unused, n.Name)
		}
	}
	return nearest(name, unused)
}
