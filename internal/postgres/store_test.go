package postgres_test

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"reflect"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"midstroke/internal/catalog"
	"midstroke/internal/mount"
	"midstroke/internal/postgres"
	"midstroke/internal/postgres/pgtest"
	"midstroke/internal/shop"
	"midstroke/internal/unit"
)

func TestMain(m *testing.M) { pgtest.Main(m) }

// connect is a plain connection that sees every shop's rows.
func connect(tb testing.TB, url string) *pgx.Conn {
	tb.Helper()
	conn, err := pgx.Connect(context.Background(), url)
	if err == nil {
		_, err = conn.Exec(context.Background(), "SET midstroke.shop = '*'")
	}
	if err != nil {
		tb.Fatal(err)
	}
	tb.Cleanup(func() { _ = conn.Close(context.Background()) })
	return conn
}

func open(tb testing.TB, url string) *postgres.Store {
	tb.Helper()
	s, err := postgres.Open(context.Background(), url)
	if err != nil {
		tb.Fatal(err)
	}
	tb.Cleanup(s.Close)
	return s
}

// withCatalog is a store that has the catalogue "own", without a revision.
func withCatalog(tb testing.TB) (s *postgres.Store, url string) {
	tb.Helper()
	url = pgtest.NewDatabase(tb)
	s = open(tb, url)
	if err := s.EnsureCatalog(context.Background(), "corner garage", "own"); err != nil {
		tb.Fatal(err)
	}
	return s, url
}

func publish(tb testing.TB, s *postgres.Store, contents catalog.Contents) int {
	tb.Helper()
	n, err := s.Publish(context.Background(), "own", contents, "a test's")
	if err != nil {
		tb.Fatal(err)
	}
	return n
}

// thread gives the thread of that name.
func thread(tb testing.TB, name string) mount.Thread {
	tb.Helper()
	bolt, err := mount.ParseBolt(name, unit.Unset)
	if err != nil {
		tb.Fatal(err)
	}
	return bolt.Thread
}

// contents invents parts that have every field filled somewhere, and left
// open elsewhere. They stand in no order.
func contents(tb testing.TB, dampers int) catalog.Contents {
	tb.Helper()
	const mm = unit.Millimetre
	ends := []mount.End{
		{Style: mount.Eye},
		{Style: mount.Eye, Bore: 3 * unit.Inch / 4, BoreIs: mount.Nominal, Width: 38*mm + 1},
		{Style: mount.Eye, Bore: 16 * mm, Width: 31 * mm},
		{Style: mount.Stud},
		{Style: mount.Stud, Thread: thread(tb, "M12x1.25"), UsableLength: 55 * mm, Spigot: 20 * mm},
		{Style: mount.Stud, Thread: thread(tb, "7/16-20 in"), UsableLength: 2 * unit.Inch},
		{Style: mount.BarPin, HoleSpacing: 61 * mm, Slot: 8 * mm, Hole: 11 * mm},
	}
	c := catalog.Contents{
		Currency: "EUR",
		Limits: mount.Limits{
			SleeveGapLeast: 1, SleeveGapMost: 2 * mm, BoltGapLeast: 3, BoltGapMost: 4 * mm, LeftOverMost: 5 * mm,
		},
		Sleeves: []mount.Sleeve{
			{Code: "s-2", Description: "for a ½ in bolt", Outer: 19 * mm, Bore: unit.Inch / 2, BoreIs: mount.Nominal, Length: 40 * mm, Price: mount.NoPrice},
			{Code: "S-1", Outer: 15_900_000, Bore: 10_300_000, Length: 31 * mm, InStock: true, Price: 450},
		},
		Spacers: []mount.Spacer{
			{Code: "p-1", Bore: 10_500_000, Thickness: unit.Inch / 64, InStock: true, Price: 0},
			{Code: "P-1", Description: "thick", Bore: 10_500_000, Thickness: 5 * mm, Price: mount.NoPrice},
		},
		Adapters: []mount.Adapter{
			{Code: "a-1", Description: "stud to bar pin", From: ends[4], To: ends[6], AddsLength: -12_345_678, InStock: true, Price: 2_999},
			{Code: "a-0", From: ends[3], To: ends[0], Price: mount.NoPrice},
		},
	}
	rnd := rand.New(rand.NewPCG(1, 2))
	for i := range dampers {
		compressed := unit.Length(250_000_000 + rnd.Int64N(200_000_000))
		d := catalog.Damper{
			Code:            fmt.Sprintf("d-%06d", i),
			Construction:    catalog.TwinTube,
			Compressed:      compressed,
			Extended:        compressed + unit.Length(60_000_000+rnd.Int64N(100_000_000)),
			BodyDiameter:    unit.Length(40_000_000 + rnd.Int64N(30_000_000)),
			LengthTolerance: unit.Length(rnd.Int64N(3_000_000)),
			Adjusters:       catalog.Adjusters(rnd.IntN(8)),
			Upper:           ends[rnd.IntN(len(ends))],
			Lower:           ends[rnd.IntN(len(ends))],
			Invertible:      rnd.IntN(2) == 0,
			InStock:         rnd.IntN(2) == 0,
			Price:           mount.NoPrice,
		}
		if rnd.IntN(2) == 0 {
			d.Construction, d.Gas, d.Price = catalog.Monotube, true, mount.Price(rnd.Int64N(90_000))
			d.Description = fmt.Sprintf("invented, number %d, \"quoted\"\\ and ⌀ %v", i, d.BodyDiameter)
		}
		c.Dampers = append(c.Dampers, d)
	}
	rnd.Shuffle(len(c.Dampers), func(i, j int) { c.Dampers[i], c.Dampers[j] = c.Dampers[j], c.Dampers[i] })
	return c
}

