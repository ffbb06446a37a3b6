package postgres

import (
	"bytes"
	"context"
	"encoding/binary"
	"fmt"
	"iter"
)

// batchBytes is about how much is copied and inserted at a time. A batch stays in
// memory on both sides: Postgres keeps 8 MB of a session's temporary tables there
// (temp_buffers).
const batchBytes = 4 << 20

// write writes parts as those of one revision, and counts them. Postgres takes one
// batch of them while the next one is read and encoded. An error of the parts comes
// back as it is.
func (t table[T]) write(ctx context.Context, in revision, parts iter.Seq2[T, error]) (count int, err error) {
	if parts == nil {
		return 0, nil
	}
	to := copyTo{in: in, table: t.name, columns: quoted(t.names())}
	// Whatever happens, nothing uses the transaction after this function.
	defer func() { _ = to.wait() }()
	filling, other := startCopy(nil), startCopy(nil)
	var row T // one for all: a part whose address is given away is allocated
	for part, err := range parts {
		if err != nil {
			return 0, err
		}
		row = part
		filling = t.appendRow(filling, &row)
		count++
		if len(filling) < batchBytes {
			continue
		}
		if err := to.send(ctx, filling); err != nil {
			return 0, fmt.Errorf("write %s: %w", t.name, err)
		}
		filling, other = startCopy(other), filling
	}
	if err = to.send(ctx, filling); err == nil {
		err = to.wait()
	}
	if err != nil {
		return 0, fmt.Errorf("write %s: %w", t.name, err)
	}
	return count, nil
}

// startCopy begins what COPY takes in binary, in a buffer that may be used again.
func startCopy(b []byte) []byte {
	return append(b[:0], "PGCOPY\n\xff\r\n\x00\x00\x00\x00\x00\x00\x00\x00\x00"...) // no flags, no extension
}

// endCopy ends it.
func endCopy(b []byte) []byte { return append(b, 0xff, 0xff) }

// appendRow appends one row of it.
func (t table[T]) appendRow(b []byte, row *T) []byte {
	b = binary.BigEndian.AppendUint16(b, uint16(len(t.columns)))
	for i := range t.columns {
		b = t.columns[i].append(b, row)
	}
	return b
}

// A copyTo inserts batches of rows into a table, in the background. COPY can't write
// where there is row-level security, so rows go by way of a temporary table.
type copyTo struct {
	in             revision
	table, columns string
	made           bool       // the temporary table
	taken          chan error // of the batch under way; nil where there is none
}

// send waits for the batch before and then begins with this one, which belongs to the
// background until the next call. The error may be that of either.
func (c *copyTo) send(ctx context.Context, batch []byte) error {
	if err := c.wait(); err != nil {
		return err
	}
	taken := make(chan error, 1)
	c.taken = taken
	go func() { taken <- c.take(ctx, batch) }()
	return nil
}

// wait waits for the batch under way.
func (c *copyTo) wait() error {
	if c.taken == nil {
		return nil
	}
	err := <-c.taken
	c.taken = nil
	return err
}

// take inserts one batch.
func (c *copyTo) take(ctx context.Context, batch []byte) error {
	tx, staged := c.in.tx, "incoming_"+c.table
	if !c.made {
		_, err := tx.Exec(ctx, "CREATE TEMP TABLE "+staged+" ON COMMIT DROP AS SELECT "+c.columns+" FROM "+c.table+" WITH NO DATA")
		if err != nil {
			return err
		}
		c.made = true
	}
	_, err := tx.Conn().PgConn().CopyFrom(ctx, bytes.NewReader(endCopy(batch)), "COPY "+staged+" ("+c.columns+") FROM STDIN (FORMAT binary)")
	if err == nil {
		_, err = tx.Exec(ctx, "INSERT INTO "+c.table+" (catalog_id, revision, "+c.columns+") SELECT $1, $2, "+c.columns+" FROM "+staged, c.in.catalog, c.in.number)
	}
	if err == nil {
		_, err = tx.Exec(ctx, "TRUNCATE "+staged)
	}
	return err
}

// appendNull appends NULL.
func appendNull(b []byte) []byte { return append(b, 0xff, 0xff, 0xff, 0xff) }

// appendText appends a text.
func appendText(b []byte, text string) []byte {
	return append(binary.BigEndian.AppendUint32(b, uint32(len(text))), text...)
}

// appendTextOrNull appends a text, or NULL for an empty one.
func appendTextOrNull(b []byte, text string) []byte {
	if text == "" {
		return appendNull(b)
	}
	return appendText(b, text)
}

// appendEight appends a bigint, or the bits of a double precision.
func appendEight(b []byte, bits uint64) []byte {
	return binary.BigEndian.AppendUint64(append(b, 0, 0, 0, 8), bits)
}

// appendYesNo appends a boolean.
func appendYesNo(b []byte, yes bool) []byte {
	if yes {
		return append(b, 0, 0, 0, 1, 1)
	}
	return append(b, 0, 0, 0, 1, 0)
}
