package migrations

import (
	"context"
	"database/sql"

	"github.com/pressly/goose/v3"
)

// Down undoes every step.
func Down(ctx context.Context, url string) error { return DownTo(ctx, url, 0) }

// DownTo undoes the steps after one.
func DownTo(ctx context.Context, url string, step int64) error {
	return with(ctx, url, func(p *goose.Provider, _ *sql.DB) error {
		_, err := p.DownTo(ctx, step)
		return err
	})
}

// Newest is the number of the last step.
func Newest(ctx context.Context, url string) (number int64, err error) {
	err = with(ctx, url, func(p *goose.Provider, _ *sql.DB) error { number = newest(p); return nil })
	return number, err
}
