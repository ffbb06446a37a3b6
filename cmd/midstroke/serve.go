package main

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"os/signal"
	"strings"
	"syscall"
	"time"

	"github.com/alecthomas/kong"
	"github.com/prometheus/client_golang/prometheus"

	"midstroke/internal/contract"
	"midstroke/internal/httpapi"
	"midstroke/internal/library"
	"midstroke/internal/limit"
	"midstroke/internal/logbuffer"
	"midstroke/internal/postgres"
	"midstroke/internal/shop"
	"midstroke/internal/webhook"
)

type serveCommand struct {
	Listen        string        `env:"MIDSTROKE_LISTEN" default:"127.0.0.1:8080" placeholder:"HOST:PORT" help:"Address to listen on. Port 0 takes any free port. Default: ${default}."`
	Database      databaseFlags `embed:""`
	KeeperURL     string        `name:"keeper-url" env:"MIDSTROKE_KEEPER_URL" placeholder:"URL" help:"The same database for the role that loads catalogues and reads keys; see midstroke rights. Default: the database's URL."`
	StopDelay     time.Duration `name:"stop-delay" env:"MIDSTROKE_STOP_DELAY" default:"3s" least:"0" help:"How long to go on answering after SIGTERM, with /readyz at 503, so that a proxy can turn elsewhere. Ctrl-C stops without it. Default: ${default}."`
	Memory        *byteSize     `name:"memory" env:"MIDSTROKE_MEMORY" placeholder:"SIZE" help:"Limit of the memory for catalogues, such as 512MiB or 2GiB. Beyond it the least used ones are dropped, and loaded again when they are asked for. 0: no limit. Default: half of what the container has, if that is limited."`
	HeapFloor     byteSize      `name:"heap-floor" env:"MIDSTROKE_HEAP_FLOOR" default:"128MiB" placeholder:"SIZE" help:"How much may be allocated between two garbage collections, at least. More of it makes small catalogues faster. 0, or GOGC in the environment: as Go does it. Default: ${default}."`
	Rates         rateFlags     `embed:""`
	SlowestUpload byteSize      `name:"slowest-upload" env:"MIDSTROKE_SLOWEST_UPLOAD" default:"1KiB" placeholder:"SIZE" help:"How much of an uploaded file must come in a second, on average over 10 s. 0: only the limit of 10 minutes. Default: ${default}."`
	KeepRevisions int           `name:"keep-revisions" env:"MIDSTROKE_KEEP_REVISIONS" default:"0" least:"0" placeholder:"N" help:"How many published revisions of each catalogue are kept, beside the one that answers come from. 0: all. Default: ${default}."`
	MostRevisions int           `name:"most-revisions" env:"MIDSTROKE_MOST_REVISIONS" default:"0" least:"0" placeholder:"N" help:"How many revisions a shop may store, drafts among them. 0: no limit. Default: ${default}."`
	MostParts     int           `name:"most-parts" env:"MIDSTROKE_MOST_PARTS" default:"0" least:"0" placeholder:"N" help:"How many parts a shop may store in all its revisions. 0: no limit. Default: ${default}."`
	KeepDrafts    time.Duration `name:"keep-drafts" env:"MIDSTROKE_KEEP_DRAFTS" default:"720h" least:"0" help:"How long drafts are kept that nobody reads or compares. 0: for ever. Default: ${default}."`
	KeepQuotes    time.Duration `name:"keep-quotes" env:"MIDSTROKE_KEEP_QUOTES" default:"0" least:"0" help:"How long quotes are kept that nobody changes, such as 17520h for two years, and at least 24h. Then they are erased. 0: for ever. Default: ${default}."`
	Receivers     []network     `name:"webhook-networks" env:"MIDSTROKE_WEBHOOK_NETWORKS" placeholder:"NETWORK" help:"Addresses or networks that webhooks may lead to although they are private, and without encryption, separated by commas. Default: none."`
	KeepBatches   time.Duration `name:"keep-batches" env:"MIDSTROKE_KEEP_BATCHES" default:"168h" least:"0" help:"How long the answers to files of requests are kept that were answered in the background. Default: ${default}, which is 7 days."`
	CheckContract bool          `name:"check-contract" env:"MIDSTROKE_CHECK_CONTRACT" help:"Log how requests and answers differ from the contract. For staging, since it makes every answer slower."`
	LogOneIn      int           `name:"log-one-in" env:"MIDSTROKE_LOG_ONE_IN" default:"1" least:"0" placeholder:"N" help:"Log one in N of the requests that went well, by chance. 1: each. Default: ${default}."`
	Foreground    bool          `name:"foreground" hidden:"" help:"Take the terminal from whatever started this, for make run."`
	LogLevel      slog.Level    `name:"log-level" env:"MIDSTROKE_LOG_LEVEL" default:"info" help:"Lowest level that is logged: debug, info, warn or error. Default: ${default}."`
}

// Validate refuses what is below the least of its setting. Times and counts below zero
// could be taken for "for ever".
func (s *serveCommand) Validate(parsed *kong.Context) error {
	if err := belowLeast(parsed.Flags()); err != nil {
		return err
	}
	if s.KeepQuotes > 0 && s.KeepQuotes < postgres.KeptFor {
		return fmt.Errorf("--keep-quotes must be 0, or at least %.0fh: a request that is sent again within that time is answered with the quote that it kept", postgres.KeptFor.Hours())
	}
	return nil
}

