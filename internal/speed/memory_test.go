package speed_test

import (
	"runtime"
	"strings"
	"testing"
	"time"

	"midstroke/internal/catalog"
	"midstroke/internal/fit"
	"midstroke/internal/measure"
	"midstroke/internal/mount"
	"midstroke/internal/postgres"
	"midstroke/internal/unit"
)

// add adds a row to the table.
type adder func(figure, beside, goal, got string, values ...any)

// inMemory loads the large catalogue, and holds the memory that it takes against
// that of a plain slice of the same dampers.
func (s *stage) inMemory(add adder) *catalog.Snapshot {
	s.Helper()
	store, err := postgres.Open(s.Context(), s.url)
	if err != nil {
		s.Fatal(err)
	}
	defer store.Close()
	before := heap()
	snapshot, err := store.Newest(s.Context(), large)
	if err != nil {
		s.Fatal(err)
	}
	whole := heap() - before
	before = heap()
	plain := make([]catalog.Damper, 0, len(snapshot.Dampers()))
	for _, d := range snapshot.Dampers() {
		d.Code, d.Description = strings.Clone(d.Code), strings.Clone(d.Description)
		plain = append(plain, d)
	}
	slice := heap() - before
	runtime.KeepAlive(plain)
	n := uint64(len(plain))
	add("memory for each damper, with the index", "a plain slice of the same structs and texts", "at most 2", "%.2f (%d bytes over %d)",
		float64(whole)/float64(slice), whole/n, slice/n)
	return snapshot
}

func heap() uint64 {
	runtime.GC()
	runtime.GC()
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	return m.HeapAlloc
}

// plainPlace is a place between two eyes whose hardware isn't known, so that it
// decides nothing and SQL can rank the dampers as well.
func plainPlace() *fit.Request {
	r := &fit.Request{LeanDeg: -1, Top: 10, Dampers: 2, Suspension: fit.SolidAxle, Travel: fit.Travel{Reserve: fit.DefaultReserve}}
	r.Readings.Upper.Style, r.Readings.Lower.Style = mount.Eye, mount.Eye
	r.Readings.Readings = append(r.Readings.Readings, measure.Reading{Length: 17*unit.Inch + 5*unit.Inch/16})
	r.Limits.NoAdapters, r.Limits.Mounting = true, fit.AsListed
	return r
}

// besidePostgres finds the ten best dampers by the index, and by Postgres's best
// plan: prepared, warm, and with an index that has all columns which are needed.
func (s *stage) besidePostgres(snapshot *catalog.Snapshot, add adder) {
	s.Helper()
	r := plainPlace()
	answer, faults := fit.Find(r, snapshot)
	if len(faults) > 0 || len(answer.Fits) != 10 || answer.Fits[9].Grade != fit.Clear {
		s.Fatalf("%v, %d fits", faults, len(answer.Fits))
	}
	s.exec("CREATE INDEX ON dampers (catalog_id, revision, upper_style, lower_style, compressed) INCLUDE (extended, length_tolerance, price, code, adjusters_ride_height)")
	s.exec("VACUUM ANALYZE dampers")
	s.exec("ALTER TABLE dampers NO FORCE ROW LEVEL SECURITY")
	// The order of the contract among clear fits without adapters and hardware, of
	// which there are more than ten.
	const query = `SELECT code FROM dampers
		WHERE catalog_id = $1 AND revision = 1 AND upper_style = 'eye' AND lower_style = 'eye' AND NOT adjusters_ride_height
		AND compressed <= $2 AND compressed + length_tolerance <= $2 AND extended - length_tolerance >= $3
		ORDER BY greatest(0, ceil(abs(($4::bigint - compressed)::float8 / (extended - compressed) - 0.5) * 20 - 1e-9) - 1), extended - compressed, price NULLS LAST, code
		LIMIT 10`
	var id int64
	if err := s.conn.QueryRow(s.Context(), "SELECT id FROM catalogs WHERE name = $1", large).Scan(&id); err != nil {
		s.Fatal(err)
	}
	if _, err := s.conn.Prepare(s.Context(), "ten", query); err != nil {
		s.Fatal(err)
	}
	n, w := answer.Required, answer.Working
	most, least := w.Low-n.Compression.WantedWorst, w.High+n.Extension.WantedWorst
	ask := func() (codes []string) {
		rows, err := s.conn.Query(s.Context(), "ten", id, int64(most), int64(least), int64(w.Value))
		if err != nil {
			s.Fatal(err)
		}
		defer rows.Close()
		for rows.Next() {
			var code string
			if err := rows.Scan(&code); err != nil {
				s.Fatal(err)
			}
			codes = append(codes, code)
		}
		return codes
	}
	for i, code := range ask() {
		if want := answer.Fits[i].Damper.Code; code != want {
			s.Errorf("Postgres's fit %d is %s, ours %s", i+1, code, want)
		}
	}
	theirs := fastest(s.T, 7, func() { ask() })
	ours := fastest(s.T, 200, func() {
		if _, faults := fit.Find(r, snapshot); len(faults) > 0 {
			s.Fatal(faults)
		}
	})
	add("search of the ten best of "+count(dampersOf[large])+", with all that an answer says of them", "Postgres's best plan for the same ten", "10,000 times as fast", "%.0f times (%.3f ms over %.0f ms)",
		theirs.Seconds()/ours.Seconds(), ours.Seconds()*1000, theirs.Seconds()*1000)
}

// fastest gives the least time that something takes: the rest is the machine's.
func fastest(t *testing.T, times int, do func()) time.Duration {
	t.Helper()
	least := time.Hour
	for range times {
		begun := time.Now()
		do()
		least = min(least, time.Since(begun))
	}
	return least
}
