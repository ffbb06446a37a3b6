package speed_test

import (
	"cmp"
	"fmt"
	"os"
	"os/exec"
	"regexp"
	"runtime"
	"slices"
	"strings"
	"testing"
	"time"
)

// row is a line of the table.
type row struct{ figure, beside, goal, got string }

// TestTable prints how fast the program is, beside what it stands on. It fails only
// where something can't be measured.
func TestTable(t *testing.T) {
	if !measuring {
		t.Skip("make bench runs it")
	}
	begun := time.Now()
	s := newStage(t)
	var rows []row
	add := func(figure, beside, goal, got string, values ...any) {
		rows = append(rows, row{figure, beside, goal, fmt.Sprintf(got, values...)})
		t.Logf("%s: %s", figure, rows[len(rows)-1].got)
	}

	service, first := s.serve(small)
	throughput := s.throughput(service, small)
	add(fmt.Sprintf("`POST /v1/fits` a second, %s dampers, a day's mix, never twice the same", count(dampersOf[small])),
		"echo with encoding/json, same bodies in, as many bytes out", "0.7, not under 0.5", "%s", throughput)
	own, ofBare := s.tails(service, small, throughput)
	add("the slowest of a hundred answers (p99) at half of that", "the median", "at most 5", "%s; of the bare server, at half of its own: %s", own, ofBare)
	byPoints, byRule := s.linkage(service)
	add("an answer on a suspension given by its points", "the same by the rule of thumb", "at most 1.5", "%.2f (%.2f ms over %.2f ms)", byPoints/byRule, byPoints*1000, byRule*1000)
	known, unknown, plain := s.rated(service)
	add("an answer that judges the damping, on a corner that was never asked about", "the same place without a corner", "at most 1.3", "%.2f (%.2f ms over %.2f ms)", unknown/plain, unknown*1000, plain*1000)
	add("the same on a corner that was asked about before", "the same", "at most 1.3", "%.2f (%.2f ms over %.2f ms)", known/plain, known*1000, plain*1000)
	names, fewer := s.examples(service, small)
	s.files(service, add)
	kept := s.quotes(small)
	add("kept quotes a second", "a bare INSERT of the answers' bytes over pgx, as many connections, both on a private Postgres as make run sets it up", "0.5", "%.2f (%.0f over %.0f a second, %.1f KB each)",
		kept.ratio, kept.ours, kept.bare, float64(kept.bytes)/1000)
	service.end()

	service, _ = s.serve(large)
	throughput = s.throughput(service, large)
	rows = slices.Insert(rows, 1, row{fmt.Sprintf("the same, %s dampers", count(dampersOf[large])), "the same", "0.6, not under 0.4", throughput.String()})
	t.Logf("%s: %s", rows[1].figure, throughput)
	_, more := s.examples(service, large)
	service.end()
	slowest := 0
	for i := range more {
		if more[i] > more[slowest] {
			slowest = i
		}
	}
	add(fmt.Sprintf("the slowest of the examples, %s dampers (%s)", count(dampersOf[large]), names[slowest]), "the same at "+count(dampersOf[small]), "at most 2.5",
		"%.2f (%.2f ms over %.2f ms)", more[slowest]/fewer[slowest], more[slowest]*1000, fewer[slowest]*1000)

	snapshot := s.inMemory(add)
	s.besidePostgres(snapshot, add)
	add(fmt.Sprintf("import of %s dampers from CSV, all checks", count(dampersOf[large])), "a bare COPY of the same rows", "at most 1.2", "%.2f (%.1f s over %.1f s)",
		s.imported.Seconds()/s.copied.Seconds(), s.imported.Seconds(), s.copied.Seconds())
	add(fmt.Sprintf("start to the first answer from %s dampers, %s shops in the database", count(dampersOf[small]), count(shopsBeside)), "–", "under 1 s", "%.2f s", first.Seconds())

	fmt.Printf("\nOn %s, %s, in %s:\n\n", machine(), runtime.Version(), time.Since(begun).Round(time.Second))
	fmt.Println("| figure | beside | goal | measured |\n| --- | --- | --- | --- |")
	for _, r := range rows {
		fmt.Printf("| %s | %s | %s | %s |\n", r.figure, r.beside, r.goal, r.got)
	}
	fmt.Println()
}

// count writes a number as people read it.
func count(n int) string {
	if n < 1000 {
		return fmt.Sprint(n)
	}
	return fmt.Sprintf("%s,%03d", count(n/1000), n%1000)
}

