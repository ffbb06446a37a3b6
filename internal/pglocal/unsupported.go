//go:build !unix

package pglocal

import (
	"context"
	"errors"
	"log/slog"
)

var errUnsupported = errors.New("a private Postgres can be started only on Linux, macOS and the BSDs: name a Postgres of your own in DATABASE_URL")

// Server is a private Postgres; there is none on this system.
type Server struct{}

// Start always fails here.
func Start(context.Context, Config) (*Server, error) { return nil, errUnsupported }

// Installed always fails here.
func Installed(context.Context) error { return errUnsupported }

// Attach always fails here.
func Attach(context.Context, string) (string, error) { return "", errUnsupported }

// Temporary always fails here.
func Temporary(context.Context, *slog.Logger) (*Server, error) { return nil, errUnsupported }

// URL is empty here.
func (*Server) URL() string { return "" }

// LoginURL is empty here.
func (*Server) LoginURL(string) string { return "" }

// Done is never closed here.
func (*Server) Done() <-chan struct{} { return nil }

// New is false here.
func (*Server) New() bool { return false }

// Discard does nothing here.
func (*Server) Discard(context.Context) error { return nil }

// Stop does nothing here.
func (*Server) Stop(context.Context) error { return nil }
