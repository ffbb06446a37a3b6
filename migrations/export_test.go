package migrations

import (
	"context"

	"github.com/pressly/goose/v3"
)

// Down undoes every step.
func Down(ctx context.Context, url string) error {
	return with(ctx, url, func(p *goose.Provider) error {
		_, err := p.DownTo(ctx, 0)
		return err
	})
}
