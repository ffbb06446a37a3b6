package httpapi_test

import (
	"context"
	"crypto/sha256"
	"encoding/csv"
	"fmt"
	"strings"
	"testing"
	"time"

	"midstroke/internal/batch"
	"midstroke/internal/batchjob"
	"midstroke/internal/catalog"
	"midstroke/internal/httpapi"
	"midstroke/internal/shop"
	"midstroke/testdata/demo"
)

type jobTold struct {
	ID, State string
	Repeated  bool
	Rows      int
	RowsDone  int `json:"rows_done"`
	Faulty    int `json:"rows_with_faults"`
	Bytes     int64
	Outcomes  struct {
		Fits int
	}
	Faults []struct {
		Line  int
		Codes string
	}
	Result, Problem *string
	Expires         *time.Time `json:"expires_at"`
}

// batchShops are stored shops with published catalogues, and what works on their jobs.
func batchShops(t *testing.T) (*shops, *batch.Runner) {
	t.Helper()
	s, owner := newStoredShops(t)
	for _, name := range []string{"north", "south"} {
		if _, err := owner.Publish(t.Context(), name, demo.Contents(), ""); err != nil {
			t.Fatal(err)
		}
	}
	for end := time.Now().Add(10 * time.Second); s.get(t, "/v1/dampers?units=in&limit=1", s.bearer("north server")...).status != 200; time.Sleep(20 * time.Millisecond) {
		if time.Now().After(end) {
			t.Fatal("the catalogues aren't loaded")
		}
	}
	return s, &batch.Runner{
		Keeper: s.store, Turn: s.RowsTurn, Keep: time.Hour,
		Snapshot: func(_ context.Context, j *batchjob.Job) (*catalog.Snapshot, error) {
			held, err := s.library.Newest(context.Background(), j.Place.Catalog)
			return held.Snapshot, err
		},
	}
}

func (s *shops) shopID(t *testing.T, name string) int64 {
	t.Helper()
	r, ok := s.library.Find(name)
	if !ok {
		t.Fatalf("no catalogue %s", name)
	}
	return r.Owner
}

// TestAJobThatCantBeAnsweredFails: a job of an older version may ask for a value that
// there isn't any more. It is told, and not tried again.
func TestAJobThatCantBeAnsweredFails(t *testing.T) {
	t.Parallel()
	s, runner := batchShops(t)
	const text = "units,upper,lower,readings,suspension\r\nin,eye,eye,16 5/8,solid_axle\r\n"
	j, err := batchjob.New(s.shopID(t, "north"), time.Now())
	if err != nil {
		t.Fatal(err)
	}
	j.File, j.Media, j.Size, j.Rows, j.Revision = "vehicles.csv", "text/csv", int64(len(text)), 1, 1
	j.Place.Shop, j.Place.Catalog = j.Shop, "north"
	j.Asked = batchjob.Asked{Picks: []string{"a_value_of_old"}, Language: "en"}
	withKey := shop.WithKey(t.Context(), sha256.Sum256([]byte(s.text["north server"])))
	if j, err = s.store.KeepBatch(withKey, j, strings.NewReader(text)); err != nil {
		t.Fatal(err)
	}
	if err := runner.Do(t.Context(), j.Shop, j.ID); err != nil {
		t.Errorf("it would be tried again: %v", err)
	}
	job := decode[jobTold](t, s.get(t, "/v1/batches/"+j.ID, s.bearer("north server")...), 200)
	if job.State != "failed" || job.Problem == nil || !strings.Contains(*job.Problem, "a_value_of_old") {
		t.Errorf("%+v", job)
	}
}

// TestAFileThatTakesTooLongBecomesAJob: another job of the only processor keeps a file of
// two rows waiting for longer than rows are answered in the call.
func TestAFileThatTakesTooLongBecomesAJob(t *testing.T) {
	t.Parallel()
	s, runner := batchShops(t)
	const text = "vehicle,units,upper,lower,readings,suspension\r\na,in,eye,eye,16 5/8,solid_axle\r\nb,in,eye,eye,17 1/4,solid_axle\r\n"
	const query = "?pick=outcome&pick=damper.code"
	inCall := s.batch(t, query, "text/csv", text)
	if inCall.status != 200 {
		t.Fatalf("while nobody else works: %d: %s", inCall.status, inCall.body)
	}

	s.start(t, httpapi.Config{
		Keys: s.ring, FindKey: s.store.FindKey, Batches: func() httpapi.Batches { return s.store },
		Limits: httpapi.Limits{AtOnce: 1}, BatchTime: 2 * time.Second,
	})
	held, release := make(chan struct{}), make(chan struct{})
	ended := make(chan error, 1)
	go func() {
		ended <- s.RowsTurn(s.shopID(t, "south"))(t.Context(), 1, func() { close(held); <-release })
	}()
	<-held
	a := s.batch(t, query, "text/csv", text)
	job := decode[jobTold](t, a, 202)
	if a.header.Get("Location") != "/v1/batches/"+job.ID || job.State != "waiting" || job.Rows != 2 || job.RowsDone != 0 {
		t.Errorf("%s: %+v", a.header.Get("Location"), job)
	}
	close(release)
	if err := <-ended; err != nil {
		t.Fatal(err)
	}

	runner.Turn = s.RowsTurn
	if err := runner.Do(t.Context(), s.shopID(t, "north"), job.ID); err != nil {
		t.Fatal(err)
	}
	if result := s.get(t, "/v1/batches/"+job.ID+"/result", s.bearer("north server")...); result.status != 200 || string(result.body) != string(inCall.body) {
		t.Errorf("the job's answer is %d %q, in the call it was %q", result.status, result.body, inCall.body)
	}
	if again := s.batch(t, query+"&keep=note", "text/csv", text); again.status != 200 || string(again.body) != string(inCall.body) {
		t.Errorf("with the processor free again: %d %s", again.status, again.body)
	}
}

