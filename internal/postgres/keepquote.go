package postgres

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
	"github.com/jackc/pgx/v5/pgtype/zeronull"

	"midstroke/internal/quote"
	"midstroke/internal/shop"
	"midstroke/internal/webhook"
)

// Kept gives the answer that is kept for a request, nil where there is none. It gives
// shop.ErrInFlight and shop.ErrKeyReused as Claim does.
func (s *Store) Kept(ctx context.Context, c shop.Claim) (kept *shop.Answer, err error) {
	err = s.glance(ctx, c.Shop, func(rows pgx.Rows) (err error) {
		kept, err = keptAnswer(rows, c)
		return err
	}, keptAnswerSQL, c.Shop, c.Key, KeptFor.Seconds())
	return kept, err
}

const keptAnswerSQL = `
	SELECT fingerprint, status, header, body, claimed_until > now(), quote_at, (SELECT content FROM quotes WHERE id = quote_id) FROM kept_answers
	WHERE shop_id = $1 AND key = $2 AND created_at > now() - make_interval(secs => $3)`

func keptAnswer(rows pgx.Rows, c shop.Claim) (*shop.Answer, error) {
	var fingerprint, content []byte
	var status, at *int
	var answer shop.Answer
	var held bool
	_, err := pgx.CollectExactlyOneRow(rows, func(row pgx.CollectableRow) (struct{}, error) {
		return struct{}{}, row.Scan(&fingerprint, &status, &answer.Header, &answer.Body, &held, &at, &content)
	})
	switch {
	case errors.Is(err, pgx.ErrNoRows), err == nil && status == nil && !held:
		return nil, nil
	case err != nil:
		return nil, fmt.Errorf("look for a kept answer: %w", err)
	case [32]byte(fingerprint) != c.Fingerprint:
		return nil, shop.ErrKeyReused
	case status == nil:
		return nil, shop.ErrInFlight
	}
	answer.Status = *status
	if at != nil {
		answer.Body = slices.Insert(answer.Body, *at, membersOf(content)...)
	}
	return &answer, nil
}

// membersOf gives what stands between the braces of a quote's content.
func membersOf(content []byte) []byte {
	return bytes.TrimSuffix(bytes.TrimPrefix(content, []byte("{")), []byte("}"))
}

// withoutMembers takes a quote's content out of the answer to the request for it. at is
// how many bytes come before it, nil where the answer doesn't have it.
func withoutMembers(body, content []byte) (rest []byte, at *int) {
	const some = 32 // a long text is searched for slowly
	members := membersOf(content)
	from := bytes.Index(body, members[:min(len(members), some)])
	if from < 0 || !bytes.HasPrefix(body[from:], members) {
		return body, nil
	}
	return slices.Concat(body[:from], body[from+len(members):]), &from
}

// KeepQuote keeps a quote and the answer to the request for it, both or none. For a
// request that was answered before it gives that answer and keeps nothing. It gives
// shop.ErrInFlight and shop.ErrKeyReused as Claim does.
func (s *Store) KeepQuote(ctx context.Context, c shop.Claim, q *quote.Quote, a shop.Answer) (kept *shop.Answer, err error) {
	args := newQuoteArgs(c, q, a)
	if done, err := s.keepInLine(ctx, c.Shop, q.ID, args); err != nil || done {
		return nil, err
	}
	event, err := eventArgs(c.Shop, quoteEvent(webhook.QuoteKept, q))
	if err != nil {
		return nil, err
	}
	var b pgx.Batch
	queueView(ctx, &b, c.Shop)
	var done bool
	b.Queue(keepAnyQuoteSQL, slices.Concat(args, []any{KeptFor.Seconds()}, event[2:])...).Exec(func(counted pgconn.CommandTag) error {
		done = counted.RowsAffected() > 0
		return nil
	})
	if err := asShopError(s.asking.SendBatch(ctx, &b).Close()); err != nil {
		return nil, fmt.Errorf("keep a quote: %w", err)
	}
	if done {
		return nil, nil
	}
	if kept, err = s.Kept(ctx, c); err == nil && kept == nil {
		err = shop.ErrInFlight
	}
	return kept, err
}

// unkeptQuote is a quote that isn't kept yet, with the answer that is kept beside it.
type unkeptQuote struct {
	*quote.Quote
	claim  shop.Claim
	answer shop.Answer
	// body is the answer's without the quote's content, which came at contentAt.
	body      []byte
	contentAt *int
}

