package batch

import (
	"context"
	"errors"
	"io"
	"runtime"
	"sync"

	"midstroke/internal/fault"
	"midstroke/internal/table"
	"midstroke/internal/unit"
)

// chunkRows is how many rows go through together. A turn takes as long as they do, some
// milliseconds.
const chunkRows = 32

// chunk is some rows on their way.
type chunk struct {
	rows []answered
	done chan struct{} // closed when they are answered
	err  error
}

// add adds a row. The reader uses its slices again.
func (c *chunk) add(row table.Row) {
	row.Cells = append([]string(nil), row.Cells...)
	row.Members = append([]table.Member(nil), row.Members...)
	c.rows = append(c.rows, answered{row: row})
}

// Answer answers all rows and writes them with their answers, in their order. It may
// be called once.
func (b *Batch) Answer(ctx context.Context, w io.Writer) (Summary, error) {
	s := Summary{}
	if b.From != nil {
		s = *b.From
	}
	if s.Outcomes == nil {
		s.Outcomes = map[string]int{}
	}
	if err := b.pass(s.Rows); err != nil {
		return s, err
	}
	out, err := b.writer(w)
	if err != nil {
		return s, err
	}
	err = b.each(ctx, b.answer, func(a *answered) error {
		s.add(a)
		if err := out.row(a); err != nil || s.Rows%chunkRows != 0 {
			return err
		}
		return b.pause(out, &s)
	})
	if b.Progress != nil {
		b.Progress(s.Rows)
	}
	return s, errors.Join(err, out.end(&s, err != nil))
}

// pass passes over rows.
func (b *Batch) pass(rows int) error {
	for range rows {
		if _, err := b.rows.Next(); err != nil {
			return err
		}
	}
	return nil
}

// pause tells after some rows how far the answer is.
func (b *Batch) pause(out writer, s *Summary) error {
	if b.Progress != nil {
		b.Progress(s.Rows)
	}
	if b.Saved == nil {
		return nil
	}
	if err := out.flush(); err != nil {
		return err
	}
	return b.Saved(s)
}

// each reads all rows, gives each to work on all processors, and then, in their order,
// to take.
func (b *Batch) each(ctx context.Context, work func(*answered), take func(*answered) error) error {
	ctx, cancel := context.WithCancel(ctx)
	var workers sync.WaitGroup
	defer workers.Wait()
	defer cancel()
	todo := make(chan *chunk)
	inOrder := make(chan *chunk, 2*b.Workers)
	for range b.Workers {
		workers.Go(func() {
			for c := range todo {
				c.err = b.take(ctx, c, work)
				close(c.done)
			}
		})
	}
	var readErr error
	workers.Go(func() {
		defer close(inOrder)
		defer close(todo)
		readErr = b.read(ctx, todo, inOrder)
	})
	for c := range inOrder {
		<-c.done
		if c.err != nil {
			return c.err
		}
		for i := range c.rows {
			if err := take(&c.rows[i]); err != nil {
				return err
			}
		}
	}
	return readErr
}

// read reads rows and hands them out in chunks.
func (b *Batch) read(ctx context.Context, todo, inOrder chan<- *chunk) error {
	for {
		c := &chunk{rows: make([]answered, 0, chunkRows), done: make(chan struct{})}
		var err error
		for len(c.rows) < chunkRows && err == nil {
			var row table.Row
			if row, err = b.rows.Next(); err == nil {
				c.add(row)
			}
		}
		if len(c.rows) > 0 {
			select {
			case inOrder <- c:
			case <-ctx.Done():
				return ctx.Err()
			}
			select {
			case todo <- c:
			case <-ctx.Done():
				c.err = ctx.Err()
				close(c.done)
				return c.err
			}
		}
		switch {
		case errors.Is(err, io.EOF):
			return nil
		case err != nil:
			return err
		}
	}
}

// take answers the rows of a chunk when it is their turn.
func (b *Batch) take(ctx context.Context, c *chunk, work func(*answered)) error {
	do := func() {
		for i := range c.rows {
			if ctx.Err() != nil {
				return
			}
			if b.Late != nil && b.Late() {
				b.refuse(&c.rows[i], fault.List{{Code: notAnswered}}, unit.Unset)
				continue
			}
			work(&c.rows[i])
			// A single request that has come meanwhile goes first.
			runtime.Gosched()
		}
	}
	if b.Turn == nil {
		do()
		return ctx.Err()
	}
	if err := b.Turn(ctx, len(c.rows), do); err != nil {
		return err
	}
	return ctx.Err()
}
