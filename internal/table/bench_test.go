package table_test

import (
	"io"
	"testing"

	"midstroke/internal/catalog"
	"midstroke/internal/table"
	"midstroke/internal/unit"
	"midstroke/testdata/demo"
)

const benchmarkRows = 10_000

var formatNames = map[table.Format]string{table.CSV: "csv", table.XLSX: "xlsx", table.NDJSON: "ndjson"}

// BenchmarkRead reads 10,000 dampers an operation from one CSV file.
func BenchmarkRead(b *testing.B) {
	texts, err := writeTexts(demo.Generate(1, benchmarkRows), unit.Inches)
	if err != nil {
		b.Fatal(err)
	}
	files := []table.File{file(table.SettingsFile, []byte(texts[table.SettingsFile])), file(table.DampersFile, []byte(texts[table.DampersFile]))}
	b.SetBytes(files[1].Size)
	b.ReportAllocs()
	for b.Loop() {
		n := 0
		_, err := table.Read(files, table.Sink{Dampers: func(rows []catalog.Damper) error { n += len(rows); return nil }}, nil)
		if err != nil || n != benchmarkRows {
			b.Fatal(n, err)
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
		b.Run(formatNames[f], func(b *testing.B) {
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
		b.Run(formatNames[f], func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if err := table.Write(io.Discard, f, c, unit.Inches); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
