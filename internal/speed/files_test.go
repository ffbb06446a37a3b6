package speed_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"
)

// How many rows the files have. The long one has 1,000,000 where
// MIDSTROKE_SPEED_ROWS says so, which takes minutes.
const (
	fileRows  = 100_000
	shortRows = 10_000
)

var longRows = setting("MIDSTROKE_SPEED_ROWS", 200_000)

// places are the ends, bolts and readings of the rows, of which no two are alike for long.
var (
	fileReadings = []string{"14 1/8", "14 13/16", "15 1/2", "16 1/16", "16 5/8", "17 5/16", "17 3/4", "18 1/4"}
	fileBolts    = []string{"M10", "M12", "M14", "7/16 in", "1/2 in", "5/8 in"}
)

// oftenAsked gives readings as they come at a counter, where the same comes again.
func oftenAsked(i int) string { return fileReadings[i/7%len(fileReadings)] }

// askedOnce gives readings of which no two of the short file are alike.
func askedOnce(i int) string { return fmt.Sprintf("%.4f", 14+4.25*float64(i)/shortRows) }

// writeRows writes a file of requests as CSV.
func (s *stage) writeRows(rows int, reading func(i int) string) string {
	s.Helper()
	path := filepath.Join(s.TempDir(), fmt.Sprintf("%d.csv", rows))
	file, err := os.Create(path)
	if err != nil {
		s.Fatal(err)
	}
	var text strings.Builder
	text.WriteString("vehicle,units,upper,lower,upper_bolt,lower_bolt,readings,suspension\n")
	for i := range rows {
		bolt := fileBolts[i%len(fileBolts)]
		fmt.Fprintf(&text, "v%d,in,eye,eye,%s,%s,%s,solid_axle\n", i, bolt, bolt, reading(i))
		if text.Len() > 1<<20 || i == rows-1 {
			if _, err := io.WriteString(file, text.String()); err != nil {
				s.Fatal(err)
			}
			text.Reset()
		}
	}
	if err := file.Close(); err != nil {
		s.Fatal(err)
	}
	return path
}

// singles are the same requests as bodies.
func singles() (all []string) {
	for _, reading := range fileReadings {
		for _, bolt := range fileBolts {
			all = append(all, fmt.Sprintf(`{"units":"in","upper":{"style":"eye","bolt":%[1]q},"lower":{"style":"eye","bolt":%[1]q},"readings":[%[2]q],"suspension":"solid_axle","top":1}`, bolt, reading))
		}
	}
	return all
}

// files times files of requests.
func (s *stage) files(service *process, add adder) {
	s.Helper()
	took := s.answered(service, s.writeRows(fileRows, oftenAsked))
	perSecond := fileRows / took.Seconds()
	one := load(s.T, order{Address: service.url, Key: s.keys[small], Bodies: singles(), Connections: 1, Seconds: 4}).perSecond()
	add(fmt.Sprintf("rows a second of a CSV file of %s rows, %s dampers, from its sending to its end", count(fileRows), count(dampersOf[small])),
		"the same requests one by one over HTTP", "at least 4", "%.1f (%.0f over %.0f a second)", perSecond/one, perSecond, one)
	s.coverage(service, add)
	short, long := s.peak(shortRows), s.peak(longRows)
	add(fmt.Sprintf("most memory of `midstroke batch` with %s rows", count(longRows)), "with "+count(shortRows), "the same", "%.2f (%d over %d MiB)", float64(long)/float64(short), long>>20, short>>20)
}

// sendFile sends a file and gives the answer's body.
func (s *stage) sendFile(service *process, path, file string, status int) string {
	s.Helper()
	body, err := os.Open(file)
	if err != nil {
		s.Fatal(err)
	}
	defer body.Close()
	return s.exchange(service, http.MethodPost, path, body, status)
}

