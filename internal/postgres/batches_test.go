package postgres_test

import (
	"bytes"
	"context"
	"errors"
	"strings"
	"testing"
	"time"

	"midstroke/internal/batchjob"
	"midstroke/internal/postgres"
	"midstroke/internal/shop"
)

// newBatch is a job with a file of many pieces.
func newBatch(t *testing.T, shopID int64, print byte) (*batchjob.Job, string) {
	t.Helper()
	j, err := batchjob.New(shopID, time.Now().UTC())
	if err != nil {
		t.Fatal(err)
	}
	file := strings.Repeat("units,upper,lower,readings\n", 40_000) // about 1 MB
	j.Print[0], j.File, j.Media, j.Size, j.Rows = print, "requests.csv", "text/csv", int64(len(file)), 40_000
	j.Asked = batchjob.Asked{Picks: []string{"outcome"}, Language: "es", Defaults: map[string][]string{"units": {"mm"}}}
	j.Place, j.Revision = shop.Place{Shop: shopID, Catalog: "north"}, 3
	return j, file
}

// keepBatch leaves a row in every table of files.
func keepBatch(t *testing.T, s *postgres.Store, k shop.Key) {
	t.Helper()
	j, file := newBatch(t, k.ShopID, 200)
	if _, err := s.KeepBatch(shop.WithKey(t.Context(), k.Hash), j, strings.NewReader(file)); err != nil {
		t.Fatal(err)
	}
}

func TestAFileIsKeptAndItsAnswerGrows(t *testing.T) {
	t.Parallel()
	s := newQuoting(t)
	j, file := newBatch(t, s.shop, 1)
	if kept, err := s.KeepBatch(s.ctx, j, strings.NewReader(file)); err != nil || kept.Repeated {
		t.Fatal(kept, err)
	}
	again, _ := newBatch(t, s.shop, 1)
	if kept, err := s.KeepBatch(s.ctx, again, strings.NewReader(file)); err != nil || !kept.Repeated || kept.ID != j.ID {
		t.Errorf("the same file again: %+v, %v", kept, err)
	}
	got, err := s.BatchJob(s.ctx, s.shop, j.ID)
	if err != nil || got.State != batchjob.Waiting || got.Rows != j.Rows || got.Asked.Language != "es" || got.Asked.Defaults["units"][0] != "mm" || got.Place != j.Place || got.Revision != 3 {
		t.Fatalf("%+v, %v", got, err)
	}

	// An attempt reads the whole file.
	work := t.Context()
	begun, claim, err := s.BeginBatch(work, s.shop, j.ID, false)
	if err != nil || begun.State != batchjob.Running || begun.Began.IsZero() {
		t.Fatalf("%+v, %v", begun, err)
	}
	var read bytes.Buffer
	if err := s.ReadBatch(work, begun, &read); err != nil || read.String() != file {
		t.Fatalf("%d bytes of %d, %v", read.Len(), len(file), err)
	}
	first, second := strings.Repeat("a", 300_000), strings.Repeat("b", 1000)
	p := batchjob.Progress{Rows: 10, Faulty: 1, Outcomes: map[string]int{"fits": 9}, Faults: []batchjob.RowFault{{Line: 4, Text: "no", Codes: "comma"}}}
	if err := s.AddToBatch(work, begun, claim, batchjob.Answer{Reader: strings.NewReader(first), Size: int64(len(first))}, p); err != nil {
		t.Fatal(err)
	}
	// It was killed, and another attempt goes on. The first one can't add any more.
	next, later, err := s.BeginBatch(work, s.shop, j.ID, false)
	if err != nil || next.ResultSize != int64(len(first)) || next.Progress.Rows != 10 || next.BeganAt != 10 || next.Progress.Faults[0].Line != 4 {
		t.Fatalf("%+v, %v", next, err)
	}
	begun.ResultSize = int64(len(first))
	if err := s.AddToBatch(work, begun, claim, batchjob.Answer{Reader: strings.NewReader("x"), Size: 1}, p); !errors.Is(err, batchjob.ErrGone) {
		t.Errorf("an old attempt adds: %v", err)
	}
	if err := s.EndBatch(work, begun, claim, "", time.Hour); !errors.Is(err, batchjob.ErrGone) {
		t.Errorf("an old attempt ends it: %v", err)
	}
	p.Rows = 40_000
	if err := s.AddToBatch(work, next, later, batchjob.Answer{Reader: strings.NewReader(second), Size: int64(len(second))}, p); err != nil {
		t.Fatal(err)
	}
	if err := s.EndBatch(work, next, later, "", time.Hour); err != nil {
		t.Fatal(err)
	}
	done, err := s.BatchJob(s.ctx, s.shop, j.ID)
	if err != nil || done.State != batchjob.Done || done.ResultSize != int64(len(first)+len(second)) || done.Expires.Sub(done.Finished) != time.Hour {
		t.Fatalf("%+v, %v", done, err)
	}
	var answer []byte
	for int64(len(answer)) < done.ResultSize {
		piece, starts, err := s.BatchPiece(s.ctx, s.shop, j.ID, int64(len(answer)))
		if err != nil || starts != int64(len(answer)) {
			t.Fatal(starts, err)
		}
		answer = append(answer, piece...)
	}
	if string(answer) != first+second {
		t.Error("the answer isn't what was added")
	}
	if piece, starts, err := s.BatchPiece(s.ctx, s.shop, j.ID, 299_999); err != nil || piece[299_999-starts] != 'a' {
		t.Error(starts, err)
	}
	if _, _, err := s.BeginBatch(work, s.shop, j.ID, false); !errors.Is(err, batchjob.ErrGone) {
		t.Errorf("it is begun again: %v", err)
	}
	if files := counted(t, s, "SELECT count(*) FROM batch_pieces WHERE NOT is_answer AND job_id = '"+j.ID+"'"); files != 0 {
		t.Errorf("%d pieces of the file stay", files)
	}
}

