// Package mount knows the two ends of a damper and of the place it goes to:
// their styles and reference planes, the brackets, and the sleeves, spacers,
// adapters and bolts by which one end bolts up to the other.
package mount

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

// Styles lists every style by its name in requests, in a fixed order.
func Styles() []string { return styleNames[1:] }

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