// copied is contents that share nothing with c: a snapshot takes its own over.
func copied(c catalog.Contents) catalog.Contents {
	c.Dampers, c.Sleeves = slices.Clone(c.Dampers), slices.Clone(c.Sleeves)
	c.Spacers, c.Adapters = slices.Clone(c.Spacers), slices.Clone(c.Adapters)
	return c
}

func same(t *testing.T, got *catalog.Snapshot, name string, number int, c catalog.Contents) {
	t.Helper()
	want := catalog.NewSnapshot(name, number, copied(c))
	for _, part := range []struct {
		what      string
		got, want any
	}{
		{"name", got.Name(), want.Name()},
		{"revision", got.Revision(), want.Revision()},
		{"currency", got.Currency(), want.Currency()},
		{"limits", got.Limits(), want.Limits()},
		{"dampers", got.Dampers(), want.Dampers()},
		{"sleeves", got.Sleeves(), want.Sleeves()},
		{"spacers", got.Spacers(), want.Spacers()},
		{"adapters", got.Adapters(), want.Adapters()},
	} {
		if !reflect.DeepEqual(part.got, part.want) {
			t.Errorf("%s come back as\n%+v\nwant\n%+v", part.what, part.got, part.want)
		}
	}
}

func TestRevisionComesBackAsItWasPublished(t *testing.T) {
	t.Parallel()
	s, _ := withCatalog(t)
	first := contents(t, 300)
	if n := publish(t, s, copied(first)); n != 1 {
		t.Errorf("the first revision is number %d", n)
	}
	second := catalog.Contents{Limits: mount.UsualLimits()} // nothing, and no currency
	if n := publish(t, s, copied(second)); n != 2 {
		t.Errorf("the second revision is number %d", n)
	}
	for _, c := range []struct {
		what     string
		read     func() (*catalog.Snapshot, error)
		number   int
		contents catalog.Contents
	}{
		{"the first", func() (*catalog.Snapshot, error) { return s.Revision(t.Context(), shop.Place{Catalog: "own"}, 1) }, 1, first},
		{"the second", func() (*catalog.Snapshot, error) { return s.Revision(t.Context(), shop.Place{Catalog: "own"}, 2) }, 2, second},
		{"the newest", func() (*catalog.Snapshot, error) { return s.Newest(t.Context(), "own") }, 2, second},
	} {
		snapshot, err := c.read()
		if err != nil {
			t.Fatalf("%s: %v", c.what, err)
		}
		same(t, snapshot, "own", c.number, c.contents)
	}
}

