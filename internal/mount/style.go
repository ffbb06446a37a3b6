// Package mount describes the two ends of a damper and the places they bolt to:
// styles of ends and their reference planes, brackets, and the sleeves, spacers,
// adapters and bolts that join an end to its bracket.
package mount

import (
	"slices"

	"midstroke/internal/enum"
	"midstroke/internal/fault"
)

// Style is how an end is made.
type Style uint8

// The styles of ends. Fork and SpindleStrut lie outside the method; they are
// known so that an answer can say so.
const (
	NoStyle Style = iota
	// Eye is a ring with a bushing; its reference point is the bolt's centre.
	Eye
	// Stud is a threaded rod end clamped through a hole between two bushings;
	// its reference plane is the face of the washer nearest the damper.
	Stud
	// BarPin is a bar through the eye, bolted at both ends to a face; its
	// reference point is the bar's axis.
	BarPin
	// Fork is a clevis or U bracket that straddles a lug.
	Fork
	// SpindleStrut carries the wheel's spindle.
	SpindleStrut
)

// Styles names the styles in requests, answers and files.
var Styles = enum.Names[Style]{NoStyle: "", Eye: "eye", Stud: "stud", BarPin: "bar_pin", Fork: "fork", SpindleStrut: "spindle_strut"}

// A method says how the ends of one style are bolted up.
type method struct {
	style Style
	// planes are what a tape can be held to, the style's own reference first.
	planes []Plane
	// rubber says that the end turns in a bonded bushing.
	rubber bool
	// boltUp works out how an end bolts up to a bracket.
	boltUp func(*Shelf, *End, *Bracket, *Options) Result
	// mates says whether an adapter that is made for an end like from takes an
	// end. What from leaves open doesn't matter. What from states must be known of
	// the end and agree.
	mates func(l *Limits, from, end *End) bool
	// check reports what is wrong with the measures of an end together.
	check func(*End, *fault.List)
	// needs reports what a bracket must state to be judged alone; nil for nothing.
	needs func(*Bracket, *fault.List)
}

// methods are all of them, in a fixed order. Each stands in its style's file.
var methods = []method{eyeMethod, studMethod, barPinMethod}

// method gives the method of a style, nil where there is none.
func (s Style) method() *method {
	for i := range methods {
		if methods[i].style == s {
			return &methods[i]
		}
	}
	return nil
}

// BoltedStyles lists the styles that can be bolted up, in a fixed order.
func BoltedStyles() []Style {
	styles := make([]Style, len(methods))
	for i := range methods {
		styles[i] = methods[i].style
	}
	return styles
}

// BoltedStyleNames lists their names in requests.
func BoltedStyleNames() []string {
	names := make([]string, len(methods))
	for i := range methods {
		names[i] = methods[i].style.String()
	}
	return names
}

// Bolted says whether an end of style s can be bolted up. The others lie outside
// the method.
func (s Style) Bolted() bool { return s.method() != nil }

// Outside says whether s is a style outside the method.
func (s Style) Outside() bool { return s != NoStyle && !s.Bolted() }

// Rubber says whether an end of style s turns in a bonded bushing. If it is
// tightened away from ride height, the bushing stays twisted.
func (s Style) Rubber() bool {
	m := s.method()
	return m != nil && m.rubber
}

// Planes lists the planes that an end of style s has, its own reference first;
// none for the styles outside the method.
func (s Style) Planes() []Plane {
	if m := s.method(); m != nil {
		return slices.Clone(m.planes)
	}
	return nil
}

// String gives the style's name in requests and answers.
func (s Style) String() string { return Styles[s] }