// counted gives a number that the owner sees.
func counted(t *testing.T, s *quoting, sql string) (n int) {
	t.Helper()
	if _, err := s.owner.Exec(context.Background(), "SET midstroke.shop = '*'"); err != nil {
		t.Fatal(err)
	}
	if err := s.owner.QueryRow(context.Background(), sql).Scan(&n); err != nil {
		t.Fatal(err)
	}
	return n
}

func TestJobsOfFilesEndAndAreForgotten(t *testing.T) {
	t.Parallel()
	s := newQuoting(t)
	j, file := newBatch(t, s.shop, 1)
	if _, err := s.KeepBatch(s.ctx, j, strings.NewReader(file)); err != nil {
		t.Fatal(err)
	}
	other := s.shop + 1
	if _, err := s.BatchJob(s.ctx, other, j.ID); !errors.Is(err, batchjob.ErrNotFound) {
		t.Errorf("another shop sees it: %v", err)
	}
	if err := s.DropBatch(s.ctx, other, j.ID); !errors.Is(err, batchjob.ErrNotFound) {
		t.Errorf("another shop deletes it: %v", err)
	}
	begun, claim, err := s.BeginBatch(t.Context(), s.shop, j.ID, false)
	if err != nil {
		t.Fatal(err)
	}
	// It is cancelled while it is answered.
	if err := s.DropBatch(s.ctx, s.shop, j.ID); err != nil {
		t.Fatal(err)
	}
	if err := s.AddToBatch(t.Context(), begun, claim, batchjob.Answer{Reader: strings.NewReader("x"), Size: 1}, batchjob.Progress{}); !errors.Is(err, batchjob.ErrGone) {
		t.Errorf("a cancelled job grows: %v", err)
	}
	if _, err := s.BatchJob(s.ctx, s.shop, j.ID); !errors.Is(err, batchjob.ErrNotFound) {
		t.Errorf("a cancelled job is there: %v", err)
	}
	for _, id := range []string{"", "x", j.ID} {
		if err := s.DropBatch(s.ctx, s.shop, id); !errors.Is(err, batchjob.ErrNotFound) {
			t.Errorf("%q: %v", id, err)
		}
	}
	// One that failed may be sent again. One whose time is over goes.
	failed, _ := newBatch(t, s.shop, 2)
	if _, err := s.KeepBatch(s.ctx, failed, strings.NewReader(file)); err != nil {
		t.Fatal(err)
	}
	begun, claim, err = s.BeginBatch(t.Context(), s.shop, failed.ID, false)
	if err == nil {
		err = s.EndBatch(t.Context(), begun, claim, "a test's", -time.Hour)
	}
	if err != nil {
		t.Fatal(err)
	}
	again, _ := newBatch(t, s.shop, 2)
	if kept, err := s.KeepBatch(s.ctx, again, strings.NewReader(file)); err != nil || kept.Repeated {
		t.Errorf("after a failure: %+v, %v", kept, err)
	}
	if n, err := s.ForgetBatches(t.Context()); err != nil || n != 1 {
		t.Errorf("%d forgotten, %v", n, err)
	}
	if left := counted(t, s, "SELECT count(*) FROM batch_pieces WHERE job_id = '"+failed.ID+"'"); left != 0 {
		t.Errorf("%d pieces of a forgotten job are left", left)
	}
	// No more than so many wait. Two do already.
	for i := range batchjob.MostWaiting - 2 {
		one, _ := newBatch(t, s.shop, byte(10+i))
		one.Size = 1
		if _, err := s.KeepBatch(s.ctx, one, strings.NewReader("x")); err != nil {
			t.Fatal(err)
		}
	}
	last, _ := newBatch(t, s.shop, 255)
	if _, err := s.KeepBatch(s.ctx, last, strings.NewReader("x")); !errors.Is(err, batchjob.ErrTooMany) {
		t.Errorf("one too many: %v", err)
	}
}
