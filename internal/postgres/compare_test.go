package postgres_test

import (
	"errors"
	"fmt"
	"reflect"
	"testing"

	"midstroke/internal/catalog"
	"midstroke/internal/mount"
	"midstroke/internal/unit"
)

// TestPostgresComparesAsMemoryDoes: whatever part and whichever of its fields changes,
// Postgres finds the same differences as the walk over two revisions in memory.
func TestPostgresComparesAsMemoryDoes(t *testing.T) {
	t.Parallel()
	s, _ := withCatalog(t)
	before, after := contents(t, 1300), contents(t, 1300)
	publish(t, s, before)
	gone := after.Dampers[1:]
	after.Dampers = append([]catalog.Damper(nil), gone...)
	for i := range after.Dampers {
		d := &after.Dampers[i]
		switch i % 6 {
		case 0:
			d.Description += " (new)"
		case 1:
			d.Price++
		case 2:
			d.InStock = !d.InStock
		case 3:
			d.Extended += unit.Millimetre
		case 4:
			d.Code = fmt.Sprint("new ", i)
		}
	}
	after.Sleeves = append(after.Sleeves[:len(after.Sleeves):len(after.Sleeves)], mount.Sleeve{Code: "new", Outer: 20 * unit.Millimetre, Bore: 12 * unit.Millimetre, Length: 30 * unit.Millimetre})
	after.Limits.LeftOverMost += unit.Millimetre
	publish(t, s, after)
	for _, pair := range [][2]int{{1, 2}, {2, 1}, {1, 1}} {
		var sides [2]*catalog.Snapshot
		for i, number := range pair {
			var err error
			if sides[i], err = s.Revision(t.Context(), ownPlace, number); err != nil {
				t.Fatal(err)
			}
		}
		got, err := s.Compare(t.Context(), ownPlace, pair[0], pair[1])
		if err != nil {
			t.Fatal(err)
		}
		want := catalog.Compare(sides[0], sides[1])
		if !reflect.DeepEqual(got, want) {
			t.Errorf("%v: %d, %d, %d dampers, %d sleeves; want %d, %d, %d dampers, %d sleeves", pair,
				got.Dampers.AddedCount, got.Dampers.RemovedCount, got.Dampers.ChangedCount, got.Sleeves.AddedCount,
				want.Dampers.AddedCount, want.Dampers.RemovedCount, want.Dampers.ChangedCount, want.Sleeves.AddedCount)
		}
		if pair[0] != pair[1] && len(got.Dampers.Changed)+len(got.Dampers.Added) == 0 {
			t.Error("nothing changed")
		}
	}
	if _, err := s.Compare(t.Context(), ownPlace, 1, 99); !errors.Is(err, catalog.ErrNotFound) {
		t.Errorf("a revision that isn't there: %v", err)
	}
}
