package catalog

import "midstroke/internal/unit"

// halve reorders points so that none in the first half lies after any in the
// second by the key, as a full sort would, in time linear in their number
// (Hoare's selection, pivot the median of three).
func halve(points []Point, key func(*Point) unit.Length) {
	middle := len(points) / 2
	from, to := 0, len(points)-1
	for from < to {
		pivot := medianOfThree(key(&points[from]), key(&points[(from+to)/2]), key(&points[to]))
		i, j := from, to
		for i <= j {
			for key(&points[i]) < pivot {
				i++
			}
			for key(&points[j]) > pivot {
				j--
			}
			if i <= j {
				points[i], points[j] = points[j], points[i]
				i, j = i+1, j-1
			}
		}
		switch {
		case middle <= j:
			to = j
		case middle >= i:
			from = i
		default:
			return
		}
	}
}

func medianOfThree(a, b, c unit.Length) unit.Length {
	return max(min(a, b), min(max(a, b), c))
}