// belowLeast finds a setting, a whole number or a time, that is below what stands as its
// `least` where the setting is declared.
func belowLeast(flags []*kong.Flag) error {
	for _, f := range flags {
		if !f.Tag.Has("least") {
			continue
		}
		least, err := f.Tag.GetInt("least")
		if err != nil {
			return fmt.Errorf("the least of --%s: %w", f.Name, err)
		}
		if f.Target.Int() < least {
			return fmt.Errorf("--%s must not be below %d", f.Name, least)
		}
	}
	return nil
}

// Run listens first, so that /healthz answers before the database does. It stops
// in the opposite order.
func (s *serveCommand) Run(ctx context.Context, c console) error {
	// A log whose reader has gone doesn't end the service, nor does one that
	// nobody reads hold it up.
	signal.Ignore(syscall.SIGPIPE)
	if s.Foreground {
		defer takeTerminal()()
	}
	lines := logbuffer.New(c.err, 0)
	defer lines.Close(logTimeout)
	log := newLog(lines, s.LogLevel)
	var check *contract.Checker
	if s.CheckContract {
		var err error
		if check, err = contract.New(); err != nil {
			return err
		}
		log.Warn("requests and answers are checked against the contract, which makes every answer slower")
	}
	go floorHeap(ctx, s.HeapFloor.bytes)
	threads := limit.NewThreads()
	supervisor := newSupervisor(s.Database, s.boundMemory(log), threads, log)
	supervisor.keeperURL = s.KeeperURL
	supervisor.keepDrafts, supervisor.keepRevisions, supervisor.keepQuotes, supervisor.keepBatches = s.KeepDrafts, s.KeepRevisions, s.KeepQuotes, s.KeepBatches
	spans, err := tracing(ctx, c.err)
	if err != nil {
		return err
	}
	supervisor.spans = spans
	receivers := webhook.Policy{Allowed: prefixes(s.Receivers)}
	supervisor.sender = webhook.NewSender(receivers, versionText())
	config := httpapi.Config{
		Library: supervisor.library, Catalog: demoCatalog, Keys: &supervisor.keys, FindKey: supervisor.findKey, Revisions: supervisor.revisions, Quotes: supervisor.quotes, Batches: supervisor.batches, Stock: supervisor.stock, Stocks: &supervisor.stocks,
		Webhooks: supervisor.webhooks, Receivers: receivers,
		Confirmed: supervisor.confirmed, Check: check, Log: log, LogOneIn: s.LogOneIn, LostLines: lines.Lost,
		Limits: s.Rates.limits(threads), Pace: httpapi.Pace{Least: s.SlowestUpload.bytes},
		Quota:      shop.Quota{Revisions: s.MostRevisions, Parts: s.MostParts},
		Collectors: []prometheus.Collector{newPoolCollector(supervisor.store.Load)},
	}
	if spans != nil {
		config.Tracer = spans
	}
	handler, err := httpapi.New(config)
	if err != nil {
		return err
	}
	supervisor.rowsTurn = handler.RowsTurn
	l, err := net.Listen("tcp", s.Listen)
	if err != nil {
		return fmt.Errorf("cannot listen on %s: %w; name another address with --listen (MIDSTROKE_LISTEN), such as 127.0.0.1:8081, or port 0 for any free one", s.Listen, err)
	}
	log.Info("listening", "address", l.Addr().String())
	base, err := baseURL(l.Addr().String())
	if err != nil {
		return err
	}
	supervisor.origins = ownOrigins(base)
	context.AfterFunc(ctx, func() { log.Info("stopping; finishing what was begun") })
	// The supervisor goes on while requests are finished, so it doesn't end with
	// ctx. If it fails, serving ends as well.
	serving, stopServing := context.WithCancel(ctx)
	defer stopServing()
	supervising, stopSupervising := context.WithCancel(context.WithoutCancel(ctx))
	supervised := make(chan error, 1)
	go func() {
		defer stopServing()
		supervised <- supervisor.run(supervising)
	}()
	go greet(serving, c, base, supervisor)

	err = handler.Serve(serving, l, httpapi.Stop{Delay: s.stopDelay(ctx, supervisor.library)})
	stopSupervising()
	return errors.Join(err, <-supervised, endTracing(spans))
}

// logTimeout is how long the last lines of the log may take to be written.
const logTimeout = time.Second

// stopDelay is how long to go on answering after ctx has ended. Whoever pressed
// Ctrl-C doesn't wait for a balancer, and no balancer uses a service that was never ready.
func (s *serveCommand) stopDelay(ctx context.Context, l *library.Library) func() time.Duration {
	return func() time.Duration {
		if errors.Is(context.Cause(ctx), errInterrupted) || !l.Ready() {
			return 0
		}
		return s.StopDelay
	}
}

// greet prints how to use the service as soon as it can answer.
func greet(ctx context.Context, c console, base string, s *supervisor) {
	tick := time.NewTicker(20 * time.Millisecond)
	defer tick.Stop()
	for !s.library.Ready() {
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
		}
	}
	fmt.Fprintf(c.out, "midstroke answers on %s (Ctrl-C stops it). To try it:\n\n%s\n\nThe contract: %s/docs\n", base, httpapi.CurlLink(base), base)
	if s.database.DatabaseURL != "" {
		fmt.Fprintln(c.out, "\nTo make a key, as the owner of the database's tables: midstroke key create --shop NAME --use admin")
	}
	if keys := s.newKeys.Swap(nil); keys != nil {
		fmt.Fprintf(c.out, "\nThe shop %s has these new keys, which are shown only once (send one as Authorization: Bearer KEY):\n\n  %s\n", demoCatalog, strings.Join(*keys, "\n  "))
	}
}

// ownOrigins are the web origins under which a browser on this machine reaches
// the service.
func ownOrigins(base string) []string {
	return []string{base, "http://localhost" + base[strings.LastIndex(base, ":"):]}
}
