package table_test

import (
	"bytes"
	"io"
	"testing"

	"midstroke/internal/catalog"
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

// BenchmarkReadFormats reads a catalogue of 10,000 dampers an operation.
func BenchmarkReadFormats(b *testing.B) {
	c := demo.Generate(1, benchmarkRows)
	for _, f := range formats {
		b.Run(f.String(), func(b *testing.B) {
			content := written(b, f, c, unit.Inches)
			b.SetBytes(int64(len(content)))
			b.ReportAllocs()
			for b.Loop() {
				n := 0
				sink := table.Sink{Dampers: func(rows []catalog.Damper) error {
					n += len(rows)
					return nil
				}}
				if _, err := table.Read([]table.File{file("a", content)}, sink, nil); err != nil || n != benchmarkRows {
					b.Fatal(n, err)
				}
			}
		})
	}
}

// BenchmarkWriteFormats writes a catalogue of 10,000 dampers an operation.
func BenchmarkWriteFormats(b *testing.B) {
	c := demo.Generate(1, benchmarkRows)
	for _, f := range formats {
		b.Run(f.String(), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if err := table.Write(io.Discard, f, c, unit.Inches); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
