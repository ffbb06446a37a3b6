package batch_test

import (
	"fmt"
	"strings"
	"testing"

	"midstroke/internal/batch"
	"midstroke/internal/catalog"
	"midstroke/internal/fit"
	"midstroke/internal/table"
	"midstroke/testdata/demo"
)

// BenchmarkDemands finds all of 10,000 dampers that fit each of 1,000 rows, no two of
// which are alike.
func BenchmarkDemands(b *testing.B) {
	s := catalog.NewSnapshot("demo", 1, demo.Generate(1, 10_000))
	bolts := []string{"M10", "M12", "M14", "7/16 in", "1/2 in", "5/8 in"}
	const rows = 1000
	text := "units,upper,lower,upper_bolt,lower_bolt,readings,suspension\n"
	for i := range rows {
		bolt := bolts[i%len(bolts)]
		text += fmt.Sprintf("in,eye,eye,%s,%s,%.4f,solid_axle\n", bolt, bolt, 14+4.25*float64(i)/rows)
	}
	for b.Loop() {
		file, err := batch.Open(table.File{Name: "rows.csv", Data: strings.NewReader(text), Size: int64(len(text))}, batch.Config{Snapshot: s, Language: "en"})
		if err != nil {
			b.Fatal(err)
		}
		d, err := file.Demands(b.Context(), fit.Marginal)
		if err != nil || d.Faulty > 0 {
			b.Fatal(err, d.Faults)
		}
		if err := file.Close(); err != nil {
			b.Fatal(err)
		}
	}
}
