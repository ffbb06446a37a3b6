package catalog_test

import (
	"maps"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"midstroke/internal/catalog"
	_ "midstroke/internal/seeded"
	"midstroke/internal/unit"
)

// TestCompareFindsWhatASetOfCodesFinds holds the walk against maps.
func TestCompareFindsWhatASetOfCodesFinds(t *testing.T) {
	some := rapid.MapOf(rapid.SampledFrom([]string{"a", "b", "c", "d", "e", "f"}), rapid.Int64Range(1, 3))
	rapid.Check(t, func(t *rapid.T) {
		before, after := some.Draw(t, "before"), some.Draw(t, "after")
		snapshot := func(m map[string]int64) *catalog.Snapshot {
			var c catalog.Contents
			for code, length := range m {
				c.Dampers = append(c.Dampers, catalog.Damper{Code: code, Compressed: unit.Length(length), Extended: 10})
			}
			return catalog.NewSnapshot("own", 1, c)
		}
		d := catalog.Compare(snapshot(before), snapshot(after)).Dampers
		var got, want []string
		for _, p := range d.Added {
			got = append(got, "+"+p.Code)
		}
		for _, p := range d.Removed {
			got = append(got, "-"+p.Code)
		}
		for _, c := range d.Changed {
			if c.Before.Code != c.After.Code || int64(c.Before.Compressed) != before[c.Before.Code] || int64(c.After.Compressed) != after[c.After.Code] {
				t.Fatalf("%+v became %+v", c.Before, c.After)
			}
			got = append(got, "~"+c.Before.Code)
		}
		for code := range maps.Keys(after) {
			if _, ok := before[code]; !ok {
				want = append(want, "+"+code)
			} else if before[code] != after[code] {
				want = append(want, "~"+code)
			}
		}
		for code := range maps.Keys(before) {
			if _, ok := after[code]; !ok {
				want = append(want, "-"+code)
			}
		}
		slices.Sort(got)
		slices.Sort(want)
		if !slices.Equal(got, want) {
			t.Fatalf("%q, want %q", got, want)
		}
	})
}
