// Package mount describes the two ends of a damper and the places they bolt to:
// styles of ends and their reference planes, brackets, and the sleeves, spacers,
// adapters and bolts that join an end to its bracket.
package mount

import "slices"

// Style is how an end is made.
type Style uint8

// The styles of ends. Fork and SpindleStrut are known so that they can be
// named as lying outside the method.
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

var styleNames = [...]string{NoStyle: "", Eye: "eye", Stud: "stud", BarPin: "bar_pin", Fork: "fork", SpindleStrut: "spindle_strut"}

// bolted are the styles that the method knows how to bolt up, in a fixed order.
var bolted = []Style{Eye, Stud, BarPin}

// Styles lists every style by its name in requests, in a fixed order.
func Styles() []string { return styleNames[1:] }

// BoltedStyles lists the styles that the method knows how to bolt up, in a
// fixed order. Callers change nothing in it.
func BoltedStyles() []Style { return bolted }

// BoltedStyleNames lists their names in requests.
func BoltedStyleNames() []string {
	names := make([]string, len(bolted))
	for i, s := range bolted {
		names[i] = s.String()
	}
	return names
}

// Bolted says whether the method knows how to bolt up an end of style s.
func (s Style) Bolted() bool { return slices.Contains(bolted, s) }

// String gives the style's name in requests and answers.
func (s Style) String() string { return styleNames[s] }

// ParseStyle finds a style by its name.
func ParseStyle(name string) (Style, bool) {
	i, ok := indexOf(styleNames[:], name)
	return Style(i), ok
}

// indexOf finds name in names past the zero value.
func indexOf(names []string, name string) (int, bool) {
	for i := 1; i < len(names); i++ {
		if names[i] == name {
			return i, true
		}
	}
	return 0, false
}