func TestAFileIsAnsweredInTheBackground(t *testing.T) {
	t.Parallel()
	s, runner := batchShops(t)
	var text strings.Builder
	text.WriteString("vehicle,units,upper,lower,readings,suspension\r\n")
	const rows = 10_050 // more than are answered in a call
	for i := range rows {
		reading := []string{"16 5/8", "17 1/4", "\"16,5\"", "15 1/2"}[i%4]
		fmt.Fprintf(&text, "v%d,in,eye,eye,%s,solid_axle\r\n", i, reading)
	}
	a := s.batch(t, "?pick=outcome&pick=damper.code", "text/csv", text.String())
	job := decode[jobTold](t, a, 202)
	where := a.header.Get("Location")
	if where != "/v1/batches/"+job.ID || job.State != "waiting" || job.Rows != rows || job.Repeated {
		t.Fatalf("%s: %+v", where, job)
	}
	if again := decode[jobTold](t, s.batch(t, "?pick=outcome&pick=damper.code", "text/csv", text.String()), 202); !again.Repeated || again.ID != job.ID {
		t.Errorf("the same file again: %+v", again)
	}
	if other := decode[jobTold](t, s.batch(t, "?pick=outcome", "text/csv", text.String()), 202); other.Repeated {
		t.Errorf("another request with the same file: %+v", other)
	}
	inSpanish := append(s.bearer("north server"), "Content-Type", "text/csv", "Accept-Language", "es")
	if other := decode[jobTold](t, s.do(t, "POST", "/v1/batches?pick=outcome&pick=damper.code", text.String(), inSpanish...), 202); other.Repeated {
		t.Errorf("the same file in another language, whose texts differ: %+v", other)
	}
	north := s.bearer("north server")
	if p := refused(t, s.get(t, where+"/result", north...), 409); p.Code != "batch_not_done" {
		t.Errorf("before its end: %+v", p)
	}
	for _, path := range []string{where, where + "/result", where + "/events"} {
		if p := refused(t, s.get(t, path, s.bearer("south server")...), 404); p.Code != "no_such_batch" {
			t.Errorf("%s of another shop: %+v", path, p)
		}
	}
	if p := refused(t, s.do(t, "DELETE", where, "", s.bearer("south server")...), 404); p.Code != "no_such_batch" {
		t.Errorf("deleted by another shop: %+v", p)
	}

	if err := runner.Do(t.Context(), s.shopID(t, "north"), job.ID); err != nil {
		t.Fatal(err)
	}
	job = decode[jobTold](t, s.get(t, where, north...), 200)
	if job.State != "done" || job.RowsDone != rows || job.Faulty != 2512 || job.Outcomes.Fits == 0 || len(job.Faults) != 100 || job.Faults[0].Line != 4 || job.Faults[0].Codes != "comma" || job.Result == nil || job.Expires == nil {
		t.Fatalf("%+v", job)
	}
	whole := s.get(t, where+"/result", north...)
	cells, err := csv.NewReader(strings.NewReader(string(whole.body))).ReadAll()
	if err != nil || whole.status != 200 || int64(len(whole.body)) != job.Bytes || len(cells) != rows+1 {
		t.Fatalf("%d, %d bytes, %d lines, %v", whole.status, len(whole.body), len(cells), err)
	}
	for i, row := range cells[1:] {
		if row[0] != fmt.Sprintf("v%d", i) {
			t.Fatalf("row %d is %q", i, row)
		}
	}
	single := s.get(t, "/v1/fits?units=in&upper=eye&lower=eye&readings=17+1/4&suspension=solid_axle&format=text&pick=damper.code", north...)
	if want := string(single.body); cells[2][7] != want {
		t.Errorf("row %q, the single request has %q", cells[2], want)
	}
	part := s.get(t, where+"/result", append(north, "Range", "bytes=1000-2999")...)
	if part.status != 206 || string(part.body) != string(whole.body[1000:3000]) {
		t.Errorf("%d, %d bytes", part.status, len(part.body))
	}
	if a := s.get(t, where+"/result", append(north, "Range", "bytes=99999999-")...); a.status != 416 {
		t.Errorf("beyond the end: %d", a.status)
	}
	events := s.get(t, where+"/events", north...)
	if !strings.HasPrefix(string(events.body), "event: end\ndata: {") || events.header.Get("Content-Type") != "text/event-stream" {
		t.Errorf("%d: %.200s", events.status, events.body)
	}
	if a := s.do(t, "DELETE", where, "", north...); a.status != 204 {
		t.Errorf("%d", a.status)
	}
	refused(t, s.get(t, where, north...), 404)
	if err := runner.Do(t.Context(), s.shopID(t, "north"), job.ID); err != nil {
		t.Errorf("a job that was deleted: %v", err)
	}
}

