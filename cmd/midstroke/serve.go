package main

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"strings"
	"time"

	"midstroke/internal/contract"
	"midstroke/internal/httpapi"
)

type serveCommand struct {
	Listen        string        `env:"MIDSTROKE_LISTEN" default:"127.0.0.1:8080" placeholder:"HOST:PORT" help:"Address to listen on; port 0 takes any that is free. Default: ${default}."`
	Database      databaseFlags `embed:""`
	StopDelay     time.Duration `name:"stop-delay" env:"MIDSTROKE_STOP_DELAY" default:"0s" help:"How long to go on answering, with /readyz at 503, after being told to stop. Default: ${default}."`
	Memory        byteSize      `name:"memory" env:"MIDSTROKE_MEMORY" default:"0" placeholder:"SIZE" help:"Ceiling of the catalogues held in memory, as 512MiB or 2GiB; the least used are let go and loaded again when asked for. 0 sets none. Default: ${default}."`
	CheckContract bool          `name:"check-contract" env:"MIDSTROKE_CHECK_CONTRACT" help:"Log how requests and answers differ from the contract; for staging, as it makes every answer slower."`
	LogLevel      slog.Level    `name:"log-level" env:"MIDSTROKE_LOG_LEVEL" default:"info" help:"Least level that is logged: debug, info, warn or error. Default: ${default}."`
}

// Run listens first, so that /healthz answers while the database is still on
// its way, and stops in the opposite order.
func (s *serveCommand) Run(ctx context.Context, c console) error {
	log := newLog(c.err, s.LogLevel)
	var check *contract.Checker
	if s.CheckContract {
		var err error
		if check, err = contract.New(); err != nil {
			return err
		}
		log.Warn("requests and answers are checked against the contract, which makes every answer slower")
	}
	keeper := newKeeper(s.Database, s.Memory.bytes, log)
	handler, err := httpapi.New(httpapi.Config{
		Library: keeper.library, Catalog: demoCatalog, Keys: &keeper.keys, FindKey: keeper.findKey, Revisions: keeper.revisions,
		Confirmed: keeper.confirmed, Check: check, Log: log,
	})
	if err != nil {
		return err
	}
	l, err := net.Listen("tcp", s.Listen)
	if err != nil {
		return fmt.Errorf("cannot listen on %s: %w", s.Listen, err)
	}
	log.Info("listening", "address", l.Addr().String())
	base, err := baseURL(l.Addr().String())
	if err != nil {
		return err
	}
	keeper.origins = ownOrigins(base)
	context.AfterFunc(ctx, func() { log.Info("told to stop; finishing what began") })
	// The keeper goes on while requests are finished, so it does not end with
	// ctx; if it fails there is nothing to serve.
	serving, giveUp := context.WithCancel(ctx)
	defer giveUp()
	keeping, stopKeeping := context.WithCancel(context.WithoutCancel(ctx))
	kept := make(chan error, 1)
	go func() {
		defer giveUp()
		kept <- keeper.run(keeping)
	}()
	go greet(serving, c, base, keeper)

	err = handler.Serve(serving, l, httpapi.Stop{Delay: s.StopDelay})
	stopKeeping()
	return errors.Join(err, <-kept)
}

// greet tells a person where to go as soon as there is something to ask.
func greet(ctx context.Context, c console, base string, k *keeper) {
	look := time.NewTicker(20 * time.Millisecond)
	defer look.Stop()
	for !k.library.Ready() {
		select {
		case <-ctx.Done():
			return
		case <-look.C:
		}
	}
	fmt.Fprintf(c.out, "midstroke answers on %s (Ctrl-C stops it). To try it:\n\n%s\n\nThe contract to read: %s/docs\n", base, httpapi.CurlLink(base), base)
	if shown := k.shown.Swap(nil); shown != nil {
		fmt.Fprintf(c.out, "\nThe shop %s has these keys now, which are shown this once (send one as Authorization: Bearer KEY):\n\n  %s\n", demoCatalog, strings.Join(*shown, "\n  "))
	}
}

// ownOrigins are the web origins under which a browser on this machine reaches
// the service.
func ownOrigins(base string) []string {
	return []string{base, "http://localhost" + base[strings.LastIndex(base, ":"):]}
}
