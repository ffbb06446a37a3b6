package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"

	"midstroke/internal/catalog"
	"midstroke/internal/postgres"
	"midstroke/internal/shop"
	"midstroke/internal/table"
)

type importCommand struct {
	Catalog string       `required:"" placeholder:"NAME" help:"Catalogue to publish them as, such as demo."`
	Shop    string       `placeholder:"NAME" help:"Shop for which the catalogue is created if it doesn't exist yet. Default: a shop with the catalogue's name."`
	From    catalogFiles `embed:""`
	Note    string       `placeholder:"TEXT" help:"What is new in this revision."`
	Store   storeFlags   `embed:""`
}

// Run checks all files before it writes anything. If one of them has a fault,
// it writes nothing.
func (i *importCommand) Run(ctx context.Context, c console) error {
	err := readName("--catalog", &i.Catalog)
	if err == nil && i.Shop != "" {
		err = readName("--shop", &i.Shop)
	}
	if err != nil {
		fmt.Fprintf(c.err, "midstroke: %v\n", err)
		return exitError(exitWrong)
	}
	return i.From.read(c, func(parts shop.Parts, n shop.Counts) error {
		return i.Store.with(ctx, c, func(store *postgres.Store) error {
			revision, err := publish(ctx, store, i.Shop, i.Catalog, parts, i.Note)
			if err != nil {
				return err
			}
			_, err = fmt.Fprintf(c.out, "Published revision %d of %s: %s.\n", revision, i.Catalog, inWords(n))
			return err
		})
	})
}

// catalogFiles are the files of a catalogue on the command line.
type catalogFiles struct {
	Files    []string `arg:"" name:"file" help:"A CSV file, a workbook (.xlsx), a file with a JSON object per line (.ndjson), a .zip of CSV files, or a folder of CSV files."`
	Currency string   `placeholder:"CODE" help:"Currency of all prices, such as USD, if the files don't name it."`
}

// read checks the files and calls do with their parts. It prints all faults if there
// are any, and doesn't call do.
func (f *catalogFiles) read(c console, do func(shop.Parts, shop.Counts) error) error {
	if f.Currency != "" && !catalog.IsCurrency(f.Currency) {
		fmt.Fprintf(c.err, "midstroke: --currency: %q isn't a currency's code, such as USD\n", f.Currency)
		return exitError(exitWrong)
	}
	files, closeAll, err := openFiles(f.Files)
	if err != nil {
		return err
	}
	defer closeAll()
	meter := newProgress(c.err)
	parts, n, err := shop.PartsOfFiles(files, table.Stated{Currency: f.Currency}, meter)
	meter.done()
	var faults *table.Faults
	if errors.As(err, &faults) {
		fmt.Fprintln(c.err, faults)
		return exitError(exitWrong)
	}
	if err != nil {
		return err
	}
	return do(parts, n)
}

// inWords says how many parts there are of each kind.
func inWords(n shop.Counts) string {
	return fmt.Sprintf("%d dampers, %d sleeves, %d spacers, %d adapters", n.Dampers, n.Sleeves, n.Spacers, n.Adapters)
}

// partFiles are the files that are read from a folder.
var partFiles = []string{table.SettingsFile, table.DampersFile, table.SleevesFile, table.SpacersFile, table.AdaptersFile}

// openFiles opens the files that the paths name, and for a folder the files of a
// catalogue in it. closeAll closes them.
func openFiles(paths []string) (files []table.File, closeAll func(), err error) {
	var open []*os.File
	closeOpen := func() {
		for _, f := range open {
			_ = f.Close()
		}
	}
	defer func() {
		if err != nil {
			closeOpen()
		}
	}()
	for _, path := range expand(paths) {
		f, err := os.Open(path)
		if errors.Is(err, fs.ErrNotExist) && !slices.Contains(paths, path) {
			continue // a folder needn't have all of them
		}
		if err != nil {
			return nil, nil, err
		}
		open = append(open, f)
		info, err := f.Stat()
		if err != nil {
			return nil, nil, err
		}
		files = append(files, table.File{Name: filepath.Base(path), Data: f, Size: info.Size()})
	}
	return files, closeOpen, nil
}

// expand replaces each folder with the paths of the files that it may hold.
func expand(paths []string) []string {
	var all []string
	for _, path := range paths {
		info, err := os.Stat(path)
		if err != nil || !info.IsDir() {
			all = append(all, path) // opening it gives the error
			continue
		}
		for _, name := range partFiles {
			all = append(all, filepath.Join(path, name))
		}
	}
	return all
}
