package postgres

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgtype/zeronull"

	"midstroke/internal/batchjob"
	"midstroke/internal/jobs"
)

// BatchArgs are the job of answering a file of requests.
type BatchArgs struct {
	jobs.Of
	ID string `json:"id"`
}

// Kind implements jobs.Args.
func (BatchArgs) Kind() string { return "batch" }

// pieceBytes is how many bytes of a file are kept in one row.
const pieceBytes = 256 << 10

// KeepBatch keeps a file of requests, to be answered in the background. Where the shop
// has a job of the same request on the same revision that hasn't failed, it gives that one
// and keeps nothing.
func (s *Store) KeepBatch(ctx context.Context, j *batchjob.Job, file io.Reader) (kept *batchjob.Job, err error) {
	err = s.draftAsShop(ctx, j.Shop, func(tx pgx.Tx) error {
		// Two requests with the same file come one after the other.
		if _, err := tx.Exec(ctx, "SELECT pg_advisory_xact_lock(hashtextextended('batches', $1))", j.Shop); err != nil {
			return err
		}
		kept, err = scanBatch(tx.QueryRow(ctx, "SELECT "+batchColumns+` FROM batch_jobs
			WHERE shop_id = $1 AND print = $2 AND catalog = $3 AND revision = $4 AND state <> 'failed' ORDER BY id DESC LIMIT 1`,
			j.Shop, j.Print[:], j.Place.Catalog, j.Revision))
		if err == nil {
			kept.Repeated = true
			return nil
		}
		if !errors.Is(err, batchjob.ErrNotFound) {
			return err
		}
		kept = j
		return keepNewBatch(ctx, tx, j, file)
	})
	return kept, err
}

func keepNewBatch(ctx context.Context, tx pgx.Tx, j *batchjob.Job, file io.Reader) error {
	var waiting int
	if err := tx.QueryRow(ctx, "SELECT count(*) FROM batch_jobs WHERE shop_id = $1 AND finished_at IS NULL", j.Shop).Scan(&waiting); err != nil {
		return err
	}
	if waiting >= batchjob.MostWaiting {
		return batchjob.ErrTooMany
	}
	_, err := tx.Exec(ctx, `
		INSERT INTO batch_jobs (id, shop_id, state, print, file, media, size, asked, catalog, owner_id, revision, rows, progress, created_at, changed_at)
		VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $14)`,
		j.ID, j.Shop, string(j.State), j.Print[:], j.File, j.Media, j.Size, j.Asked, j.Place.Catalog, j.Place.Shop, j.Revision, j.Rows, j.Progress, j.Created)
	if err != nil {
		return fmt.Errorf("keep a file of requests: %w", err)
	}
	if err := addPieces(ctx, tx, j, false, 0, file); err != nil {
		return err
	}
	return jobs.Insert(ctx, tx, BatchArgs{jobs.Of{Shop: j.Shop}, j.ID})
}

// addPieces adds bytes to a file, or to an answer, from a place on.
func addPieces(ctx context.Context, tx pgx.Tx, j *batchjob.Job, isAnswer bool, at int64, from io.Reader) error {
	piece := make([]byte, pieceBytes)
	for {
		n, err := io.ReadFull(from, piece)
		if n > 0 {
			if _, err := tx.Exec(ctx, "INSERT INTO batch_pieces (job_id, shop_id, is_answer, starts_at, content) VALUES ($1, $2, $3, $4, $5)", j.ID, j.Shop, isAnswer, at, piece[:n]); err != nil {
				return fmt.Errorf("keep bytes of a file: %w", err)
			}
			at += int64(n)
		}
		switch {
		case errors.Is(err, io.EOF), errors.Is(err, io.ErrUnexpectedEOF):
			return nil
		case err != nil:
			return err
		}
	}
}

const batchColumns = `id::text, shop_id, state, file, media, size, asked, catalog, owner_id, revision, rows, progress, result_size, problem,
	began_at, began_rows, created_at, changed_at, finished_at, expires_at`

