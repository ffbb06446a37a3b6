package wire

import "strings"

// nearest suggests the candidate whose spelling is nearest to name, as the end
// of a sentence; "" where none is near.
func nearest(name string, candidates []string) string {
	if len(name) > 60 {
		return ""
	}
	best, least := "", max(2, len(name)/3)+1
	for _, c := range candidates {
		d := changes(name, c)
		if len(name) > 3 && (strings.HasPrefix(c, name) || strings.HasSuffix(c, name) || strings.HasSuffix(name, "_"+c)) {
			d = min(d, 2)
		}
		if d < least {
			best, least = c, d
		}
	}
	if best == "" {
		return ""
	}
	return "; did you mean " + best + "?"
}

// changes counts the letters to put in, take out or change to make b of a (the
// distance of Levenshtein 1966).
func changes(a, b string) int {
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := range len(a) {
		diagonal := row[0]
		row[0] = i + 1
		for j := range len(b) {
			cost := diagonal
			if a[i] != b[j] {
				cost = 1 + min(diagonal, row[j], row[j+1])
			}
			diagonal, row[j+1] = row[j+1], cost
		}
	}
	return row[len(b)]
}