// machine says what this runs on.
func machine() string {
	model := "an unknown processor"
	raw, _ := os.ReadFile("/proc/cpuinfo")
	for line := range strings.Lines(string(raw)) {
		if name, value, ok := strings.Cut(line, ":"); ok && strings.TrimSpace(name) == "model name" {
			model = strings.TrimSpace(value)
			break
		}
	}
	busy, _ := exec.Command("cut", "-d ", "-f1", "/proc/loadavg").Output()
	return fmt.Sprintf("%d processors (%s), load average %s in the end", runtime.NumCPU(), model, strings.TrimSpace(string(busy)))
}

// beside is how many requests a second were answered, and by the bare server.
type beside struct {
	ours, bare float64
	ratio      float64 // the median of the rounds
	bytes      int64   // of an answer
}

func (b beside) String() string {
	return fmt.Sprintf("%.2f (%.0f over %.0f a second, answers of %.1f KB)", b.ratio, b.ours, b.bare, float64(b.bytes)/1000)
}

// throughput sends requests as fast as they are answered to the service and to the
// bare server, in turns.
func (s *stage) throughput(service *process, name string) beside {
	s.Helper()
	ours := order{Address: service.url, Key: s.keys[name], Bodies: mix(), Connections: 16, Seconds: 3}
	warm := load(s.T, ours)
	b := beside{bytes: warm.Bytes / int64(max(1, warm.OK))}
	bare := ours
	server := startBare(s.T, b.bytes)
	defer server.end()
	bare.Address = server.url
	load(s.T, bare)
	const rounds = 5
	var ratios, all, allBare []float64
	for range rounds {
		a, o := load(s.T, ours).perSecond(), load(s.T, bare).perSecond()
		ratios, all, allBare = append(ratios, a/o), append(all, a), append(allBare, o)
	}
	b.ratio, b.ours, b.bare = median(ratios), median(all), median(allBare)
	return b
}

// tail is the slowest of a hundred answers, beside the median, in seconds.
type tail struct{ p99, p50 float64 }

func (t tail) String() string {
	return fmt.Sprintf("%.1f (%.2f ms over %.2f ms)", t.p99/t.p50, t.p99*1000, t.p50*1000)
}

// tails asks the service and the bare server each for half of what it can do. The bare
// one shows what the generator and the machine add: all share its processors. Each is the
// median of three turns.
func (s *stage) tails(service *process, name string, full beside) (own, ofBare tail) {
	s.Helper()
	server := startBare(s.T, full.bytes)
	defer server.end()
	var all [2][]tail
	for range 3 {
		for i, o := range []order{{Address: service.url, Key: s.keys[name], Rate: full.ours / 2}, {Address: server.url, Rate: full.bare / 2}} {
			o.Bodies, o.Connections, o.Seconds = mix(), 16, 4
			half := load(s.T, o)
			all[i] = append(all[i], tail{half.P99, half.P50})
		}
	}
	for i := range all {
		slices.SortFunc(all[i], func(a, b tail) int { return cmp.Compare(a.p99/a.p50, b.p99/b.p50) })
	}
	return all[0][1], all[1][1]
}

func median(all []float64) float64 {
	all = slices.Sorted(slices.Values(all))
	return all[len(all)/2]
}

// linkage times a fit on a suspension given by its points, and the same place by
// the rule of thumb, in turns on one connection.
func (s *stage) linkage(service *process) (byPoints, byRule float64) {
	s.Helper()
	o := load(s.T, order{Address: service.url, Key: s.keys[small], Connections: 1, Seconds: 3,
		Bodies: []string{example(s.T, "rear-axle-by-its-points"), example(s.T, "rear-axle")}})
	return o.Median[0], o.Median[1]
}

// rated times a fit whose dampers are judged on a corner, one that was asked about
// before and one that never was, and the same place without a corner, in turns on one
// connection.
func (s *stage) rated(service *process) (known, unknown, plain float64) {
	s.Helper()
	onCorner := example(s.T, "rear-axle-on-a-corner")
	isNew := strings.Replace(onCorner, `"925 lb"`, newMass, 1)
	corner := regexp.MustCompile(`(?s),\s*"corner": \{.*`)
	without := corner.ReplaceAllString(onCorner, "}")
	if isNew == onCorner || without == onCorner {
		s.Fatalf("the example has another corner: %s", onCorner)
	}
	o := load(s.T, order{Address: service.url, Key: s.keys[small], Connections: 1, Seconds: 4, Bodies: []string{onCorner, isNew, without}})
	return o.Median[0], o.Median[1], o.Median[2]
}

// examples times every example, in turns on one connection.
func (s *stage) examples(service *process, name string) (names []string, took []float64) {
	s.Helper()
	names, bodies := examples(s.T)
	o := load(s.T, order{Address: service.url, Key: s.keys[name], Bodies: bodies, Connections: 1, Seconds: 4})
	return names, o.Median
}
