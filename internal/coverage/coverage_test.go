package coverage_test

import (
	"math/bits"
	"math/rand/v2"
	"testing"

	"midstroke/internal/coverage"
	"midstroke/internal/fit"
	"midstroke/internal/unit"
)

const plenty = 100_000_000

// drawn makes demands at random, over so few dampers that every set can be tried.
func drawn(random *rand.Rand) (demands []coverage.Demand, dampers int) {
	dampers = 3 + random.IntN(9)
	demands = make([]coverage.Demand, 1+random.IntN(25))
	for i := range demands {
		demands[i].Weight = 1 + random.Int64N(9)
		for d := range dampers {
			if random.IntN(4) == 0 {
				demands[i].By = append(demands[i].By, fit.Served{Damper: int32(d), Grade: fit.Grade(random.IntN(3))})
			}
		}
	}
	return demands, dampers
}

// servedBy adds up what a set, one bit a damper, serves.
func servedBy(demands []coverage.Demand, set uint) (served int64) {
	for i := range demands {
		for _, by := range demands[i].By {
			if set&(1<<by.Damper) != 0 {
				served += demands[i].Weight
				break
			}
		}
	}
	return served
}

// exhaustive tries every set: the most that n dampers serve, for each n.
func exhaustive(demands []coverage.Demand, dampers int) []int64 {
	most := make([]int64, dampers+1)
	for set := range uint(1) << dampers {
		n := bits.OnesCount(set)
		most[n] = max(most[n], servedBy(demands, set))
	}
	for n := 1; n <= dampers; n++ {
		most[n] = max(most[n], most[n-1])
	}
	return most
}

func bitsOf(s *coverage.Set) (set uint) {
	for _, c := range s.Chosen {
		set |= 1 << c.Damper
	}
	return set
}

func TestChoicesAgainstEverySet(t *testing.T) {
	random := rand.New(rand.NewPCG(17, 1))
	for range 400 {
		demands, dampers := drawn(random)
		most := exhaustive(demands, dampers)
		for n := 1; n <= dampers; n++ {
			exact := coverage.Best(demands, n, coverage.Effort{Work: plenty})
			if !exact.Exact || exact.Served != most[n] || servedBy(demands, bitsOf(&exact)) != exact.Served || len(exact.Chosen) > n {
				t.Fatalf("best %d of %v: %+v, every set gives %d", n, demands, exact, most[n])
			}
			greedy := coverage.Best(demands, n, coverage.Effort{Work: 0})
			if servedBy(demands, bitsOf(&greedy)) != greedy.Served || greedy.MostServed < most[n] || greedy.Exact && greedy.Served != most[n] {
				t.Fatalf("greedy %d of %v: %+v, every set gives %d", n, demands, greedy, most[n])
			}
			// 1 − 1/e of the best, Nemhauser, Wolsey and Fisher 1978.
			if float64(greedy.Served) < 0.632*float64(most[n]) {
				t.Fatalf("greedy %d serves %d of %d", n, greedy.Served, most[n])
			}
		}
		total := most[dampers]
		for _, wanted := range []int64{1, total / 2, total * 9 / 10, total, total + 5} {
			least := 0
			for most[least] < min(wanted, total) {
				least++
			}
			exact := coverage.Smallest(demands, wanted, coverage.Effort{Work: plenty})
			if !exact.Exact || len(exact.Chosen) != least || exact.Served < min(wanted, total) {
				t.Fatalf("smallest for %d of %v: %+v, every set gives %d", wanted, demands, exact, least)
			}
			greedy := coverage.Smallest(demands, wanted, coverage.Effort{Work: 0})
			if greedy.Served < min(wanted, total) || greedy.LeastDampers > least || len(greedy.Chosen) < least {
				t.Fatalf("greedy for %d of %v: %+v, every set gives %d", wanted, demands, greedy, least)
			}
		}
	}
}

