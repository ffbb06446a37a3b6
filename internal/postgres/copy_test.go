package postgres_test

import (
	"context"
	"errors"
	"fmt"
	"reflect"
	"strings"
	"testing"

	"github.com/jackc/pgx/v5/pgconn"

	"midstroke/internal/catalog"
	"midstroke/internal/shop"
)

// wide are contents whose dampers take several batches, for all that they are few.
func wide(t *testing.T) catalog.Contents {
	t.Helper()
	c := contents(t, 150)
	for i := range c.Dampers {
		c.Dampers[i].Description = strings.Repeat(fmt.Sprintf("%07d ", i), 12_500)
	}
	return c
}

func TestPublishInBatches(t *testing.T) {
	t.Parallel()
	s, _ := withCatalog(t)
	want := wide(t)
	publish(t, s, copied(want))
	got, err := s.Newest(t.Context(), "own")
	if err != nil {
		t.Fatal(err)
	}
	if !reflect.DeepEqual(got.Dampers(), catalog.NewSnapshot("own", 1, want).Dampers()) {
		t.Error("the dampers that came back are others")
	}
}

// TestADraftThatFailsMidway: whatever ends a draft after its first batches, nothing of
// it is left, and the connection that wrote it is of use to the next one.
func TestADraftThatFailsMidway(t *testing.T) {
	t.Parallel()
	unreadable := errors.New("the file can't be read any more")
	const half = 75
	for name, c := range map[string]struct {
		// at is called before the damper in the middle, and its error ends the parts.
		at func(cancel func()) error
		// change may spoil that damper.
		change func(*catalog.Damper)
		wanted func(error) bool
	}{
		"a file that ends":           {at: func(func()) error { return unreadable }, wanted: func(err error) bool { return err == unreadable }}, //nolint:errorlint // it comes back as it is
		"a request that is given up": {at: func(cancel func()) error { cancel(); return nil }, wanted: func(err error) bool { return err != nil }},
		"a refused row": {change: func(d *catalog.Damper) { d.Extended = d.Compressed }, wanted: func(err error) bool {
			var told *pgconn.PgError
			return errors.As(err, &told) && told.ConstraintName == "dampers_check"
		}},
		"a panic": {at: func(func()) error { panic(unreadable) }, wanted: func(err error) bool { return err == nil }},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			s, url := withCatalog(t)
			list := wide(t).Dampers
			if c.change != nil {
				c.change(&list[half])
			}
			ctx, cancel := context.WithCancel(t.Context())
			defer cancel()
			parts := shop.PartsOf(contents(t, 0))
			parts.Dampers = func(yield func(catalog.Damper, error) bool) {
				for i := range list {
					if i == half && c.at != nil {
						if err := c.at(cancel); err != nil {
							yield(catalog.Damper{}, err)
							return
						}
					}
					if !yield(list[i], nil) {
						return
					}
				}
			}
			func() {
				defer func() {
					if p := recover(); p != nil && name != "a panic" {
						panic(p)
					}
				}()
				_, err := s.Draft(ctx, shop.Place{Catalog: "own"}, parts, "", "a test", nil)
				if !c.wanted(err) {
					t.Errorf("the draft ended with %v", err)
				}
			}()
			if n := publish(t, s, contents(t, 20)); n != 1 {
				t.Errorf("the next revision is number %d, want 1", n)
			}
			if n := count(t, connect(t, url), "dampers", "true"); n != 20 {
				t.Errorf("there are %d dampers, and 20 are published", n)
			}
		})
	}
}
