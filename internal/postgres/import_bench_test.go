package postgres_test

import (
	"bufio"
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"midstroke/internal/catalog"
	"midstroke/internal/mount"
	"midstroke/internal/postgres"
	"midstroke/internal/postgres/pgtest"
	"midstroke/internal/shop"
	"midstroke/internal/table"
	"midstroke/internal/unit"
	"midstroke/testdata/demo"
)

// importedRows is how many dampers the benchmarks below import and load; with
// -short a twentieth of that.
func importedRows() int {
	if testing.Short() {
		return 50_000
	}
	return 1_000_000
}

// damperFile writes a file of n dampers, which are contents' thousand under
// codes of their own, without ever holding them all.
func damperFile(b *testing.B, n int) string {
	b.Helper()
	path := filepath.Join(b.TempDir(), table.DampersFile)
	file, err := os.Create(path)
	if err != nil {
		b.Fatal(err)
	}
	some := contents(b, 1000)
	for i := range some.Dampers {
		d := &some.Dampers[i]
		// The reader refuses a rod longer than its body and an invertible oil
		// damper of two tubes, which contents may have.
		d.Code, d.Extended, d.Price = strconv.Itoa(i), d.Compressed+60*unit.Millimetre, mount.NoPrice
		d.LengthTolerance, d.BodyDiameter = unit.Millimetre, 50*unit.Millimetre
		d.Invertible = d.Invertible && (d.Gas || d.Construction != catalog.TwinTube)
	}
	dir := b.TempDir()
	if err := demo.WriteFiles(dir, catalog.Contents{Currency: "USD", Dampers: some.Dampers, Limits: some.Limits}, unit.Millimetres); err != nil {
		b.Fatal(err)
	}
	text, err := os.ReadFile(filepath.Join(dir, table.DampersFile))
	if err != nil {
		b.Fatal(err)
	}
	header, rows, _ := bytes.Cut(text, []byte("\n"))
	lines := bytes.SplitAfter(bytes.TrimSpace(rows), []byte("\n"))
	lines[len(lines)-1] = append(lines[len(lines)-1], '\n')
	w := bufio.NewWriterSize(file, 1<<20)
	_, _ = w.Write(append(header, '\n')) // errors come again with Flush
	for i := range n {
		_, rest, _ := bytes.Cut(lines[i%len(lines)], []byte(","))
		_, _ = fmt.Fprintf(w, "%07d,%s", i, rest)
	}
	if err := errors.Join(w.Flush(), file.Close()); err != nil {
		b.Fatal(err)
	}
	return path
}

// highWater follows the heap while do runs, and gives the most that it held.
func highWater(do func()) uint64 {
	var most atomic.Uint64
	stop, stopped := make(chan struct{}), make(chan struct{})
	runtime.GC()
	go func() {
		defer close(stopped)
		for {
			var m runtime.MemStats
			runtime.ReadMemStats(&m)
			most.Store(max(most.Load(), m.HeapInuse+m.StackInuse))
			select {
			case <-stop:
				return
			case <-time.After(50 * time.Millisecond):
			}
		}
	}()
	do()
	close(stop)
	<-stopped
	return most.Load()
}

// BenchmarkImport imports dampers from CSV, checks included, and copies the
// same rows into the same table by a bare COPY.
func BenchmarkImport(b *testing.B) {
	n := importedRows()
	path := damperFile(b, n)
	url := pgtest.NewDatabase(b)
	s := open(b, url)
	if err := s.EnsureCatalog(b.Context(), "corner garage", "own"); err != nil {
		b.Fatal(err)
	}
	in := shop.Place{Catalog: "own"}
	conn := connect(b, url)
	var imported, bare time.Duration
	for b.Loop() {
		start := time.Now()
		var draft shop.Revision
		memory := highWater(func() { draft = importFile(b, s, in, path) })
		imported += time.Since(start)
		b.ReportMetric(float64(memory)/(1<<20), "MiB-heap")

		rows := copyOut(b, conn, draft.Number)
		exec(b, conn, "DELETE FROM revisions WHERE number = 1")
		exec(b, conn, "VACUUM dampers")
		exec(b, conn, "INSERT INTO revisions (catalog_id, number) VALUES (1, 1)")
		// To its owner a table whose policies aren't forced has none.
		exec(b, conn, "ALTER TABLE dampers NO FORCE ROW LEVEL SECURITY")
		start = time.Now()
		if _, err := conn.PgConn().CopyFrom(b.Context(), rows, "COPY dampers FROM STDIN"); err != nil {
			b.Fatal(err)
		}
		bare += time.Since(start)
		_ = rows.Close()
		exec(b, conn, "ALTER TABLE dampers FORCE ROW LEVEL SECURITY")
		exec(b, conn, "DELETE FROM revisions WHERE number = 1")
	}
	b.ReportMetric(float64(n)*float64(b.N)/imported.Seconds(), "rows/s")
	b.ReportMetric(imported.Seconds()/bare.Seconds(), "x-bare-COPY")
	b.ReportMetric(bare.Seconds()/float64(b.N), "s-COPY/op")
}