func (s *stage) exchange(service *process, method, path string, body io.Reader, status int) string {
	s.Helper()
	r, err := http.NewRequest(method, service.url+path, body)
	if err != nil {
		s.Fatal(err)
	}
	r.Header.Set("Content-Type", "text/csv")
	r.Header.Set("Authorization", "Bearer "+s.keys[small])
	res, err := http.DefaultClient.Do(r)
	if err != nil {
		s.Fatal(err)
	}
	defer res.Body.Close()
	text, err := io.ReadAll(res.Body)
	if err != nil || res.StatusCode != status {
		s.Fatalf("%s %s: %s, %v: %.500s", method, path, res.Status, err, text)
	}
	return string(text)
}

// answered says how long a file takes that is answered in the background.
func (s *stage) answered(service *process, file string) time.Duration {
	s.Helper()
	var job struct{ ID, State string }
	begun := time.Now()
	text := s.sendFile(service, "/v1/batches", file, http.StatusAccepted)
	for json.Unmarshal([]byte(text), &job) == nil && job.State != "done" {
		if job.State == "failed" || time.Since(begun) > 10*time.Minute {
			s.Fatal(text)
		}
		time.Sleep(100 * time.Millisecond)
		text = s.exchange(service, http.MethodGet, "/v1/batches/"+job.ID, nil, http.StatusOK)
	}
	return time.Since(begun)
}

// coverage times a coverage.
func (s *stage) coverage(service *process, add adder) {
	s.Helper()
	file := s.writeRows(shortRows, askedOnce)
	begun := time.Now()
	s.sendFile(service, "/v1/coverage", file, http.StatusOK)
	add(fmt.Sprintf("coverage of %s requests, no two alike, by %s dampers", count(shortRows), count(dampersOf[small])), "–", "under 10 s", "%.1f s", time.Since(begun).Seconds())
}

// peak gives the most memory, in bytes, that the program takes for a file. The usage that
// the kernel tells at the end (getrusage) would be that of this test where it has taken
// more before it started the program.
func (s *stage) peak(rows int) (most int64) {
	s.Helper()
	cmd := exec.Command(s.binary, "batch", s.writeRows(rows, oftenAsked), "-o", filepath.Join(s.TempDir(), "out.csv"), "--pick", "outcome", "--catalog", small, "--database-url", s.url)
	var out bytes.Buffer
	cmd.Stdout, cmd.Stderr = &out, &out
	if err := cmd.Start(); err != nil {
		s.Fatal(err)
	}
	ended := make(chan error, 1)
	go func() { ended <- cmd.Wait() }()
	for {
		select {
		case err := <-ended:
			if err != nil || most == 0 {
				s.Fatalf("%v, most memory %d: %s", err, most, out.Bytes())
			}
			return most
		case <-time.After(10 * time.Millisecond):
		}
		status, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", cmd.Process.Pid))
		if err != nil {
			continue // it has ended
		}
		if _, rest, ok := bytes.Cut(status, []byte("VmHWM:")); ok {
			kib, err := strconv.ParseInt(string(bytes.Fields(rest)[0]), 10, 64)
			if err != nil {
				s.Fatal(err)
			}
			most = kib << 10
		}
	}
}

// TestFilesAlone is for trying the rows of files, or that of a coverage, without the rest
// of the table. MIDSTROKE_SPEED_DAMPERS and MIDSTROKE_SPEED_SHOPS make it quick.
func TestFilesAlone(t *testing.T) {
	part := (*stage).files
	switch os.Getenv("MIDSTROKE_SPEED_FILES") {
	case "":
		t.Skip("make bench has these rows in its table")
	case "coverage":
		part = (*stage).coverage
	}
	s := newStage(t)
	service, _ := s.serve(small)
	part(s, service, func(figure, beside, goal, got string, values ...any) {
		t.Logf("| %s | %s | %s | %s |", figure, beside, goal, fmt.Sprintf(got, values...))
	})
}
