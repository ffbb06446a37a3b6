package table_test

import (
	"bytes"
	"io"
	"testing"

	"midstroke/internal/table"
	"midstroke/internal/unit"
	"midstroke/testdata/demo"
)

const benchmarkRows = 10_000

func damperFile(b *testing.B) []byte {
	b.Helper()
	files := memory{}
	if err := table.WriteContents(files.create, demo.Generate(1, benchmarkRows), unit.Inches); err != nil {
		b.Fatal(err)
	}
	return files[table.DampersFile].Bytes()
}

// BenchmarkRead reads 10,000 dampers an operation.
func BenchmarkRead(b *testing.B) {
	file := damperFile(b)
	b.SetBytes(int64(len(file)))
	b.ReportAllocs()
	for b.Loop() {
		var faults table.Faults
		n := 0
		for _, err := range table.Dampers(bytes.NewReader(file), &faults) {
			if err != nil {
				b.Fatal(err)
			}
			n++
		}
		if n != benchmarkRows {
			b.Fatal(n, faults.Err())
		}
	}
}

// BenchmarkWrite writes 10,000 dampers an operation.
func BenchmarkWrite(b *testing.B) {
	file := damperFile(b)
	b.SetBytes(int64(len(file)))
	b.ReportAllocs()
	c := demo.Generate(1, benchmarkRows)
	for b.Loop() {
		var faults table.Faults
		err := table.WriteDampers(io.Discard, rowsOf(c.Dampers), unit.Inches, &faults)
		if err != nil || faults.Err() != nil {
			b.Fatal(err, faults.Err())
		}
	}
}

// BenchmarkGenerate makes 10,000 dampers an operation.
func BenchmarkGenerate(b *testing.B) {
	for b.Loop() {
		demo.Generate(1, benchmarkRows)
	}
}
