package pgtest

import (
	"bufio"
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"
)

// containerProgram runs a Postgres in a container. The first test that needs it makes
// go run compile it, and the next ones find it in Go's cache.
const containerProgram = "midstroke/internal/postgres/pgtest/container"

// container starts a server in a container.
func container(ctx context.Context) (*server, error) {
	p, url, err := startContainer(ctx)
	if err != nil {
		return nil, err
	}
	for {
		conn, err := pgx.Connect(ctx, url)
		if err == nil {
			return &server{url: url, stop: p.end}, conn.Close(ctx)
		}
		select {
		case <-ctx.Done():
			return nil, errors.Join(fmt.Errorf("wait for Postgres in a container: %w", err), p.end(ctx))
		case <-time.After(50 * time.Millisecond):
		}
	}
}

// engine asks whether a Docker engine answers. The error is errNoWay if none does.
func engine(ctx context.Context) error {
	p, _, err := startContainer(ctx, "-ask")
	if err != nil {
		return err
	}
	return p.end(ctx)
}

// startContainer starts the program and gives what it says.
func startContainer(ctx context.Context, args ...string) (*program, string, error) {
	if !maybeEngine() {
		return nil, "", fmt.Errorf("a Docker engine: %w", errNoWay)
	}
	p, said, err := startProgram(ctx, exec.Command("go", append([]string{"run", containerProgram}, args...)...))
	if err != nil {
		return nil, "", fmt.Errorf("%s: %w", containerProgram, err)
	}
	if why, ok := strings.CutPrefix(said, "none: "); ok {
		return nil, "", errors.Join(fmt.Errorf("a Docker engine: %w (%s)", errNoWay, why), p.end(ctx))
	}
	return p, said, nil
}

// maybeEngine looks where the program looks for a Docker engine. Most machines have
// nothing there, and needn't compile it.
func maybeEngine() bool {
	if os.Getenv("DOCKER_HOST") != "" || runtime.GOOS == "windows" {
		return true
	}
	home, _ := os.UserHomeDir()
	for _, path := range []string{
		filepath.Join(home, ".testcontainers.properties"),
		"/var/run/docker.sock",
		filepath.Join(os.Getenv("XDG_RUNTIME_DIR"), "docker.sock"),
		filepath.Join(home, ".docker", "run", "docker.sock"),
		filepath.Join(home, ".docker", "desktop", "docker.sock"),
		fmt.Sprintf("/run/user/%d/docker.sock", os.Getuid()),
	} {
		if _, err := os.Stat(path); err == nil {
			return true
		}
	}
	return false
}

// program is one that says a line and then goes on until its standard input closes.
// It thus ends with this process, however that ends.
type program struct {
	input  io.Closer
	faults bytes.Buffer // its standard error
	ended  chan error   // gets one error or nil
}

// startProgram starts a program and waits for its line.
func startProgram(ctx context.Context, cmd *exec.Cmd) (*program, string, error) {
	p := &program{ended: make(chan error, 1)}
	cmd.Env = append(cmd.Environ(), "CGO_ENABLED=0") // as make build has compiled most of it
	cmd.Stderr = &p.faults
	input, err := cmd.StdinPipe()
	if err != nil {
		return nil, "", err
	}
	p.input = input
	output, err := cmd.StdoutPipe()
	if err != nil {
		return nil, "", err
	}
	if err := cmd.Start(); err != nil {
		return nil, "", err
	}
	lines := make(chan string, 1)
	go func() {
		line, _ := bufio.NewReader(output).ReadString('\n')
		lines <- strings.TrimSpace(line)
		p.ended <- cmd.Wait()
	}()
	select {
	case line := <-lines:
		if line == "" {
			return nil, "", errors.Join(errors.New("it ended without a word"), p.end(ctx))
		}
		return p, line, nil
	case <-ctx.Done():
		return nil, "", errors.Join(ctx.Err(), p.end(ctx))
	}
}

// end closes the program's standard input and waits until it has ended. It does so
// where ctx is done as well.
func (p *program) end(ctx context.Context) error {
	ctx, cancel := context.WithTimeout(context.WithoutCancel(ctx), patience)
	defer cancel()
	_ = p.input.Close() // closed already where the program has ended
	select {
	case err := <-p.ended:
		if err != nil {
			return fmt.Errorf("%w: %s", err, bytes.TrimSpace(p.faults.Bytes()))
		}
		return nil
	case <-ctx.Done():
		return errors.New("it goes on although its standard input is closed")
	}
}
