package main

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"os"

	"midstroke/internal/postgres"
	"midstroke/internal/table"
)

type importCommand struct {
	Dir      string        `arg:"" type:"existingdir" help:"Folder of dampers.csv and, where there are such, sleeves.csv, spacers.csv, adapters.csv and catalog.csv."`
	Catalog  string        `required:"" placeholder:"NAME" help:"Catalogue to publish them as, such as demo."`
	Shop     string        `placeholder:"NAME" help:"Shop that a catalogue which isn't there yet is made for. Default: one of the catalogue's name."`
	Note     string        `placeholder:"TEXT" help:"What is new in this revision."`
	Database databaseFlags `embed:""`
	LogLevel slog.Level    `name:"log-level" env:"MIDSTROKE_LOG_LEVEL" default:"warn" help:"Least level that is logged: debug, info, warn or error."`
}

// Run reads the files whole before anything is written; where one is at fault
// nothing is.
func (i *importCommand) Run(ctx context.Context, c console) (err error) {
	log := newLog(c.err, i.LogLevel)
	contents, err := table.ReadContents(os.DirFS(i.Dir))
	var faults *table.Faults
	if errors.As(err, &faults) {
		fmt.Fprintln(c.err, faults)
		return exitError(exitWrong)
	}
	if err != nil {
		return err
	}
	db, err := i.Database.open(ctx, log)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, db.close()) }()
	if err := migrate(ctx, db.url, log); err != nil {
		return err
	}
	store, err := postgres.Open(ctx, db.url)
	if err != nil {
		return err
	}
	defer store.Close()
	revision, err := publish(ctx, store, i.Shop, i.Catalog, contents, i.Note)
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(c.out, "Published revision %d of %s: %d dampers, %d sleeves, %d spacers, %d adapters.\n", revision, i.Catalog,
		len(contents.Dampers), len(contents.Sleeves), len(contents.Spacers), len(contents.Adapters))
	return err
}
