package linkage_test

import (
	"testing"
	"time"

	"gonum.org/v1/gonum/spatial/r3"

	"midstroke/internal/linkage"
)

// TestNoAllocation: one solution allocates nothing, whatever the kind.
func TestNoAllocation(t *testing.T) {
	for name, s := range everyKind() {
		l := mustNew(t, s)
		if n := testing.AllocsPerRun(100, func() {
			if _, _, err := l.At(37); err != nil {
				t.Fatal(err)
			}
		}); n != 0 {
			t.Errorf("%s: %g allocations", name, n)
		}
	}
}

func BenchmarkAt(b *testing.B) {
	for _, c := range []struct {
		name string
		spec linkage.Spec
	}{
		{"inclined", inclined(100, 300)}, {"solid_axle", axle()}, {"swing_arm", semiTrailing()},
		{"planar_wishbone", planar()}, {"spatial_wishbone", spatial()},
	} {
		b.Run(c.name, func(b *testing.B) {
			l := mustNew(b, c.spec)
			b.ReportAllocs()
			for i := range b.N {
				sweep(l, i)
			}
		})
	}
}

// sink keeps results from being optimised away.
var sink float64

// sweep is one solution, at another wheel travel each time.
func sweep(l *linkage.Linkage, i int) {
	length, ratio, _ := l.At(float64(i%141) - 70)
	sink += length + ratio
}

// each gives the least time of one call of f over several short blocks of n: the
// one with the fewest interruptions.
func each(n int, f func(i int)) time.Duration {
	best := time.Duration(1 << 62)
	for range 7 {
		start := time.Now()
		for i := range n {
			f(i)
		}
		best = min(best, time.Since(start))
	}
	return best / time.Duration(n)
}

// BenchmarkSpatialOverPlanar compares one solution of a spatial double wishbone
// with one of the planar one, which iterates as well, and with the closed form
// of a swing arm in the plane, in the same run. Both are bound to 20.
func BenchmarkSpatialOverPlanar(b *testing.B) {
	space, plane, arm := mustNew(b, spatial()), mustNew(b, planar()), mustNew(b, trailing())
	var overPlanar, overArm float64
	for range b.N {
		s := each(2000, func(i int) { sweep(space, i) })
		overPlanar = float64(s) / float64(each(2000, func(i int) { sweep(plane, i) }))
		overArm = float64(s) / float64(each(2000, func(i int) { sweep(arm, i) }))
	}
	b.ReportMetric(0, "ns/op") // of the comparison itself: says nothing
	b.ReportMetric(overPlanar, "spatial/planar")
	b.ReportMetric(overArm, "spatial/swing-arm")
	if worst := max(overPlanar, overArm); worst > 20 {
		b.Errorf("one spatial solution costs %.1f planar ones, want at most 20", worst)
	}
}

// BenchmarkCurve compares a curve of 201 points with its extremes, motion
// ratios and cautions with 201 single solutions at the same wheel travels, in
// the same run. Bound to 1.5.
func BenchmarkCurve(b *testing.B) {
	for _, c := range []struct {
		name string
		spec linkage.Spec
	}{{"spatial_wishbone", spatial()}, {"planar_wishbone", planar()}} {
		b.Run(c.name, func(b *testing.B) {
			l := mustNew(b, c.spec)
			o := linkage.Options{Range: linkage.Range{Bump: mm(75), Droop: mm(65)}, Points: 201}
			var ratio float64
			for range b.N {
				curve := each(20, func(int) {
					if _, faults := l.Travel(o); len(faults) > 0 {
						b.Fatal(faults)
					}
				})
				single := each(20, func(int) {
					for i := range 201 {
						length, _, _ := l.At(-65 + 0.7*float64(i))
						sink += length
					}
				})
				ratio = float64(curve) / float64(single)
			}
			b.ReportMetric(0, "ns/op") // of the comparison itself: says nothing
			b.ReportMetric(ratio, "curve/201-solves")
			if ratio > 1.5 {
				b.Errorf("the curve costs %.2f times 201 solutions, want at most 1.5", ratio)
			}
		})
	}
}

func BenchmarkNew(b *testing.B) {
	for _, c := range []struct {
		name string
		spec linkage.Spec
	}{{"solid_axle", axle()}, {"spatial_wishbone", spatial()}} {
		b.Run(c.name, func(b *testing.B) {
			for range b.N {
				mustNew(b, c.spec)
			}
		})
	}
}

// BenchmarkFitNeeds is what a fit asks for: a sweep of the range, and of that
// stops and how far a mount must be moved; beside them extremes and moves of a
// linkage that isn't kept.
func BenchmarkFitNeeds(b *testing.B) {
	for _, c := range []struct {
		name string
		spec linkage.Spec
	}{{"solid_axle", axle()}, {"spatial_wishbone", spatial()}} {
		l := mustNew(b, c.spec)
		r := linkage.Range{Bump: mm(75), Droop: mm(65)}
		b.Run("extremes/"+c.name, func(b *testing.B) {
			for range b.N {
				if _, _, err := l.Extremes(-65, 75); err != nil {
					b.Fatal(err)
				}
			}
		})
		b.Run("move/"+c.name, func(b *testing.B) {
			for range b.N {
				if _, err := l.Move(linkage.UpperMount, r3.Vec{Z: 5}); err != nil {
					b.Fatal(err)
				}
			}
		})
		b.Run("sweep/"+c.name, func(b *testing.B) {
			for range b.N {
				if _, err := l.Sweep(0, r); err != nil {
					b.Fatal(err)
				}
			}
		})
		swept, err := l.Sweep(0, r)
		if err != nil {
			b.Fatal(err)
		}
		shortest, longest := swept.Extremes()
		b.Run("stops/"+c.name, func(b *testing.B) {
			for i := range b.N {
				spare := 5 + float64(i%40)
				if _, ok := swept.SolidBy(shortest.Length.Mm()-spare, longest.Length.Mm()+spare); !ok {
					b.Fatal("no bump stop")
				}
				if _, ok := swept.TightBy(shortest.Length.Mm()-spare, longest.Length.Mm()+spare); !ok {
					b.Fatal("no strap")
				}
			}
		})
		b.Run("shift/"+c.name, func(b *testing.B) {
			for i := range b.N {
				m := linkage.Mount(i % 2)
				short := 5 + float64(i%20)
				if _, ok := swept.LeastShift(m, true, shortest.Length.Mm()+short, 1e6, 50); !ok {
					b.Fatal("no shift")
				}
			}
		})
	}
}
