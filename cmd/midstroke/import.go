package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"

	"midstroke/internal/postgres"
	"midstroke/internal/shop"
	"midstroke/internal/table"
)

type importCommand struct {
	Files   []string   `arg:"" name:"file" help:"CSV, a workbook (.xlsx), JSON objects a line (.ndjson) or a .zip of CSV files; or a folder of CSV files."`
	Catalog string     `required:"" placeholder:"NAME" help:"Catalogue to publish them as, such as demo."`
	Shop    string     `placeholder:"NAME" help:"Shop that a catalogue which isn't there yet is made for. Default: one of the catalogue's name."`
	Note    string     `placeholder:"TEXT" help:"What is new in this revision."`
	Store   storeFlags `embed:""`
}

// Run checks the files whole before anything is written; where one is at fault
// nothing is.
func (i *importCommand) Run(ctx context.Context, c console) error {
	err := readName("--catalog", &i.Catalog)
	if err == nil && i.Shop != "" {
		err = readName("--shop", &i.Shop)
	}
	if err != nil {
		fmt.Fprintf(c.err, "midstroke: %v\n", err)
		return exitError(exitWrong)
	}
	files, shut, err := openFiles(i.Files)
	if err != nil {
		return err
	}
	defer shut()
	meter := newProgress(c.err)
	parts, n, err := shop.PartsOfFiles(files, meter)
	meter.done()
	var faults *table.Faults
	if errors.As(err, &faults) {
		fmt.Fprintln(c.err, faults)
		return exitError(exitWrong)
	}
	if err != nil {
		return err
	}
	return i.Store.with(ctx, c, func(store *postgres.Store) error {
		revision, err := publish(ctx, store, i.Shop, i.Catalog, parts, i.Note)
		if err != nil {
			return err
		}
		_, err = fmt.Fprintf(c.out, "Published revision %d of %s: %d dampers, %d sleeves, %d spacers, %d adapters.\n",
			revision, i.Catalog, n.Dampers, n.Sleeves, n.Spacers, n.Adapters)
		return err
	})
}

// partFiles are the files of a folder that are read.
var partFiles = []string{table.SettingsFile, table.DampersFile, table.SleevesFile, table.SpacersFile, table.AdaptersFile}

// openFiles opens what the paths name, of a folder the files of a catalogue.
// shut closes them.
func openFiles(paths []string) (files []table.File, shut func(), err error) {
	var open []*os.File
	shutAll := func() {
		for _, f := range open {
			_ = f.Close()
		}
	}
	defer func() {
		if err != nil {
			shutAll()
		}
	}()
	for _, path := range spread(paths) {
		f, err := os.Open(path)
		if errors.Is(err, fs.ErrNotExist) && !slices.Contains(paths, path) {
			continue // a folder need not hold them all
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
	return files, shutAll, nil
}

// spread gives each file for itself, and each folder as the files it may hold.
func spread(paths []string) []string {
	var all []string
	for _, path := range paths {
		info, err := os.Stat(path)
		if err != nil || !info.IsDir() {
			all = append(all, path) // what is wrong with it shows on opening
			continue
		}
		for _, name := range partFiles {
			all = append(all, filepath.Join(path, name))
		}
	}
	return all
}
