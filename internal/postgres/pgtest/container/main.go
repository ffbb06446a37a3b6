// Command container runs a Postgres in a container for the tests.
//
// Package pgtest starts it where a machine has no Postgres of its own. It is a
// program by itself because a Docker client is large: in pgtest it would be
// compiled and linked into the tests of every package that uses a database.
//
// It prints one line: the URL of the server, or "none: " and why no Docker
// engine answers. The server may not take connections yet. When standard input
// closes, it stops the container and ends, so that a test that is killed leaves
// none behind. With -ask it starts nothing and prints "engine" in place of the URL.
package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"os/signal"
	"syscall"
	"time"

	"github.com/testcontainers/testcontainers-go"
	"github.com/testcontainers/testcontainers-go/log"
	pgcontainer "github.com/testcontainers/testcontainers-go/modules/postgres"
)

// imageEnv names another image, such as one that is there already.
const imageEnv = "TEST_POSTGRES_IMAGE"

const (
	defaultImage = "postgres:15-alpine"
	data         = "/midstroke-test"
	// patience bounds the end of the container.
	patience = time.Minute
)

func main() {
	ask := flag.Bool("ask", false, "only say whether a Docker engine answers")
	flag.Parse()
	log.SetDefault(log.NewNoopLogger())
	// Ctrl-C comes here as well as to the tests. They end, and so standard input closes.
	signal.Ignore(os.Interrupt, syscall.SIGTERM)
	ctx, cancel := context.WithCancel(context.Background())
	go func() {
		_, _ = io.Copy(io.Discard, os.Stdin)
		cancel()
	}()
	if err := run(ctx, *ask); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}

func run(ctx context.Context, ask bool) error {
	if err := engine(ctx); err != nil {
		fmt.Printf("none: %q\n", err) // %q, since it may have several lines
		return nil
	}
	if ask {
		fmt.Println("engine")
		return nil
	}
	c, url, err := start(ctx)
	if err == nil {
		fmt.Println(url)
		<-ctx.Done()
	}
	end, cancel := context.WithTimeout(context.Background(), patience)
	defer cancel()
	return errors.Join(err, testcontainers.TerminateContainer(c, testcontainers.StopContext(end), testcontainers.StopTimeout(0)))
}

// engine asks whether a Docker engine answers.
func engine(ctx context.Context) (err error) {
	defer func() {
		if r := recover(); r != nil { // testcontainers panics where it finds no sign of one
			err = fmt.Errorf("%v", r)
		}
	}()
	provider, err := testcontainers.ProviderDefault.GetProvider()
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, provider.Close()) }()
	return provider.Health(ctx)
}

// start gives a container, which is to be ended even where there is an error, and the
// URL of its Postgres. Where this program is killed, testcontainers' own reaper ends
// the container.
func start(ctx context.Context) (c *pgcontainer.PostgresContainer, url string, err error) {
	image := os.Getenv(imageEnv)
	if image == "" {
		image = defaultImage
	}
	// No strategy of waiting: a port that takes connections says little,
	// since the engine's proxy takes them before Postgres does.
	c, err = pgcontainer.Run(ctx, image,
		pgcontainer.WithUsername("postgres"), pgcontainer.WithPassword("postgres"), pgcontainer.WithDatabase("postgres"),
		// In memory, since a database is a few hundred small files.
		testcontainers.WithEnv(map[string]string{"PGDATA": data}),
		testcontainers.WithTmpfs(map[string]string{data: "rw"}),
		testcontainers.WithCmd("postgres", "-c", "fsync=off", "-c", "full_page_writes=off", "-c", "max_connections=200"),
	)
	if err != nil {
		return c, "", fmt.Errorf("start a container of %s (%s names another image): %w", image, imageEnv, err)
	}
	url, err = c.ConnectionString(ctx, "sslmode=disable")
	return c, url, err
}
