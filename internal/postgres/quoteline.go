package postgres

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"sync"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
)

// quoteLine is where new quotes wait to be kept. Those that wait at the same time are
// kept in one transaction: a commit, and what Postgres does before it begins a
// statement, cost much more than the row of a quote.
type quoteLine struct {
	mu      sync.Mutex
	waiting []*newQuote
	writers int // transactions under way
}

const (
	// mostTogether is how many quotes one transaction keeps, by one statement for each
	// view. A connection prepares a statement for each number. With more, nothing would
	// be left to compute while Postgres works.
	mostTogether = 8
	// mostWriters is how many transactions keep quotes at once. One alone is the
	// fastest, since more come together meanwhile. Another begins where a quote has
	// waited for patience, so that one that is held up doesn't hold up the rest.
	mostWriters = 4
	patience    = 50 * time.Millisecond
)

// newQuote is a quote in the line.
type newQuote struct {
	ctx   context.Context
	view  [2]string // of sayView
	id    string
	args  []any // by newQuoteColumns
	kept  bool
	err   error
	ready chan struct{} // closed once kept and err are there
}

// keepInLine keeps a quote whose key was never used, and which no webhook wants to be
// told of. It says whether it did.
func (s *Store) keepInLine(ctx context.Context, shopID int64, id string, args []any) (kept bool, err error) {
	q := &newQuote{ctx: ctx, id: id, args: args, ready: make(chan struct{})}
	q.view[0], q.view[1] = viewOf(ctx, shopID)
	s.line.add(q)
	for allowed := 1; ; allowed = mostWriters {
		if s.line.begin(allowed) {
			go s.writeQuotes()
		}
		select {
		case <-q.ready:
			return q.kept, q.err
		case <-ctx.Done():
			return false, ctx.Err()
		case <-time.After(patience):
		}
	}
}

// writeQuotes keeps the quotes in line until there are none.
func (s *Store) writeQuotes() {
	for some := s.line.next(); some != nil; some = s.line.next() {
		s.keepTogether(some)
	}
}

// add puts a quote at the end of the line.
func (l *quoteLine) add(q *newQuote) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.waiting = append(l.waiting, q)
}

// begin says whether another writer is to begin, where so many are allowed.
func (l *quoteLine) begin(allowed int) bool {
	l.mu.Lock()
	defer l.mu.Unlock()
	if len(l.waiting) == 0 || l.writers >= allowed {
		return false
	}
	l.writers++
	return true
}

// next takes the first quotes out of the line, or ends a writer where there are none.
func (l *quoteLine) next() []*newQuote {
	l.mu.Lock()
	defer l.mu.Unlock()
	if len(l.waiting) == 0 {
		l.writers--
		return nil
	}
	n := min(len(l.waiting), mostTogether)
	some := slices.Clone(l.waiting[:n])
	l.waiting = slices.Delete(l.waiting, 0, n)
	return some
}

// keepTogether keeps quotes in one transaction. Where the database refuses it, each is
// tried by itself, so that none fails for another.
func (s *Store) keepTogether(quotes []*newQuote) {
	err := s.keepAtOnce(quotes)
	var refused *pgconn.PgError
	alone := len(quotes) > 1 && errors.As(err, &refused)
	for _, q := range quotes {
		if q.err = err; alone {
			q.err = s.keepAtOnce([]*newQuote{q})
		}
		close(q.ready)
	}
}

// keepAtOnce keeps quotes in one transaction and one round trip. It lasts as long as
// the most patient of those who wait for them.
func (s *Store) keepAtOnce(quotes []*newQuote) error {
	ctx, cancel := untilTheLast(quotes)
	defer cancel()
	quotes = slices.SortedStableFunc(slices.Values(quotes), func(a, b *newQuote) int { return slices.Compare(a.view[:], b.view[:]) })
	var b pgx.Batch
	for len(quotes) > 0 {
		view := quotes[0].view
		b.Queue(sayView, view[0], view[1])
		n := slices.IndexFunc(quotes, func(q *newQuote) bool { return q.view != view })
		if n < 0 {
			n = len(quotes)
		}
		queueNew(&b, quotes[:n])
		quotes = quotes[n:]
	}
	if err := asShopError(s.asking.SendBatch(ctx, &b).Close()); err != nil {
		return fmt.Errorf("keep a quote: %w", err)
	}
	return nil
}

// queueNew keeps quotes of one view by one statement.
func queueNew(b *pgx.Batch, quotes []*newQuote) {
	args := make([]any, 0, len(quotes)*len(newQuoteColumns))
	for _, q := range quotes {
		q.kept = false
		args = append(args, q.args...)
	}
	b.Queue(keepNewQuotesSQL[len(quotes)], args...).Query(func(rows pgx.Rows) error {
		ids, err := pgx.CollectRows(rows, pgx.RowTo[string])
		for _, q := range quotes {
			q.kept = slices.Contains(ids, q.id)
		}
		return err
	})
}

// untilTheLast gives the context of the first of some quotes, with the latest of all
// their deadlines.
func untilTheLast(quotes []*newQuote) (context.Context, context.CancelFunc) {
	ctx := context.WithoutCancel(quotes[0].ctx)
	var last time.Time
	for _, q := range quotes {
		until, ends := q.ctx.Deadline()
		if !ends {
			return context.WithCancel(ctx)
		}
		if until.After(last) {
			last = until
		}
	}
	return context.WithDeadline(ctx, last)
}
