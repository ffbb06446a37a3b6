//go:build unix

package pglocal_test

import (
	"context"
	"fmt"
	"log"
	"os"

	"github.com/jackc/pgx/v5"

	"midstroke/internal/pglocal"
)

// A server in a folder of the caller's choice, for as long as it is needed.
func ExampleStart() {
	ctx := context.Background()
	dir, err := os.MkdirTemp("", "example")
	if err != nil {
		log.Fatal(err)
	}
	defer os.RemoveAll(dir)
	if err := os.Chmod(dir, 0o711); err != nil { // under root Postgres runs as another user
		log.Fatal(err)
	}

	srv, err := pglocal.Start(ctx, pglocal.Config{Dir: dir})
	if err != nil {
		log.Fatal(err)
	}
	defer func() {
		if err := srv.Stop(ctx); err != nil {
			log.Fatal(err)
		}
	}()

	conn, err := pgx.Connect(ctx, srv.URL())
	if err != nil {
		log.Fatal(err)
	}
	defer conn.Close(ctx)
	var who, where string
	if err := conn.QueryRow(ctx, "SELECT current_user, current_database()").Scan(&who, &where); err != nil {
		log.Fatal(err)
	}
	fmt.Println(who, "in", where)
	// Output: midstroke in midstroke
}
