package fit_test

import (
	"fmt"
	"testing"

	"midstroke/internal/catalog"
	"midstroke/internal/fit"
	"midstroke/internal/measure"
	"midstroke/internal/mount"
	"midstroke/internal/unit"
	"midstroke/testdata/demo"
)

// everyday is an ordinary request: a stud above, an eye with an M12 bolt below,
// a solid axle.
func everyday() *fit.Request {
	bolt, err := mount.ParseBolt("M12", unit.Inches)
	if err != nil {
		panic(err)
	}
	return &fit.Request{
		Readings: measure.Readings{
			Readings:  []measure.Reading{{Length: 16*unit.Inch + unit.Inch/4}},
			Tolerance: unit.Inch / 16,
			Upper:     measure.EndReading{Style: mount.Stud},
			Lower:     measure.EndReading{Style: mount.Eye},
		},
		Lower:      mount.Bracket{Bolt: bolt, Opening: unit.Inch + unit.Inch/2},
		Suspension: fit.SolidAxle,
		Top:        fit.DefaultTop, Dampers: fit.DefaultDampers,
	}
}

func BenchmarkFind(b *testing.B) {
	for _, n := range []int{480, 10_000, 100_000, 1_000_000} {
		s := catalog.NewSnapshot("grown", 1, demo.Generate(demo.Seed, n))
		r := everyday()
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, faults := fit.Find(r, s); len(faults) > 0 {
					b.Fatal(faults)
				}
			}
		})
	}
}

func BenchmarkNewSnapshot(b *testing.B) {
	contents := demo.Generate(demo.Seed, 100_000)
	b.ReportAllocs()
	for b.Loop() {
		catalog.NewSnapshot("grown", 1, contents)
	}
}
