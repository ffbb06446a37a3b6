package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net/url"
	"os"
	"path/filepath"

	"github.com/schollz/progressbar/v3"

	"midstroke/internal/batch"
	"midstroke/internal/table"
	"midstroke/internal/wire"
)

type batchCommand struct {
	File     string     `arg:"" type:"existingfile" help:"The requests: CSV, a workbook, or a JSON object a line."`
	Out      string     `short:"o" help:"Where the answers go. Default: standard output."`
	Pick     []string   `help:"Values to add to each row, such as damper.code. Default: a good set."`
	Keep     []string   `help:"Columns that are only kept although their names are nearly those of a request."`
	Units    string     `enum:"in,mm," default:"" help:"Units of the rows that don't name their own: in or mm."`
	Catalog  string     `help:"The catalogue to answer from. Default: demo, or with --url the key's own."`
	Revision int        `help:"Its revision. Default: the newest."`
	URL      string     `name:"url" help:"Ask the service at this address instead of answering here."`
	Key      string     `env:"MIDSTROKE_KEY" help:"The key for that service."`
	Store    storeFlags `embed:""`
}

// Run answers a file of requests. Where it is stopped, no part of the answers is left.
func (b *batchCommand) Run(ctx context.Context, c console) error {
	in, err := os.Open(b.File)
	if err != nil {
		return err
	}
	defer func() { _ = in.Close() }() // it was only read
	info, err := in.Stat()
	if err != nil {
		return err
	}
	file := table.File{Name: filepath.Base(b.File), Data: in, Size: info.Size()}
	err = b.into(c.out, func(out io.Writer) error {
		if b.URL != "" {
			return b.ask(ctx, c, in, file, out)
		}
		return b.answer(ctx, c, file, out)
	})
	var faults *table.Faults
	switch {
	case errors.As(err, &faults):
		fmt.Fprintf(c.err, "midstroke: the file has faults:\n%v\n", faults)
		return exitError(exitWrong)
	case ctx.Err() != nil:
		fmt.Fprintln(c.err, "midstroke: stopped; nothing was written")
		return exitError(exitFailed)
	}
	return err
}

// into calls write with where the answers go. A file comes to its name only when it is
// whole.
func (b *batchCommand) into(out io.Writer, write func(io.Writer) error) (err error) {
	if b.Out == "" {
		return write(out)
	}
	part, err := os.CreateTemp(filepath.Dir(b.Out), ".midstroke-*")
	if err != nil {
		return err
	}
	if err := errors.Join(write(part), part.Chmod(0o644), part.Close()); err != nil {
		return errors.Join(err, os.Remove(part.Name()))
	}
	return os.Rename(part.Name(), b.Out)
}

// answer answers the file here.
func (b *batchCommand) answer(ctx context.Context, c console, file table.File, out io.Writer) error {
	picks, wrong := wire.ReadPicks(b.Pick)
	if len(wrong) > 0 {
		return wrong
	}
	rows, err := batch.Count(file, table.MostRows)
	if err != nil {
		return err
	}
	from := fitCommand{Store: b.Store}
	snapshot, err := from.snapshot(ctx, newLog(c.err, b.Store.LogLevel), &wire.FitsRequest{Catalog: b.Catalog, Revision: b.Revision})
	if err != nil {
		return err
	}
	bar := newBar(c.err, int64(rows), "rows")
	defaults := url.Values{}
	if b.Units != "" {
		defaults.Set("units", b.Units)
	}
	for i := range b.Keep {
		b.Keep[i], _ = table.ColumnName(b.Keep[i])
	}
	opened, err := batch.Open(file, batch.Config{
		Snapshot: snapshot, Edition: wire.EditionOf(snapshot),
		Language: "en", Picks: picks, Keep: b.Keep, Defaults: defaults,
		Progress: func(rows int) { _ = bar.Set(rows) },
	})
	if err != nil {
		return err
	}
	defer func() { _ = opened.Close() }() // it was only read
	summary, err := opened.Answer(ctx, out)
	_ = bar.Exit()
	if err == nil && summary.Faults > 0 {
		fmt.Fprintf(c.err, "midstroke: %d of %d rows have faults; see the column answer_fault\n", summary.Faults, summary.Rows)
	}
	return err
}

// newBar shows on a terminal how far the work is, and nothing elsewhere.
func newBar(to io.Writer, most int64, what string) *progressbar.ProgressBar {
	if !isTerminal(to) {
		to = io.Discard
	}
	return progressbar.NewOptions64(most, progressbar.OptionSetWriter(to), progressbar.OptionSetDescription(what),
		progressbar.OptionShowCount(), progressbar.OptionShowIts(), progressbar.OptionThrottle(progressEvery),
		progressbar.OptionSetPredictTime(true), progressbar.OptionClearOnFinish())
}

// batchTypes are the media types of files, by their ending.
var batchTypes = map[string]string{
	".csv": "text/csv", ".ndjson": "application/x-ndjson", ".jsonl": "application/x-ndjson",
	".xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
}
