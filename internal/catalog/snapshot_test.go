package catalog_test

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"

	"midstroke/internal/catalog"
	"midstroke/internal/unit"
)

// TestSnapshotsAreByCode: parts in any order come out by code, each whole.
func TestSnapshotsAreByCode(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 2)) // any seed
	for n := range 60 {
		var dampers []catalog.Damper
		for i := range n {
			dampers = append(dampers, catalog.Damper{Code: fmt.Sprintf("%03d", i), Compressed: unit.Length(i + 1), Extended: unit.Length(i + 2)})
		}
		want := slices.Clone(dampers)
		random.Shuffle(n, func(i, j int) { dampers[i], dampers[j] = dampers[j], dampers[i] })
		if got := catalog.NewSnapshot("own", 1, catalog.Contents{Dampers: dampers}).Dampers(); !slices.Equal(got, want) {
			t.Fatalf("%d dampers: %v", n, got)
		}
	}
}