// TestAJobGoesOnWhereItWas ends each attempt by its context, as a process that stops does.
func TestAJobGoesOnWhereItWas(t *testing.T) {
	t.Parallel()
	s, runner := batchShops(t)
	for _, c := range []struct {
		media string
		ended int // attempts that are ended
	}{{"text/csv", 5}, {"application/x-ndjson", 3}} {
		var text strings.Builder
		const rows = 600 // each attempt keeps the 32 rows that go through together
		if c.media == "text/csv" {
			text.WriteString("vehicle,units,upper,lower,readings,suspension\r\n")
		}
		for i := range rows {
			if c.media == "text/csv" {
				fmt.Fprintf(&text, "v%d,in,eye,eye,16 5/8,solid_axle\r\n", i)
			} else {
				fmt.Fprintf(&text, `{"vehicle":"v%d","units":"in","upper":"eye","lower":"eye","readings":16.625,"suspension":"solid_axle"}`+"\n", i)
			}
		}
		a := s.do(t, "POST", "/v1/batches?pick=outcome", text.String(), append(s.bearer("north server"), "Content-Type", c.media, "Prefer", "wait=1, respond-async")...)
		job := decode[jobTold](t, a, 202)
		want := s.batch(t, "?pick=outcome", c.media, text.String()).body
		north := s.shopID(t, "north")
		stepped := *runner
		attempts := 0
		for ended := false; !ended; attempts++ {
			ctx, cancel := context.WithCancel(t.Context())
			stepped.Keeper = &cutting{Keeper: runner.Keeper, cancel: cancel, last: attempts >= c.ended}
			stepped.SaveEvery = time.Nanosecond
			err := stepped.Do(ctx, north, job.ID)
			cancel()
			if ended = err == nil; !ended && attempts > c.ended {
				t.Fatal(err)
			}
		}
		if attempts != c.ended+1 {
			t.Errorf("%d attempts", attempts)
		}
		if got := s.get(t, *decode[jobTold](t, s.get(t, "/v1/batches/"+job.ID, s.bearer("north server")...), 200).Result, s.bearer("north server")...); string(got.body) != string(want) {
			t.Errorf("%s: %d bytes, the answer in the call has %d", c.media, len(got.body), len(want))
		}
	}
}

// cutting ends an attempt after it has kept something.
type cutting struct {
	batch.Keeper
	cancel func()
	last   bool
}

func (c *cutting) AddToBatch(ctx context.Context, j *batchjob.Job, claim string, answer batchjob.Answer, p batchjob.Progress) error {
	err := c.Keeper.AddToBatch(ctx, j, claim, answer, p)
	if !c.last {
		c.cancel()
	}
	return err
}

func TestAJobThatCannotBeAnsweredSaysWhy(t *testing.T) {
	t.Parallel()
	s, runner := batchShops(t)
	a := s.do(t, "POST", "/v1/batches?lang=es", "units,uper,lower,readings\r\nin,eye,eye,16\r\n", append(s.bearer("north server"), "Content-Type", "text/csv", "Prefer", "respond-async")...)
	if a.status != 422 {
		// The header is looked at before the file is kept.
		t.Errorf("a bad header: %d %s", a.status, a.body)
	}
	a = s.do(t, "POST", "/v1/batches?lang=es", requestFile, append(s.bearer("north server"), "Content-Type", "text/csv", "Prefer", "respond-async")...)
	job := decode[jobTold](t, a, 202)
	gone := *runner
	gone.Snapshot = func(context.Context, *batchjob.Job) (*catalog.Snapshot, error) { return nil, catalog.ErrNotFound }
	if err := gone.Do(t.Context(), s.shopID(t, "north"), job.ID); err != nil {
		t.Fatal(err)
	}
	if got := decode[jobTold](t, s.get(t, "/v1/batches/"+job.ID, s.bearer("north server")...), 200); got.State != "failed" || got.Problem == nil || !strings.Contains(*got.Problem, "revisión") {
		t.Errorf("%+v", got)
	}
}