// scanBatch reads a row of batchColumns.
func scanBatch(row pgx.Row) (*batchjob.Job, error) {
	var j batchjob.Job
	var asked, progress []byte
	var began, finished, expires zeronull.Timestamptz
	err := row.Scan(&j.ID, &j.Shop, &j.State, &j.File, &j.Media, &j.Size, &asked, &j.Place.Catalog, &j.Place.Shop, &j.Revision, &j.Rows, &progress, &j.ResultSize, &j.Problem,
		&began, &j.BeganAt, &j.Created, &j.Changed, &finished, &expires)
	if errors.Is(err, pgx.ErrNoRows) {
		return nil, batchjob.ErrNotFound
	}
	if err == nil {
		err = errors.Join(json.Unmarshal(asked, &j.Asked), json.Unmarshal(progress, &j.Progress))
	}
	j.Began, j.Finished, j.Expires = time.Time(began), time.Time(finished), time.Time(expires)
	return &j, err
}

// BatchJob gives a job of a shop.
func (s *Store) BatchJob(ctx context.Context, shopID int64, id string) (j *batchjob.Job, err error) {
	if uuid.Validate(id) != nil {
		return nil, batchjob.ErrNotFound
	}
	err = s.readAsShop(ctx, shopID, func(tx pgx.Tx) error {
		j, err = scanBatch(tx.QueryRow(ctx, "SELECT "+batchColumns+" FROM batch_jobs WHERE id = $1 AND shop_id = $2", id, shopID))
		return err
	})
	return j, err
}

// DropBatch cancels a job of a shop, if it hasn't ended, and deletes it.
func (s *Store) DropBatch(ctx context.Context, shopID int64, id string) error {
	if uuid.Validate(id) != nil {
		return batchjob.ErrNotFound
	}
	return s.changeAsShop(ctx, shopID, func(tx pgx.Tx) error {
		tag, err := tx.Exec(ctx, "DELETE FROM batch_jobs WHERE id = $1 AND shop_id = $2", id, shopID)
		if err == nil && tag.RowsAffected() == 0 {
			return batchjob.ErrNotFound
		}
		return err
	})
}

// BatchPiece gives the bytes of a job's answer in which a place lies, and where they
// begin.
func (s *Store) BatchPiece(ctx context.Context, shopID int64, id string, at int64) (piece []byte, starts int64, err error) {
	err = s.readAsShop(ctx, shopID, func(tx pgx.Tx) error {
		return pieceAt(ctx, tx, id, true, at, &piece, &starts)
	})
	return piece, starts, err
}

func pieceAt(ctx context.Context, tx pgx.Tx, id string, isAnswer bool, at int64, piece *[]byte, starts *int64) error {
	err := tx.QueryRow(ctx, `SELECT content, starts_at FROM batch_pieces WHERE job_id = $1 AND is_answer = $2 AND starts_at <= $3 ORDER BY starts_at DESC LIMIT 1`, id, isAnswer, at).
		Scan(piece, starts)
	if errors.Is(err, pgx.ErrNoRows) {
		return batchjob.ErrGone
	}
	return err
}

// work calls do in a transaction of the jobs.
func (s *Store) work(ctx context.Context, shopID int64, do func(pgx.Tx) error) error {
	return inTransaction(ctx, s.working, pgx.TxOptions{}, shopID, do)
}

