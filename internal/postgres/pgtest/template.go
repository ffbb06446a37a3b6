package pgtest

import (
	"context"
	"fmt"
	"math/rand/v2"
	"time"

	"github.com/jackc/pgx/v5"

	"midstroke/migrations"
)

// makeTemplate gives the name of a database with every migration applied, for
// others to be copied from: a copy takes a tenth of what the migrations take.
//
// Each test binary makes a template of its own, since binaries may have different
// migrations. A server that outlives the binary keeps it for a day.
func makeTemplate(s *server) (string, error) {
	ctx, cancel := context.WithTimeout(context.Background(), patience)
	defer cancel()
	name := templatePrefix + time.Now().UTC().Format(stamp) + fmt.Sprintf("_%08x", rand.Uint32())
	if err := s.exec("CREATE DATABASE " + name + " " + s.owner() + " TEMPLATE template0"); err != nil {
		return "", err
	}
	stop := s.stop
	s.stop = func(ctx context.Context) error {
		conn, err := pgx.Connect(ctx, s.url)
		if err == nil {
			_, err = conn.Exec(ctx, "DROP DATABASE IF EXISTS "+name+" WITH (FORCE)")
			_ = conn.Close(ctx)
		}
		if endErr := stop(ctx); endErr != nil {
			return endErr
		}
		return err
	}
	if _, err := migrations.Up(ctx, s.database(name)); err != nil {
		return "", err
	}
	return name, nil
}
