package batch

import (
	"bytes"
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"net/url"
	"os"
	"strings"
	"time"

	"midstroke/internal/batchjob"
	"midstroke/internal/catalog"
	"midstroke/internal/fault"
	"midstroke/internal/note"
	"midstroke/internal/table"
	"midstroke/internal/unit"
	"midstroke/internal/wire"
)

// Keeper keeps files that are answered in the background, with what there is of their
// answers. Its methods give batchjob.ErrGone where a job was cancelled or another attempt
// has begun.
type Keeper interface {
	BeginBatch(ctx context.Context, shopID int64, id string, anew bool) (j *batchjob.Job, claim string, err error)
	ReadBatch(ctx context.Context, j *batchjob.Job, w io.Writer) error
	AddToBatch(ctx context.Context, j *batchjob.Job, claim string, answer batchjob.Answer, p batchjob.Progress) error
	EndBatch(ctx context.Context, j *batchjob.Job, claim, problem string, keep time.Duration) error
}

// Runner answers files in the background. Fields are required unless
// they say so.
type Runner struct {
	Keeper Keeper
	// Snapshot gives what a job is answered from, catalog.ErrNotFound where that isn't
	// there any more.
	Snapshot func(context.Context, *batchjob.Job) (*catalog.Snapshot, error)
	// Turn gives the function by which rows of a shop wait for their turn.
	Turn func(shopID int64) func(ctx context.Context, rows int, do func()) error
	// Keep is how long an answer stays.
	Keep time.Duration
	// SaveEvery is how often what has been answered is kept. What is answered after that is
	// answered again where the process is killed. Defaults to 1 s.
	SaveEvery time.Duration
}

// saveBytes is how much of an answer is kept at once at most.
const saveBytes = 4 << 20

// Do answers a file, from where an earlier attempt has come on. A workbook begins anew,
// since its parts are only written when all rows are known.
func (r *Runner) Do(ctx context.Context, shopID int64, id string) error {
	a := &attempt{Runner: r}
	defer a.close()
	err := a.begin(ctx, shopID, id)
	if err == nil {
		err = a.answer(ctx)
	}
	var faults *table.Faults
	switch {
	case errors.Is(err, batchjob.ErrGone):
		return nil
	case errors.As(err, &faults):
		err = a.fail(ctx, a.inWords(faults.List))
	case errors.Is(err, catalog.ErrNotFound):
		gone := fault.Fault{Code: revisionGone, Values: []note.Value{note.Word("catalog", a.job.Place.Catalog), note.Num("revision", float64(a.job.Revision), "")}}
		err = a.fail(ctx, a.inWords(fault.List{gone}))
	}
	if errors.Is(err, batchjob.ErrGone) {
		return nil
	}
	return err
}

// attempt is one attempt at a job.
type attempt struct {
	*Runner
	job   *batchjob.Job
	claim string
	// file has the requests, and book the workbook that is made of them.
	file, book *os.File
	// fresh is what is answered and not kept yet.
	fresh bytes.Buffer
	saved time.Time
}

func (a *attempt) begin(ctx context.Context, shopID int64, id string) (err error) {
	if a.job, a.claim, err = a.Keeper.BeginBatch(ctx, shopID, id, false); err != nil {
		return err
	}
	if a.file, err = spool(); err != nil {
		return err
	}
	return a.Keeper.ReadBatch(ctx, a.job, a.file)
}

// spool makes a file that goes with this process.
func spool() (*os.File, error) {
	f, err := os.CreateTemp("", "midstroke-batch-*")
	if err != nil {
		return nil, err
	}
	return f, os.Remove(f.Name())
}

func (a *attempt) close() {
	for _, f := range []*os.File{a.file, a.book} {
		if f != nil {
			_ = f.Close() // it is gone already
		}
	}
}

