package catalog

import (
	"cmp"

	"midstroke/internal/mount"
)

// Changes are what one revision of a catalogue has that another hasn't.
type Changes struct {
	Catalog  string
	From, To Side
	Dampers  Difference[Damper]
	Sleeves  Difference[mount.Sleeve]
	Spacers  Difference[mount.Spacer]
	Adapters Difference[mount.Adapter]
}

// Side is one of the two revisions.
type Side struct {
	Revision int
	Settings Settings
}

// MostChanges is how many parts that came, went or changed are kept of one kind.
const MostChanges = 1000

// Difference is what came, went and changed of one kind of part, by code. All are
// counted, and of each sort the first MostChanges are kept.
type Difference[T any] struct {
	Added, Removed                         []*T
	Changed                                []Change[T]
	AddedCount, RemovedCount, ChangedCount int
}

// Change is a part before and after, under one code.
type Change[T any] struct{ Before, After *T }

// Add adds a part before and after, of which one is nil where there was none. It says
// whether the part is kept.
func (d *Difference[T]) Add(before, after *T) (kept bool) {
	switch {
	case before == nil:
		d.AddedCount++
		if kept = len(d.Added) < MostChanges; kept {
			d.Added = append(d.Added, after)
		}
	case after == nil:
		d.RemovedCount++
		if kept = len(d.Removed) < MostChanges; kept {
			d.Removed = append(d.Removed, before)
		}
	default:
		d.ChangedCount++
		if kept = len(d.Changed) < MostChanges; kept {
			d.Changed = append(d.Changed, Change[T]{before, after})
		}
	}
	return kept
}

// Compare tells what changed from one revision to another.
func Compare(before, after *Snapshot) *Changes {
	return &Changes{
		Catalog: after.Name(),
		From:    Side{before.Revision(), before.Settings()}, To: Side{after.Revision(), after.Settings()},
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
			d.Add(&before[i], nil)
			i++
		case order > 0:
			d.Add(nil, &after[j])
			j++
		default:
			if before[i] != after[j] {
				d.Add(&before[i], &after[j])
			}
			i, j = i+1, j+1
		}
	}
	return d
}
