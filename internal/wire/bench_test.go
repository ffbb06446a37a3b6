package wire_test

import (
	"encoding/json"
	"testing"

	"midstroke/internal/fit"
	"midstroke/internal/wire"
)

// ordinary is an everyday request: a stud over an eye, answered with ten fits
// and ten near misses.
const ordinary = "../../testdata/examples/rear-axle.json"

func BenchmarkReadFits(b *testing.B) {
	body := read(b, ordinary)
	b.SetBytes(int64(len(body)))
	b.ReportAllocs()
	for b.Loop() {
		if _, err := wire.ReadFits(body); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkReadFitsQuery(b *testing.B) {
	var body any
	if err := json.Unmarshal(read(b, ordinary), &body); err != nil {
		b.Fatal(err)
	}
	values := flattened(body)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := wire.ReadFitsQuery(values); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkWriteFits(b *testing.B) {
	r, a, _ := answer(b, read(b, ordinary))
	var out []byte
	b.ReportAllocs()
	for b.Loop() {
		out = wire.AppendFits(out[:0], a, &r, edition(), "en")
	}
	b.SetBytes(int64(len(out)))
	b.ReportMetric(float64(len(a.Fits)), "fits")
}

func BenchmarkWriteFitsCSV(b *testing.B) {
	r, a, _ := answer(b, read(b, ordinary))
	var out []byte
	b.ReportAllocs()
	for b.Loop() {
		out = wire.AppendFitsCSV(out[:0], a, &r, edition(), "en")
	}
	b.SetBytes(int64(len(out)))
}

// BenchmarkFind is what lies between reading and writing, for comparison.
func BenchmarkFind(b *testing.B) {
	r, _, _ := answer(b, read(b, ordinary))
	for b.Loop() {
		if _, faults := fit.Find(&r.Fit, snapshot()); len(faults) > 0 {
			b.Fatal(faults)
		}
	}
}