// answer answers the rows that aren't answered yet, and ends the job.
func (a *attempt) answer(ctx context.Context) (err error) {
	snapshot, err := a.Snapshot(ctx, a.job)
	if err != nil {
		return err
	}
	b, err := a.open(snapshot)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, b.Close()) }()
	isBook := b.Kind() == table.RowsOfSheet
	if a.job.ResultSize > 0 && a.job.Progress.Rows == 0 || isBook && a.job.Progress.Rows > 0 {
		if a.job, a.claim, err = a.Keeper.BeginBatch(ctx, a.job.Shop, a.job.ID, true); err != nil {
			return err
		}
	}
	if p := &a.job.Progress; p.Rows > 0 {
		b.From = &Summary{Rows: p.Rows, Faults: p.Faulty, Outcomes: p.Outcomes}
		for _, f := range p.Faults {
			b.From.RowFaults = append(b.From.RowFaults, RowFault(f))
		}
	}
	var out io.Writer = &a.fresh
	if isBook {
		if a.book, err = spool(); err != nil {
			return err
		}
		out = a.book
	}
	a.saved = time.Now()
	b.Saved = func(s *Summary) error {
		if time.Since(a.saved) < cmp.Or(a.SaveEvery, time.Second) && a.fresh.Len() < saveBytes {
			return nil
		}
		return a.save(ctx, s)
	}
	summary, err := b.Answer(ctx, out)
	if err == nil {
		err = a.saveLast(ctx, &summary)
	}
	if err != nil {
		return err
	}
	return a.Keeper.EndBatch(ctx, a.job, a.claim, "", a.Keep)
}

// open opens the file as it was asked to be answered.
func (a *attempt) open(snapshot *catalog.Snapshot) (*Batch, error) {
	asked := &a.job.Asked
	picks, faults := wire.ReadPicks(asked.Picks)
	if err := asFaults(faults); err != nil {
		return nil, err // a newer version may have other values
	}
	return Open(table.File{Name: a.job.File, Data: a.file, Size: a.job.Size}, Config{
		Snapshot: snapshot,
		Edition:  wire.EditionOf(snapshot),
		Language: asked.Language, Picks: picks, Keep: asked.Keep, ReadAs: asked.ReadAs, Defaults: url.Values(asked.Defaults),
		Turn: a.Turn(a.job.Shop),
	})
}

// save keeps what has been answered.
func (a *attempt) save(ctx context.Context, s *Summary) error {
	return a.add(ctx, s, batchjob.Answer{Reader: &a.fresh, Size: int64(a.fresh.Len())})
}

// saveLast keeps the rest of the answer.
func (a *attempt) saveLast(ctx context.Context, s *Summary) error {
	if a.book == nil {
		return a.save(ctx, s)
	}
	size, err := a.book.Seek(0, io.SeekCurrent)
	if err != nil {
		return err
	}
	return a.add(ctx, s, batchjob.Answer{Reader: io.NewSectionReader(a.book, 0, size), Size: size})
}

func (a *attempt) add(ctx context.Context, s *Summary, answer batchjob.Answer) error {
	p := batchjob.Progress{Rows: s.Rows, Faulty: s.Faults, Outcomes: s.Outcomes}
	for _, f := range s.RowFaults {
		p.Faults = append(p.Faults, batchjob.RowFault(f))
	}
	if err := a.Keeper.AddToBatch(ctx, a.job, a.claim, answer, p); err != nil {
		return err
	}
	a.job.Progress, a.job.ResultSize = p, a.job.ResultSize+answer.Size
	a.fresh.Reset()
	a.saved = time.Now()
	return nil
}

// inWords says what is wrong with a file.
func (a *attempt) inWords(faults fault.List) string {
	texts := make([]string, len(faults))
	for i := range faults {
		texts[i], _ = inWords(&faults[i], a.job.Asked.Language, unit.Unset)
	}
	return strings.Join(texts, "; ")
}

// fail ends a job that can't be answered.
func (a *attempt) fail(ctx context.Context, why string) error {
	return a.Keeper.EndBatch(ctx, a.job, a.claim, fmt.Sprintf("%.2000s", why), a.Keep)
}