// BeginBatch begins an attempt at a job, and ends every earlier one. A job that can't go on where it
// was begins anew. It gives batchjob.ErrGone for one that was cancelled or has ended.
func (s *Store) BeginBatch(ctx context.Context, shopID int64, id string, anew bool) (j *batchjob.Job, claim string, err error) {
	claim = uuid.NewString()
	err = s.work(ctx, shopID, func(tx pgx.Tx) error {
		if anew {
			if _, err := tx.Exec(ctx, "UPDATE batch_jobs SET progress = $2, result_size = 0 WHERE id = $1 AND finished_at IS NULL", id, batchjob.Progress{}); err != nil {
				return err
			}
			if _, err := tx.Exec(ctx, "DELETE FROM batch_pieces WHERE job_id = $1 AND is_answer AND EXISTS (SELECT FROM batch_jobs WHERE id = $1 AND finished_at IS NULL)", id); err != nil {
				return err
			}
		}
		j, err = scanBatch(tx.QueryRow(ctx, `
			UPDATE batch_jobs SET state = 'running', claim = $2, began_at = now(), changed_at = now(), began_rows = (progress ->> 'rows')::integer
			WHERE id = $1 AND finished_at IS NULL RETURNING `+batchColumns, id, claim))
		return err
	})
	if errors.Is(err, batchjob.ErrNotFound) {
		err = batchjob.ErrGone
	}
	return j, claim, err
}

// ReadBatch writes the file of a job to w.
func (s *Store) ReadBatch(ctx context.Context, j *batchjob.Job, w io.Writer) error {
	for at := int64(0); at < j.Size; {
		var piece []byte
		var starts int64
		if err := s.work(ctx, j.Shop, func(tx pgx.Tx) error { return pieceAt(ctx, tx, j.ID, false, at, &piece, &starts) }); err != nil {
			return err
		}
		if _, err := w.Write(piece[at-starts:]); err != nil {
			return err
		}
		at = starts + int64(len(piece))
	}
	return nil
}

// AddToBatch adds bytes to the answer of a job and says how far it is then, both or
// neither. It gives batchjob.ErrGone where another attempt has begun or the job was
// cancelled.
func (s *Store) AddToBatch(ctx context.Context, j *batchjob.Job, claim string, answer batchjob.Answer, p batchjob.Progress) error {
	return s.work(ctx, j.Shop, func(tx pgx.Tx) error {
		tag, err := tx.Exec(ctx, `UPDATE batch_jobs SET progress = $3, result_size = result_size + $4, changed_at = now()
			WHERE id = $1 AND claim = $2 AND finished_at IS NULL AND result_size = $5`, j.ID, claim, p, answer.Size, j.ResultSize)
		if err != nil {
			return err
		}
		if tag.RowsAffected() == 0 {
			return batchjob.ErrGone
		}
		return addPieces(ctx, tx, j, true, j.ResultSize, answer)
	})
}

// EndBatch ends a job: its answer is whole, or problem says why there is none. The file
// isn't kept any longer.
func (s *Store) EndBatch(ctx context.Context, j *batchjob.Job, claim, problem string, keep time.Duration) error {
	state := batchjob.Done
	if problem != "" {
		state = batchjob.Failed
	}
	return s.work(ctx, j.Shop, func(tx pgx.Tx) error {
		tag, err := tx.Exec(ctx, `
			UPDATE batch_jobs SET state = $3, problem = $4, changed_at = now(), finished_at = now(), expires_at = now() + $5
			WHERE id = $1 AND claim = $2 AND finished_at IS NULL`, j.ID, claim, string(state), problem, keep)
		if err != nil {
			return err
		}
		if tag.RowsAffected() == 0 {
			return batchjob.ErrGone
		}
		_, err = tx.Exec(ctx, "DELETE FROM batch_pieces WHERE job_id = $1 AND (NOT is_answer OR $2)", j.ID, problem != "")
		return err
	})
}

// ForgetBatches deletes the jobs whose answers have been kept long enough.
func (s *Store) ForgetBatches(ctx context.Context) (forgotten int, err error) {
	err = s.changeAsKeeper(ctx, func(tx pgx.Tx) error {
		tag, err := tx.Exec(ctx, "DELETE FROM batch_jobs WHERE expires_at < now()")
		forgotten = int(tag.RowsAffected())
		return err
	})
	return forgotten, err
}
