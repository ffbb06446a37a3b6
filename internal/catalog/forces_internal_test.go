package catalog

import "testing"

// TestFarValving: a valving is found by the point as far as numbers have room there,
// else by the damper. The numbers at both sides of the limit are by hand: a point has
// one more than the valving's, in 16 bits, and the greatest one is taken.
func TestFarValving(t *testing.T) {
	f := &forceTables{numbers: []int32{0, 1, -1, 2, 3}, valvingOf: []int32{0, 65_533, 65_534, 1_000_000}}
	s := &Snapshot{listed: listed{forces: f}}
	for damper, want := range []struct {
		near    uint16
		valving int32
	}{{1, 0}, {65_534, 65_533}, {0, -1}, {farValving, 65_534}, {farValving, 1_000_000}} {
		p := Point{Damper: int32(damper), valving: f.near(int32(damper))}
		if got := s.Valving(&p); p.valving != want.near || got != want.valving {
			t.Errorf("damper %d: %d by %d, want %d by %d", damper, got, p.valving, want.valving, want.near)
		}
	}
	if none := new(forceTables).near(0); none != 0 {
		t.Errorf("%d where no damper has a table", none)
	}
}
