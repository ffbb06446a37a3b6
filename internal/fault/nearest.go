package fault

import "strings"

// Nearest gives the candidate whose spelling is nearest to name, for a fault to
// suggest it; "" where none is near enough to be what was meant.
func Nearest(name string, candidates []string) string {
	const longest = 60 // no name of ours is longer, and the work grows with it
	if len(name) > longest {
		return ""
	}
	best, least := "", max(1, len(name)/3)+1
	for _, c := range candidates {
		d := changes(name, c)
		if len(name) > 3 && (strings.HasPrefix(c, name) || strings.HasSuffix(c, name) || strings.HasSuffix(name, "_"+c)) {
			d = min(d, 1)
		}
		if d < least {
			best, least = c, d
		}
	}
	return best
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
