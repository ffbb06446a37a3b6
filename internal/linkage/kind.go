package linkage

import (
	"slices"

	"midstroke/internal/fault"
)

// Kind names a suspension.
type Kind string

// The kinds of suspension.
const (
	Inclined       Kind = "inclined"
	SwingArm       Kind = "swing_arm"
	SolidAxle      Kind = "solid_axle"
	DoubleWishbone Kind = "double_wishbone"
)

// layout is one way in which the points of a kind are given.
type layout struct {
	kind Kind
	// planar says that points are [y, z].
	planar bool
	// name is the layout's name in the message files.
	name string
	// points are the pointers of its points, without the damper's ends.
	points []string
	// motion makes the motion that carries the damper from checked points.
	motion func(at place, s *Spec, faults *fault.List) motion
}

// layouts is the table of all kinds, in the order in which they are listed. A kind with several layouts has the planar one last.
var layouts = [...]layout{
	{kind: Inclined, name: "inclined",
		motion: func(at place, _ *Spec, _ *fault.List) motion {
			return newHeave(at["/damper/upper"], at["/damper/lower"])
		}},
	{kind: SwingArm, name: "swing_arm", points: []string{"/pivot_a", "/pivot_b", "/wheel"},
		motion: func(at place, _ *Spec, faults *fault.List) motion { return newSwing(at, faults) }},
	{kind: SolidAxle, name: "solid_axle", points: []string{"/roll_point", "/wheels/left", "/wheels/right"},
		motion: func(at place, _ *Spec, faults *fault.List) motion { return newAxle(at, faults) }},
	{kind: DoubleWishbone, name: "double_wishbone_spatial", points: []string{"/wheel", "/lower_arm/front", "/lower_arm/rear", "/lower_arm/outer",
		"/upper_arm/front", "/upper_arm/rear", "/upper_arm/outer", "/tie_rod/inner", "/tie_rod/outer"},
		motion: func(at place, s *Spec, faults *fault.List) motion { return newWishbone(at, false, s.Damper.On, faults) }},
	{kind: DoubleWishbone, name: "double_wishbone_planar", planar: true,
		points: []string{"/wheel", "/lower_arm/inner", "/lower_arm/outer", "/upper_arm/inner", "/upper_arm/outer"},
		motion: func(at place, s *Spec, faults *fault.List) motion { return newWishbone(at, true, s.Damper.On, faults) }},
}

// layout gives the layout of a spec, nil where its kind isn't known.
func (s *Spec) layout() *layout {
	planar := s.planar()
	for i := range layouts {
		if l := &layouts[i]; l.kind == s.Kind && l.planar == planar {
			return l
		}
	}
	return nil
}

// has says whether the layout has a point.
func (l *layout) has(pointer string) bool {
	return pointer == "/damper/upper" || pointer == "/damper/lower" || slices.Contains(l.points, pointer)
}

// Kinds lists the kinds of suspension by their names in requests.
func Kinds() []string { return KindsWith("") }

// KindsWith lists the kinds that have a point, or points in a record, by the JSON
// pointer of it, as "/wheel" or "/lower_arm".
func KindsWith(pointer string) []string {
	var names []string
	for i := range layouts {
		l := &layouts[i]
		in := pointer == "" || slices.ContainsFunc(l.points, func(p string) bool { return p == pointer || len(p) > len(pointer) && p[:len(pointer)+1] == pointer+"/" })
		if in && !slices.Contains(names, string(l.kind)) {
			names = append(names, string(l.kind))
		}
	}
	return names
}

// ParseKind finds a kind by its name.
func ParseKind(name string) (Kind, bool) { return Kind(name), slices.Contains(Kinds(), name) }
