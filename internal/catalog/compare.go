package catalog

import (
	"cmp"

	"midstroke/internal/mount"
)

// Changes are what one revision has that another hasn't.
type Changes struct {
	Dampers  Difference[Damper]
	Sleeves  Difference[mount.Sleeve]
	Spacers  Difference[mount.Spacer]
	Adapters Difference[mount.Adapter]
}

// Difference is what came, went and changed of one kind of part, by code. Its
// parts belong to the snapshots that were compared.
type Difference[T any] struct {
	Added, Removed []*T
	Changed        []Change[T]
}

// Change is a part before and after, under one code.
type Change[T any] struct{ Before, After *T }

// Compare tells what changed from one revision to another.
func Compare(before, after *Snapshot) Changes {
	return Changes{
		Dampers:  compare(before.Dampers(), after.Dampers(), func(d *Damper) string { return d.Code }),
		Sleeves:  compare(before.Sleeves(), after.Sleeves(), func(s *mount.Sleeve) string { return s.Code }),
		Spacers:  compare(before.Spacers(), after.Spacers(), func(s *mount.Spacer) string { return s.Code }),
		Adapters: compare(before.Adapters(), after.Adapters(), func(a *mount.Adapter) string { return a.Code }),
	}
}

// compare walks two lists by code side by side.
func compare[T comparable](before, after []T, code func(*T) string) (d Difference[T]) {
	i, j := 0, 0
	for i < len(before) || j < len(after) {
		order := 0
		switch {
		case i == len(before):
			order = 1
		case j == len(after):
			order = -1
		default:
			order = cmp.Compare(code(&before[i]), code(&after[j]))
		}
		switch {
		case order < 0:
			d.Removed = append(d.Removed, &before[i])
			i++
		case order > 0:
			d.Added = append(d.Added, &after[j])
			j++
		default:
			if before[i] != after[j] {
				d.Changed = append(d.Changed, Change[T]{&before[i], &after[j]})
			}
			i, j = i+1, j+1
		}
	}
	return d
}
