package table

import (
	"bufio"
	"bytes"
	"encoding/csv"
	"errors"
	"io"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	_ "midstroke/internal/seeded"
)

// ours reads all rows, as far as they can be read.
func ours(text string) (rows [][]string, err error) {
	in := newCSVRows(bufio.NewReaderSize(strings.NewReader(text), bufferBytes))
	for {
		cells, err := in.next()
		if errors.Is(err, io.EOF) {
			return rows, nil
		}
		if err != nil {
			return rows, err
		}
		rows = append(rows, slices.Clone(cells))
	}
}

// theirs reads them by encoding/csv, in the form in which ours gives them.
func theirs(text string, comma rune) ([][]string, error) {
	r := csv.NewReader(strings.NewReader(text))
	r.Comma, r.FieldsPerRecord = comma, -1
	rows, err := r.ReadAll()
	for _, row := range rows {
		for i := range row {
			row[i] = tidy(row[i])
		}
	}
	return rows, err
}

func checkAgainstCSV(t interface {
	Helper()
	Fatalf(string, ...any)
}, text string) {
	t.Helper()
	text += "\n" // ours says of a last line without its end that it may be cut short
	first, _, _ := strings.Cut(text, "\n")
	if _, ok := declared([]byte(first)); ok || len(text) > mostRowBytes {
		return
	}
	want, err := theirs(text, rune(delimiter([]byte(first))))
	if err != nil {
		return
	}
	got, err := ours(text)
	if err != nil || !slices.EqualFunc(got, want, slices.Equal) {
		t.Fatalf("of %q\ngot  %q, %v\nwant %q", text, got, err, want)
	}
}

// What encoding/csv reads is read alike.
func TestCSVAgainstReference(t *testing.T) {
	piece := rapid.SampledFrom([]string{",", ";", "\t", "\n", "\r\n", "\r", `"`, `""`, " ", "a", "ä", "'=", "\x00", "\xff", `"b,` + "\n" + `c"`, "sep="})
	rapid.Check(t, func(t *rapid.T) {
		checkAgainstCSV(t, strings.Join(rapid.SliceOfN(piece, 0, 30).Draw(t, "pieces"), ""))
	})
}

func FuzzCSV(f *testing.F) {
	f.Add([]byte("a,\"b\"\"\n\",c\r\n\n,\n"))
	f.Add([]byte("a;b\n\"1,5\";2\n"))
	f.Fuzz(func(t *testing.T, text []byte) {
		checkAgainstCSV(t, string(text))
		_, _ = ours(string(bytes.TrimRight(text, "\n"))) // ends
	})
}

// Lines longer than the buffer are put together.
func TestCSVLongLines(t *testing.T) {
	long := strings.Repeat("x", 3*bufferBytes)
	checkAgainstCSV(t, "a,b\n"+long+`,"`+long+"\n"+long+"\"\nc,d\n")
}
