package fault

import (
	"slices"
	"strings"
)

// Nearest gives the candidate whose spelling is nearest to name, for a fault to
// suggest it; "" where none is near enough to be what was meant.
func Nearest(name string, candidates []string) string {
	if near := Near(name, candidates); len(near) > 0 {
		return near[0]
	}
	return ""
}

// Near gives the candidates whose spelling is near enough to name to be what was meant,
// the nearest first.
func Near(name string, candidates []string) (near []string) {
	const longest = 60 // no name of ours is longer, and the work grows with it
	if len(name) > longest {
		return nil
	}
	most := max(1, len(name)/3)
	distance := map[string]int{}
	for _, c := range candidates {
		d := most + 1
		switch {
		case len(name) > 3 && (strings.HasPrefix(c, name) || strings.HasSuffix(c, name) || strings.HasSuffix(name, "_"+c)):
			d = min(1, changes(name, c))
		case max(len(c)-len(name), len(name)-len(c)) <= most: // each letter more is a change
			d = changes(name, c)
		}
		if d <= most {
			near, distance[c] = append(near, c), d
		}
	}
	slices.SortStableFunc(near, func(a, b string) int { return distance[a] - distance[b] })
	return near
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
