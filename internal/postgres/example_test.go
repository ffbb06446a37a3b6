package postgres_test

import (
	"context"
	"fmt"
	"log"
	"testing"

	"midstroke/internal/catalog"
	"midstroke/internal/mount"
	"midstroke/internal/postgres"
	"midstroke/internal/postgres/pgtest"
	"midstroke/internal/unit"
)

// Publishing gives a revision its number; reading gives it back as a snapshot
// that never changes.
func ExampleStore_Publish() {
	examples(func(ctx context.Context, url string) {
		store, err := postgres.Open(ctx, url)
		if err != nil {
			log.Fatal(err)
		}
		defer store.Close()
		if err := store.EnsureCatalog(ctx, "corner garage", "own"); err != nil {
			log.Fatal(err)
		}
		number, err := store.Publish(ctx, "own", catalog.Contents{
			Currency: "EUR",
			Limits:   mount.UsualLimits(),
			Spacers:  []mount.Spacer{{Code: "ring", Bore: 13 * unit.Millimetre, Thickness: unit.Inch / 64, Price: 120}},
		}, "the first of our own")
		if err != nil {
			log.Fatal(err)
		}
		snapshot, err := store.Newest(ctx, "own")
		if err != nil {
			log.Fatal(err)
		}
		fmt.Println(number, snapshot.Revision(), snapshot.Spacers()[0].Thickness.Text(unit.Inches))
	})
	// Output: 1 1 1/64 in
}
