// Command midstroke finds the shock absorbers that fit a vehicle, from
// readings taken on it: as a service over HTTP, or for one request on the
// command line.
//
// Exit codes: 0 success (for fit: something fits); 1 failure, which the log
// explains; 2 a fault in the command line or in the request; 3 the request was
// answered, but nothing fits, the vehicle must be measured again, or the method
// doesn't apply.
package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"os"
	"os/signal"
	"syscall"
	"time"

	"github.com/alecthomas/kong"
)

func main() {
	os.Exit(run(untilStopped(), os.Args[1:], console{os.Stdin, os.Stdout, os.Stderr}))
}

// errInterrupted is why a context ends that a person ended, by Ctrl-C or by closing
// the terminal.
var errInterrupted = errors.New("interrupted")

// untilStopped gives a context that ends at the first signal to stop. A second
// Ctrl-C ends the program at once.
func untilStopped() context.Context {
	ctx, stop := context.WithCancelCause(context.Background())
	signals := make(chan os.Signal, 1)
	signal.Notify(signals, os.Interrupt, syscall.SIGTERM)
	if !signal.Ignored(syscall.SIGHUP) { // as nohup does
		signal.Notify(signals, syscall.SIGHUP)
	}
	go func() {
		var why error // context.Canceled
		if <-signals != syscall.SIGTERM {
			why = errInterrupted
		}
		signal.Stop(signals)
		stop(why)
	}()
	return ctx
}

// console is where a command reads from and writes to.
type console struct {
	in       io.Reader
	out, err io.Writer
}

// commands are the commands of the program with their settings.
type commands struct {
	Serve    serveCommand    `cmd:"" help:"Answer over HTTP until stopped."`
	Migrate  migrateCommand  `cmd:"" help:"Bring the database's tables up to date."`
	Rights   rightsCommand   `cmd:"" help:"Print the SQL that lets serve log in as roles that own nothing."`
	Fit      fitCommand      `cmd:"" help:"Answer one request from standard input."`
	Template templateCommand `cmd:"" help:"Write a workbook to fill in, with a note on each column."`
	Check    checkCommand    `cmd:"" help:"Say everything that is wrong with the files of a catalogue. Nothing is written."`
	Batch    batchCommand    `cmd:"" help:"Answer a file of requests: CSV, a workbook, or a JSON object a line."`
	Import   importCommand   `cmd:"" help:"Publish files, or a folder of CSV files, as the newest revision of a catalogue."`
	Backup   backupCommand   `cmd:"" help:"Write everything that the database keeps to a file."`
	Restore  restoreCommand  `cmd:"" help:"Fill an empty database from a backup."`
	Key      keyCommands     `cmd:"" help:"Make, list and revoke the keys that let shops in."`
	Ready    readyCommand    `cmd:"" help:"Ask a running service whether it can answer."`
	Licences licencesCommand `cmd:"" help:"Print the licences of everything that the program is built from."`
	Version  versionCommand  `cmd:"" help:"Print the version."`

	VersionFlag kong.VersionFlag `name:"version" help:"Print the version."`
}

// The exit codes.
const (
	exitDone   = 0
	exitFailed = 1
	exitWrong  = 2
	exitNone   = 3
)

// exitError ends a command with a code. The command has printed the reason.
type exitError int

func (e exitError) Error() string { return fmt.Sprintf("exit %d", int(e)) }

// run does what args say and gives the exit code.
func run(ctx context.Context, args []string, c console) int {
	var what commands
	left := -1 // the exit code after help or the version was shown
	parser, err := kong.New(&what, kong.Name("midstroke"), kong.UsageOnError(),
		kong.Description("Finds the shock absorbers that fit a vehicle, from readings taken on it."),
		kong.Vars{"version": versionLine()}, kong.Writers(c.out, c.err), kong.Exit(func(code int) { left = code }),
		kong.BindTo(ctx, (*context.Context)(nil)), kong.Bind(c))
	if err != nil {
		fmt.Fprintln(c.err, err)
		return exitFailed
	}
	parsed, err := parser.Parse(args)
	if left >= 0 {
		return left
	}
	if err != nil {
		fmt.Fprintf(c.err, "midstroke: %v; midstroke --help lists commands and flags\n", err)
		return exitWrong
	}
	err = parsed.Run()
	var code exitError
	switch {
	case err == nil:
		return exitDone
	case errors.As(err, &code):
		return int(code)
	}
	lastWords(c.err, fmt.Sprintf("midstroke: %v\n", err))
	return exitFailed
}

// lastWords writes why the program ends. It doesn't wait for ever for somebody
// to read it.
func lastWords(w io.Writer, text string) {
	written := make(chan struct{})
	go func() {
		defer close(written)
		_, _ = io.WriteString(w, text) // nothing is left to be told about it
	}()
	select {
	case <-written:
	case <-time.After(logTimeout):
	}
}

// newLog makes the log, one JSON object a line.
func newLog(w io.Writer, level slog.Level) *slog.Logger {
	return slog.New(slog.NewJSONHandler(w, &slog.HandlerOptions{Level: level}))
}