// TestPauses: a search that is ended at a pause ends soon, and one that isn't finds what it finds
// without pauses.
func TestPauses(t *testing.T) {
	random := rand.New(rand.NewPCG(17, 2))
	demands := make([]coverage.Demand, 3000)
	for i := range demands {
		demands[i].Weight = 1
		first := random.IntN(2000)
		for d := range 40 {
			demands[i].By = append(demands[i].By, fit.Served{Damper: int32(first + 7*d)})
		}
	}
	pauses := 0
	want := coverage.Smallest(demands, 2900, coverage.Effort{Work: 1_000_000})
	got := coverage.Smallest(demands, 2900, coverage.Effort{Work: 1_000_000, Pause: func() bool { pauses++; return true }})
	if pauses < 5 || got.Served != want.Served || len(got.Chosen) != len(want.Chosen) {
		t.Errorf("%d pauses, %d of %d, want %d of %d", pauses, got.Served, len(got.Chosen), want.Served, len(want.Chosen))
	}
	all := pauses
	pauses = 0
	coverage.Smallest(demands, 2900, coverage.Effort{Work: 1_000_000, Pause: func() bool { pauses++; return pauses < 3 }})
	if pauses != 3 || pauses >= all {
		t.Errorf("%d pauses after the end", pauses)
	}
}

func TestSharesByHand(t *testing.T) {
	demands := []coverage.Demand{
		{Weight: 3, By: []fit.Served{{Damper: 1, Grade: fit.Tight}, {Damper: 2, Grade: fit.Clear}}},
		{Weight: 2, By: []fit.Served{{Damper: 1, Grade: fit.Marginal}}},
		{Weight: 5},
	}
	s := coverage.ShareOf(demands)
	if want := (coverage.Share{Total: 10, Served: 5, ByGrade: [3]int64{3, 0, 2}}); s != want {
		t.Errorf("got %+v, want %+v", s, want)
	}
	alone := coverage.EachAlone(demands)
	if len(alone) != 2 || alone[0] != (coverage.Alone{Damper: 1, Serves: 5, Only: 2}) || alone[1] != (coverage.Alone{Damper: 2, Serves: 3}) {
		t.Errorf("%+v", alone)
	}
}

func TestMapByHand(t *testing.T) {
	mm := unit.Millimetre
	m := coverage.MapOf([]coverage.Point{
		{CompressedMost: 301 * mm, ExtendedLeast: 402 * mm, Weight: 2, Served: true},
		{CompressedMost: 304 * mm, ExtendedLeast: 404 * mm, Weight: 1},
		{CompressedMost: 312 * mm, ExtendedLeast: 460 * mm, Weight: 4},
	}, unit.Millimetres)
	// 58 mm in squares of 5 mm are fewer than 24.
	want := []coverage.Cell{
		{CompressedMost: 300 * mm, ExtendedLeast: 400 * mm, Weight: 3, Unserved: 1},
		{CompressedMost: 310 * mm, ExtendedLeast: 460 * mm, Weight: 4, Unserved: 4},
	}
	if m.Step != 5*mm || len(m.Cells) != 2 || m.Cells[0] != want[0] || m.Cells[1] != want[1] {
		t.Errorf("%+v", m)
	}
}

// BenchmarkCoverage is the choice alone, of 10,000 dampers for 10,000 demands that each
// some 60 of them fit.
func BenchmarkCoverage(b *testing.B) {
	random := rand.New(rand.NewPCG(18, 1))
	demands := make([]coverage.Demand, 10_000)
	for i := range demands {
		demands[i].Weight = 1
		first := random.IntN(9_000)
		for d := range 60 {
			demands[i].By = append(demands[i].By, fit.Served{Damper: int32(first + 16*d)})
		}
	}
	for b.Loop() {
		coverage.Smallest(demands, 9_500, coverage.Effort{Work: 20_000_000})
	}
}
