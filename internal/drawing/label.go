package drawing

import (
	"cmp"
	"slices"
	"strings"
	"unicode/utf8"
)

// label is a text to the right of the drawing with a leader to what it names.
type label struct {
	u, v float64 // of what it names, in the fitting's view
	text string
	// plane marks the plane to measure to, own the damper's reference where
	// that is another.
	plane, own bool

	anchor point // of what it names, on the sheet
	lines  []string
	y      float64 // of the middle of its lines
}

const (
	labelSize   = 15.0
	labelLine   = 18.0
	labelsApart = 7.0
)

func (l *label) height() float64 { return float64(len(l.lines)) * labelLine }

// attributes set off the plane to measure to.
func (l *label) attributes() string {
	if l.plane {
		return `font-weight="bold"`
	}
	return ""
}

// breakAll breaks the texts of labels into lines and gives the height that
// they need one under another.
func breakAll(labels []label) float64 {
	for i := range labels {
		l := &labels[i]
		l.lines = broken(l.text, labelSize, labelsWide, l.plane)
	}
	return needed(labels)
}

// needed is the height that labels need one under another.
func needed(labels []label) float64 {
	need := -labelsApart
	for i := range labels {
		need += labels[i].height() + labelsApart
	}
	return need
}

// spread puts labels one under another between top and foot, which leave them
// room enough, in the order of what they name so that no two leaders cross,
// each as near to it as its neighbours let it.
func spread(labels []label, top, foot float64) {
	slices.SortStableFunc(labels, func(a, b label) int { return cmp.Compare(a.anchor.y, b.anchor.y) })
	// Downwards each label makes way for those before it; what that puts past
	// the foot goes back up and takes those before it along.
	y := top
	for i := range labels {
		l := &labels[i]
		l.y = max(l.anchor.y, y+l.height()/2)
		y = l.y + l.height()/2 + labelsApart
	}
	y = foot
	for i := len(labels) - 1; i >= 0; i-- {
		l := &labels[i]
		l.y = min(l.y, y-l.height()/2)
		y = l.y - l.height()/2 - labelsApart
	}
	relax(labels, top)
}

// relax moves each run of touching labels as a whole to where its labels are
// nearest, in the mean, to what they name.
func relax(labels []label, top float64) {
	for from := 0; from < len(labels); {
		to := from + 1
		for to < len(labels) && touches(&labels[to-1], &labels[to]) {
			to++
		}
		shift := 0.0
		for _, l := range labels[from:to] {
			shift += (l.anchor.y - l.y) / float64(to-from)
		}
		above := top
		if from > 0 {
			above = labels[from-1].y + labels[from-1].height()/2 + labelsApart
		}
		first := &labels[from]
		shift = min(0, max(shift, above-(first.y-first.height()/2)))
		for i := from; i < to; i++ {
			labels[i].y += shift
		}
		from = to
	}
}

func touches(a, b *label) bool {
	const hair = 0.01
	return b.y-b.height()/2 < a.y+a.height()/2+labelsApart+hair
}

// broken breaks a text of a size into lines by words. Widths are estimated, for the font
// is the reader's: a sans serif's letters are about half as wide as high.
func broken(text string, size, wide float64, bold bool) []string {
	var lines []string
	line := ""
	for _, w := range strings.Fields(text) {
		longer := w
		if line != "" {
			longer = line + " " + w
		}
		if line != "" && estimatedWidth(longer, size, bold) > wide {
			lines = append(lines, line)
			longer = w
		}
		line = longer
	}
	return append(lines, line)
}

// estimatedWidth is on the wide side for Helvetica and the sans serifs cut to
// its measures.
func estimatedWidth(text string, size float64, bold bool) float64 {
	per := 0.52
	if bold {
		per = 0.56
	}
	return per * size * float64(utf8.RuneCountInString(text))
}
