package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"os"

	"midstroke/internal/catalog"
	"midstroke/internal/fit"
	"midstroke/internal/postgres"
	"midstroke/internal/shop"
	"midstroke/internal/wire"
	"midstroke/migrations"
	"midstroke/testdata/demo"
)

type fitCommand struct {
	Table bool       `xor:"form" help:"Answer as a table for people. Default on a terminal."`
	JSON  bool       `xor:"form" name:"json" help:"Answer as JSON. Default in a pipe or a file."`
	Store storeFlags `embed:""`
}

// mostRequest is the longest request that is read, as over HTTP.
const mostRequest = 1 << 20

// Run answers the request on standard input. The catalogue comes from the named
// database or from the private one. If there has never been a private one, it is
// the demo that comes with the program.
func (f *fitCommand) Run(ctx context.Context, c console) error {
	log := newLog(c.err, f.Store.LogLevel)
	body, err := io.ReadAll(io.LimitReader(c.in, mostRequest+1))
	if err != nil {
		return err
	}
	if len(body) > mostRequest {
		return f.refuse(c, fmt.Errorf("the request is longer than %d bytes", mostRequest))
	}
	request, err := wire.ReadFits(body)
	if err != nil {
		return f.refuse(c, err)
	}
	snapshot, err := f.snapshot(ctx, log, &request)
	if err != nil {
		return err
	}
	answer, found := fit.Find(&request.Fit, snapshot)
	if len(found) > 0 {
		return f.refuse(c, request.Place(found))
	}
	if f.Table || !f.JSON && isTerminal(c.out) {
		err = show(c.out, answer, snapshot, request.Units, "en")
	} else {
		from := wire.EditionOf(snapshot)
		_, err = c.out.Write(wire.AppendFits(nil, answer, &request, from, "en"))
	}
	if err == nil && answer.Outcome != fit.Fits {
		err = exitError(exitNone)
	}
	return err
}

// refuse prints what is wrong with a request, one fault per line.
func (f *fitCommand) refuse(c console, err error) error {
	var refused *wire.Refused
	if !errors.As(err, &refused) {
		fmt.Fprintf(c.err, "midstroke: %v\n", err)
		return exitError(exitWrong)
	}
	fmt.Fprintln(c.err, "midstroke: the request has faults:")
	for i := range refused.Faults {
		one := &refused.Faults[i]
		at := one.Pointer
		if at == "" {
			at = "the request"
		}
		text := one.Text("en", refused.Units)
		if cure := one.Cure("en", refused.Units); cure != "" {
			text += "; " + cure
		}
		fmt.Fprintf(c.err, "  %s: %s\n", at, text)
	}
	return exitError(exitWrong)
}

// snapshot gets the catalogue that the request names, or the demo.
func (f *fitCommand) snapshot(ctx context.Context, log *slog.Logger, r *wire.FitsRequest) (_ *catalog.Snapshot, err error) {
	name := r.Catalog
	if name == "" {
		name = demoCatalog
	}
	if f.Store.Database.DatabaseURL == "" {
		started, err := f.Store.Database.everStarted()
		if err != nil {
			return nil, err
		}
		if !started {
			return builtIn(name, r.Revision)
		}
	}
	db, err := f.Store.Database.open(ctx, log)
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, db.close()) }()
	// This command only reads, so it doesn't change tables either.
	if pending, err := migrations.Pending(ctx, db.url); err != nil {
		return nil, err
	} else if pending {
		return nil, errors.New("the database's tables are older than this program: run midstroke migrate, or serve, first")
	}
	store, err := postgres.Open(ctx, db.url)
	if err != nil {
		return nil, err
	}
	defer store.Close()
	if r.Revision != 0 {
		return store.Revision(ctx, shop.Place{Catalog: name}, r.Revision)
	}
	return store.Newest(ctx, name)
}

// builtIn gives the demo with the number of its first revision.
func builtIn(name string, revision int) (*catalog.Snapshot, error) {
	const first = 1
	if name != demoCatalog || revision > first {
		return nil, fmt.Errorf("catalogue %q, revision %d: %w (without a database there is only revision %d of %q)",
			name, revision, catalog.ErrNotFound, first, demoCatalog)
	}
	return catalog.NewSnapshot(demoCatalog, first, demo.Contents()), nil
}

// isTerminal says whether w is a terminal.
func isTerminal(w io.Writer) bool {
	file, ok := w.(*os.File)
	if !ok {
		return false
	}
	info, err := file.Stat()
	return err == nil && info.Mode()&os.ModeCharDevice != 0
}