// newQuoteColumns are the columns of the table new_quotes of a statement, and the parameters
// that fill them in.
var newQuoteColumns = []struct {
	name, kind string
	of         func(*unkeptQuote) any
}{
	{"shop_id", "bigint", func(q *unkeptQuote) any { return q.claim.Shop }},
	{"key", "text", func(q *unkeptQuote) any { return q.claim.Key }},
	{"fingerprint", "bytea", func(q *unkeptQuote) any { return q.claim.Fingerprint[:] }},
	{"claim", "uuid", func(q *unkeptQuote) any { return q.claim.ID }},
	{"status", "integer", func(q *unkeptQuote) any { return q.answer.Status }},
	{"header", "jsonb", func(q *unkeptQuote) any { return q.answer.Header }},
	{"body", "bytea", func(q *unkeptQuote) any { return q.body }},
	{"quote_at", "integer", func(q *unkeptQuote) any { return q.contentAt }},
	{"event", "text", func(*unkeptQuote) any { return webhook.QuoteKept.String() }},
	{"id", "uuid", func(q *unkeptQuote) any { return q.ID }},
	{"state", "text", func(q *unkeptQuote) any { return q.State.String() }},
	{"reference", "text", func(q *unkeptQuote) any { return q.Reference }},
	{"remark", "text", func(q *unkeptQuote) any { return q.Remark }},
	{"catalog", "text", func(q *unkeptQuote) any { return q.Catalog }},
	{"revision", "integer", func(q *unkeptQuote) any { return q.Revision }},
	{"dampers", "text[]", func(q *unkeptQuote) any { return q.Dampers }},
	{"codes", "text[]", func(q *unkeptQuote) any { return q.Codes }},
	{"total", "json", func(q *unkeptQuote) any { return q.Total }},
	{"content", "bytea", func(q *unkeptQuote) any { return q.Content }},
	{"history", "json", func(q *unkeptQuote) any { return eventsOf(q.Quote) }},
	{"created_at", "timestamptz", func(q *unkeptQuote) any { return q.Created }},
	{"created_by", "text", func(q *unkeptQuote) any { return q.CreatedBy }},
	{"changed_at", "timestamptz", func(q *unkeptQuote) any { return q.Changed }},
	{"sheet", "text", func(q *unkeptQuote) any { return zeronull.Text(q.Link.Secret) }},
	{"sheet_expires", "timestamptz", func(q *unkeptQuote) any { return zeronull.Timestamptz(q.Link.Expires) }},
	{"needs", "json", func(q *unkeptQuote) any { return append([]quote.Need{}, q.Needs...) }},
}

// newQuoteArgs gives the parameters of a new quote.
func newQuoteArgs(c shop.Claim, q *quote.Quote, a shop.Answer) []any {
	made := unkeptQuote{Quote: q, claim: c, answer: a}
	made.body, made.contentAt = withoutMembers(a.Body, q.Content)
	args := make([]any, 0, len(newQuoteColumns))
	for _, column := range newQuoteColumns {
		args = append(args, column.of(&made))
	}
	return args
}

// newQuotesSQL gives the query of a WITH query that has n new quotes.
func newQuotesSQL(n int) string {
	var names, rows []string
	for _, c := range newQuoteColumns {
		names = append(names, c.name)
	}
	for r := range n {
		var row []string
		for i, c := range newQuoteColumns {
			row = append(row, fmt.Sprintf("$%d::%s", r*len(newQuoteColumns)+i+1, c.kind))
		}
		rows = append(rows, "("+strings.Join(row, ", ")+")")
	}
	return "new_quotes (" + strings.Join(names, ", ") + ") AS (VALUES " + strings.Join(rows, ", ") + ")"
}

// afterQuote names the n-th parameter behind those of a quote.
func afterQuote(n int) string { return fmt.Sprintf("$%d", len(newQuoteColumns)+n) }

const (
	// claimQuotesSQL enters answers. Whoever carries out the same request holds the lock
	// until it is done. It goes with its connection, whatever becomes of the process.
	claimQuotesSQL = `
		INSERT INTO kept_answers AS k (shop_id, key, fingerprint, claim, claimed_until, status, header, body, quote_at, quote_id)
		SELECT shop_id, key, fingerprint, claim, now(), status, header, body, quote_at, CASE WHEN quote_at IS NOT NULL THEN id END
		FROM new_quotes n
		WHERE pg_try_advisory_xact_lock(hashtextextended(key, shop_id))`
	insertQuotesSQL = `
		INSERT INTO quotes (id, shop_id, state, reference, remark, catalog, revision, dampers, codes, total, content, history,
		                    created_at, created_by, changed_at, sheet, sheet_expires, needs, repeat_key)
		SELECT id, shop_id, state, reference, remark, catalog, revision, dampers, codes, total, content, history,
		       created_at, created_by, changed_at, sheet, sheet_expires, needs, key
		FROM new_quotes JOIN claimed USING (claim)`
)

// keepNewQuotesSQL keeps n quotes at place n, and gives the names of those whose key was
// never used and which no webhook wants to be told of. Most quotes are kept so, which
// costs half.
var keepNewQuotesSQL = func() (all [mostTogether + 1]string) {
	for n := 1; n <= mostTogether; n++ {
		all[n] = `
			WITH ` + newQuotesSQL(n) + `,
			claimed AS (` + claimQuotesSQL + `
				AND NOT EXISTS (SELECT FROM webhooks w WHERE w.shop_id = n.shop_id AND w.active AND n.event = ANY (w.events))
				ON CONFLICT DO NOTHING RETURNING claim)` + insertQuotesSQL + `
			RETURNING id::text`
	}
	return all
}()

// keepAnyQuoteSQL keeps a quote where its key was never used or isn't held any more, and
// its event. It counts a row where it did. After the quote's own parameters come how many
// seconds answers are kept, and the body and the deliveries of the event.
var keepAnyQuoteSQL = `
	WITH ` + newQuotesSQL(1) + `,
	claimed AS (` + claimQuotesSQL + `
		ON CONFLICT (shop_id, key) DO UPDATE SET
			fingerprint = excluded.fingerprint, claim = excluded.claim, claimed_until = excluded.claimed_until,
			created_at = now(), status = excluded.status, header = excluded.header, body = excluded.body,
			quote_at = excluded.quote_at, quote_id = excluded.quote_id
		WHERE k.status IS NULL AND k.claimed_until < now() OR k.created_at < now() - make_interval(secs => ` + afterQuote(1) + `)
		RETURNING claim),
	quoted AS (` + insertQuotesSQL + `),
	` + eventSQL("claimed", "(SELECT event FROM new_quotes)", afterQuote(2), afterQuote(3)) + `
	SELECT FROM claimed, (SELECT count(*) FROM put) AS told`