// Whoever writes revisions by hand gets the limits that the service knows.
func TestLimitsDefaultToTheUsualOnes(t *testing.T) {
	t.Parallel()
	s, url := withCatalog(t)
	conn := connect(t, url)
	if _, err := conn.Exec(t.Context(), "INSERT INTO revisions (catalog_id, number, state, published_at) SELECT id, 7, 'published', now() FROM catalogs"); err != nil {
		t.Fatal(err)
	}
	snapshot, err := s.Newest(t.Context(), "own")
	if err != nil {
		t.Fatal(err)
	}
	if got, want := snapshot.Limits(), mount.UsualLimits(); got != want {
		t.Errorf("limits are %+v, want %+v", got, want)
	}
}

func TestWhatIsNotThereIsNotFound(t *testing.T) {
	t.Parallel()
	s, url := withCatalog(t)
	missing := func(what string, err error) {
		t.Helper()
		if !errors.Is(err, catalog.ErrNotFound) {
			t.Errorf("%s: %v, want ErrNotFound", what, err)
		}
	}
	_, err := s.Newest(t.Context(), "own")
	missing("a catalogue without a revision", err)
	_, err = s.Newest(t.Context(), "nobody's")
	missing("no such catalogue", err)
	_, err = s.Publish(t.Context(), "nobody's", catalog.Contents{}, "")
	missing("publishing to no such catalogue", err)
	publish(t, s, catalog.Contents{Limits: mount.UsualLimits()})
	for _, n := range []int{-1, 0, 2} {
		_, err = s.Revision(t.Context(), shop.Place{Catalog: "own"}, n)
		missing(fmt.Sprintf("revision %d", n), err)
	}
	// A draft is nobody's to see.
	conn := connect(t, url)
	if _, err := conn.Exec(t.Context(), "INSERT INTO revisions (catalog_id, number) SELECT id, 2 FROM catalogs"); err != nil {
		t.Fatal(err)
	}
	_, err = s.Revision(t.Context(), shop.Place{Catalog: "own"}, 2)
	missing("a draft", err)
	if snapshot, err := s.Newest(t.Context(), "own"); err != nil || snapshot.Revision() != 1 {
		t.Errorf("beside a draft the newest is %v, %v", snapshot, err)
	}
}

func TestPublishIsAllOrNothing(t *testing.T) {
	t.Parallel()
	s, _ := withCatalog(t)
	bad := contents(t, 20)
	bad.Adapters = append(bad.Adapters, bad.Adapters[0]) // the last table to be written
	if n, err := s.Publish(t.Context(), "own", bad, ""); err == nil || n != 0 {
		t.Fatalf("a code that stands twice was published as revision %d", n)
	}
	if _, err := s.Newest(t.Context(), "own"); !errors.Is(err, catalog.ErrNotFound) {
		t.Errorf("something of it is there: %v", err)
	}
	if n := publish(t, s, contents(t, 20)); n != 1 {
		t.Errorf("the next revision is number %d, want 1", n)
	}
}

func TestPublishTakesTurns(t *testing.T) {
	t.Parallel()
	s, _ := withCatalog(t)
	const publishers = 8
	numbers := make([]int, publishers)
	var all sync.WaitGroup
	for i := range numbers {
		all.Go(func() {
			n, err := s.Publish(t.Context(), "own", contents(t, i), "")
			if err != nil {
				t.Error(err)
			}
			numbers[i] = n
		})
	}
	all.Wait()
	for i, n := range numbers {
		snapshot, err := s.Revision(t.Context(), shop.Place{Catalog: "own"}, n)
		if err != nil {
			t.Fatal(err)
		}
		if got := len(snapshot.Dampers()); got != i {
			t.Errorf("revision %d has %d dampers, want %d", n, got, i)
		}
	}
	slices.Sort(numbers)
	if want := []int{1, 2, 3, 4, 5, 6, 7, 8}; !slices.Equal(numbers, want) {
		t.Errorf("the numbers are %v, want %v", numbers, want)
	}
}

