package wire

import "midstroke/internal/fault"

// nearest suggests the candidate whose spelling is nearest to name, as the end
// of a sentence; "" where none is near.
func nearest(name string, candidates []string) string {
	if best := fault.Nearest(name, candidates); best != "" {
		return "; did you mean " + best + "?"
	}
	return ""
}