func importFile(b *testing.B, s *postgres.Store, in shop.Place, path string) shop.Revision {
	b.Helper()
	file, err := os.Open(path)
	if err != nil {
		b.Fatal(err)
	}
	defer file.Close()
	info, err := file.Stat()
	if err != nil {
		b.Fatal(err)
	}
	parts, _, err := shop.PartsOfFiles([]table.File{{Name: table.DampersFile, Data: file, Size: info.Size()}}, table.Stated{}, nil)
	if err != nil {
		b.Fatalf("%.2000s", err.Error())
	}
	draft, err := s.Draft(b.Context(), in, parts, "", "a benchmark", nil)
	if err != nil {
		b.Fatalf("%.2000s", err.Error())
	}
	return draft
}

// copyOut keeps what a COPY of a revision gives in a file.
func copyOut(b *testing.B, conn *pgx.Conn, number int) *os.File {
	b.Helper()
	file, err := os.Create(filepath.Join(b.TempDir(), "rows"))
	if err != nil {
		b.Fatal(err)
	}
	if _, err := conn.PgConn().CopyTo(b.Context(), file, fmt.Sprintf("COPY (SELECT * FROM dampers WHERE revision = %d ORDER BY code) TO STDOUT", number)); err != nil {
		b.Fatal(err)
	}
	if _, err := file.Seek(0, io.SeekStart); err != nil {
		b.Fatal(err)
	}
	return file
}

func exec(b testing.TB, conn *pgx.Conn, sql string) {
	b.Helper()
	if _, err := conn.Exec(context.Background(), sql); err != nil {
		b.Fatalf("%s: %v", sql, err)
	}
}

// BenchmarkLoad loads a large snapshot, and by a bare COPY the same rows; its
// memory is held against a plain slice of the same dampers.
func BenchmarkLoad(b *testing.B) {
	n := importedRows()
	url := pgtest.NewDatabase(b)
	s := open(b, url)
	if err := s.EnsureCatalog(b.Context(), "corner garage", "own"); err != nil {
		b.Fatal(err)
	}
	draft := importFile(b, s, shop.Place{Catalog: "own"}, damperFile(b, n))
	if _, err := s.Release(b.Context(), shop.Place{Catalog: "own"}, draft.Number, shop.Publish, "a benchmark", func(shop.Revision) error { return nil }); err != nil {
		b.Fatal(err)
	}
	conn := connect(b, url)
	exec(b, conn, "ALTER TABLE dampers NO FORCE ROW LEVEL SECURITY")
	exec(b, conn, "ANALYZE dampers")
	var loaded, bare time.Duration
	for b.Loop() {
		start := time.Now()
		if _, err := conn.PgConn().CopyTo(b.Context(), io.Discard, "COPY (SELECT * FROM dampers WHERE revision = 1 ORDER BY code) TO STDOUT"); err != nil {
			b.Fatal(err)
		}
		bare += time.Since(start)
		before := heap()
		start = time.Now()
		snapshot, err := s.Newest(b.Context(), "own")
		if err != nil {
			b.Fatal(err)
		}
		loaded += time.Since(start)
		whole := heap() - before
		before = heap()
		plain := plainly(snapshot)
		slice := heap() - before
		b.ReportMetric(float64(whole)/float64(slice), "x-plain-slice")
		b.ReportMetric(float64(whole)/(1<<20), "MiB-snapshot")
		runtime.KeepAlive(plain)
		runtime.KeepAlive(snapshot)
	}
	b.ReportMetric(loaded.Seconds()/bare.Seconds(), "x-bare-COPY")
	b.ReportMetric(bare.Seconds()/float64(b.N), "s-COPY/op")
}

// plainly copies every damper with its texts.
func plainly(s *catalog.Snapshot) []catalog.Damper {
	plain := make([]catalog.Damper, 0, len(s.Dampers()))
	for _, d := range s.Dampers() {
		d.Code, d.Description = strings.Clone(d.Code), strings.Clone(d.Description)
		plain = append(plain, d)
	}
	return plain
}

func heap() uint64 {
	runtime.GC()
	runtime.GC()
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	return m.HeapAlloc
}
