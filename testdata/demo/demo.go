// Package demo is the catalogue that the service shows where no shop has
// loaded its own. Everything in it is invented: no maker, vehicle or list
// stands behind any figure, and the codes carry no meaning.
//
// Contents is that catalogue; Generate and GenerateSizes make others of any
// size by the same model, for tests and benchmarks.
package demo

import (
	"archive/zip"
	"bytes"
	"embed"
	"io/fs"
	"os"
	"path/filepath"

	"midstroke/internal/catalog"
	"midstroke/internal/mount"
	"midstroke/internal/table"
	"midstroke/internal/unit"
)

//go:generate go run ./generate

// Files are the demo catalogue as a shop would write it: the CSV files that
// generate makes of Contents.
//
//go:embed *.csv
var Files embed.FS

// Seed is what the demo catalogue is grown from.
const Seed = 20

// Sizes says how many of each part to make.
type Sizes struct{ Dampers, Sleeves, Spacers, Adapters int }

// DemoSizes are those of the demo catalogue.
func DemoSizes() Sizes { return Sizes{Dampers: 480, Sleeves: 72, Spacers: 24, Adapters: 16} }

// Contents gives the demo catalogue, the same as stands in Files.
func Contents() catalog.Contents { return GenerateSizes(Seed, DemoSizes()) }

// Generate makes a catalogue of so many dampers with the demo's number of
// sleeves, spacers and adapters. The same seed gives the same catalogue, and
// a smaller one is the beginning of a larger one.
func Generate(seed int64, dampers int) catalog.Contents {
	sizes := DemoSizes()
	sizes.Dampers = dampers
	return GenerateSizes(seed, sizes)
}

// GenerateSizes makes a catalogue of the given sizes, none of them negative.
func GenerateSizes(seed int64, n Sizes) catalog.Contents {
	return catalog.Contents{
		Currency: "USD",
		Limits:   mount.UsualLimits(),
		Dampers:  dampers(seed, n.Dampers),
		Sleeves:  sleeves(seed, n.Sleeves),
		Spacers:  spacers(seed, n.Spacers),
		Adapters: adapters(seed, n.Adapters),
	}
}

// WriteFiles writes a catalogue as CSV files into a folder. Lengths and errors
// are as table.Write has them.
func WriteFiles(folder string, c catalog.Contents, units unit.System) error {
	var archive bytes.Buffer
	if err := table.Write(&archive, table.CSV, c, units); err != nil {
		return err
	}
	files, err := zip.NewReader(bytes.NewReader(archive.Bytes()), int64(archive.Len()))
	if err != nil {
		return err
	}
	for _, f := range files.File {
		text, err := fs.ReadFile(files, f.Name)
		if err != nil {
			return err
		}
		if err := os.WriteFile(filepath.Join(folder, f.Name), text, 0o644); err != nil {
			return err
		}
	}
	return nil
}