// TestADraftHoldsNobodyUp: while a draft is being written, as a large one is
// for minutes, others publish and go back, and a second draft waits.
func TestADraftHoldsNobodyUp(t *testing.T) {
	t.Parallel()
	s, _ := withCatalog(t)
	publish(t, s, contents(t, 1))
	publish(t, s, contents(t, 2))
	place := shop.Place{Catalog: "own"}
	parts := shop.PartsOf(contents(t, 3))
	writing, goOn := make(chan struct{}), make(chan struct{})
	parts.Checked = func() error {
		close(writing)
		<-goOn
		return nil
	}
	drafted := make(chan int, 2)
	draft := func(parts shop.Parts) {
		r, err := s.Draft(t.Context(), place, parts, "", "a test", nil)
		if err != nil {
			t.Error(err)
		}
		drafted <- r.Number
	}
	go draft(parts)
	<-writing
	go draft(shop.PartsOf(contents(t, 4)))
	agree := func(shop.Revision) error { return nil }
	if r, err := s.Release(t.Context(), place, 1, shop.RollBack, "a test", agree); err != nil || r.Current != 1 {
		t.Errorf("went back to %+v, %v", r, err)
	}
	select {
	case n := <-drafted:
		t.Errorf("revision %d was drafted beside another", n)
	default:
	}
	close(goOn)
	if first, second := <-drafted, <-drafted; first != 3 || second != 4 {
		t.Errorf("drafted %d and then %d, want 3 and 4", first, second)
	}
}

func TestEnsureCatalog(t *testing.T) {
	t.Parallel()
	s, _ := withCatalog(t)
	if err := s.EnsureCatalog(t.Context(), "corner garage", "own"); err != nil {
		t.Errorf("a second time: %v", err)
	}
	if err := s.EnsureCatalog(t.Context(), "Corner GARAGE", "own"); err != nil {
		t.Errorf("in another case: %v", err)
	}
	var look *shop.LookAlikeError
	if err := s.EnsureCatalog(t.Context(), "corner g\u0430rage", "second"); !errors.As(err, &look) || look.Other != "corner garage" {
		t.Errorf("with a Cyrillic letter: %v", err)
	}
	_, key := shop.NewKey(shop.Server)
	key.Shop = "ｃｏｒｎｅｒ garage"
	if err := s.CreateKey(t.Context(), key); !errors.As(err, &look) {
		t.Errorf("a key in full width: %v", err)
	}
	key.Shop = "CORNER garage"
	if err := s.CreateKey(t.Context(), key); err != nil {
		t.Error(err)
	}
	if keys, err := s.Keys(t.Context(), "corner Garage"); err != nil || len(keys) != 1 || keys[0].Shop != "corner garage" {
		t.Errorf("the shop's keys: %+v, %v", keys, err)
	}
	if err := s.EnsureCatalog(t.Context(), "another garage", "own"); err == nil || !strings.Contains(err.Error(), "another shop's") {
		t.Errorf("another shop got the catalogue: %v", err)
	}
}

func TestOpenSaysWhatIsWrong(t *testing.T) {
	t.Parallel()
	ctx, cancel := context.WithTimeout(t.Context(), 5*time.Second)
	defer cancel()
	if _, err := postgres.Open(ctx, "postgres://localhost:notaport/x"); err == nil {
		t.Error("a bad URL was opened")
	}
	if _, err := postgres.Open(ctx, "postgres://127.0.0.1:1/x?sslmode=disable"); err == nil || !strings.Contains(err.Error(), "reach the database") {
		t.Errorf("where nobody listens: %v", err)
	}
}

func BenchmarkPublish(b *testing.B) {
	for _, n := range []int{1_000, 50_000} {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			s, _ := withCatalog(b)
			c := contents(b, n)
			for b.Loop() {
				publish(b, s, c)
			}
		})
	}
}

func BenchmarkNewest(b *testing.B) {
	for _, n := range []int{1_000, 50_000} {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			s, _ := withCatalog(b)
			publish(b, s, contents(b, n))
			for b.Loop() {
				if _, err := s.Newest(b.Context(), "own"); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
