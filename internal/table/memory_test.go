package table_test

import (
	"archive/zip"
	"bytes"
	"compress/flate"
	"errors"
	"fmt"
	"io"
	"os"
	"runtime/debug"
	"runtime/metrics"
	"strings"
	"testing"
	"time"

	"midstroke/internal/catalog"
	"midstroke/internal/table"
)

// long says that tests may take their time.
var long = os.Getenv("MIDSTROKE_TEST_LONG") != ""

// under runs a function under a limit of memory, and fails where the process
// had more at any time: what the limit counts, which is all memory of Go's but
// what was given back.
func under(t *testing.T, limit int64, run func()) {
	t.Helper()
	defer debug.SetMemoryLimit(debug.SetMemoryLimit(limit))
	debug.FreeOSMemory()
	stop, peak := make(chan struct{}), make(chan uint64)
	go func() {
		samples := []metrics.Sample{{Name: "/memory/classes/total:bytes"}, {Name: "/memory/classes/heap/released:bytes"}}
		most := uint64(0)
		for {
			metrics.Read(samples)
			most = max(most, samples[0].Value.Uint64()-samples[1].Value.Uint64())
			select {
			case <-stop:
				peak <- most
				return
			case <-time.After(time.Millisecond):
			}
		}
	}()
	run()
	close(stop)
	most := <-peak
	t.Logf("at most %d MiB of %d", most>>20, limit>>20)
	if most > uint64(limit) {
		t.Errorf("%d MiB were taken, more than %d", most>>20, limit>>20)
	}
}

// endless is a file that begins with a text and goes on with another, over and
// over, and takes no room.
type endless struct {
	begin, more string
	size        int64
}

func (e endless) ReadAt(p []byte, at int64) (int, error) {
	p = p[:max(0, min(int64(len(p)), e.size-at))]
	if len(p) == 0 {
		return 0, io.EOF
	}
	n := 0
	if at < int64(len(e.begin)) {
		n = copy(p, e.begin[at:])
	}
	start := n
	for n < len(p) {
		// Whole blocks that are there already are copied again, twice as many each time.
		if from := start + (n-start)%len(e.more); from < n {
			n += copy(p[n:], p[from:n])
			continue
		}
		offset := (at + int64(n) - int64(len(e.begin))) % int64(len(e.more))
		n += copy(p[n:], e.more[offset:])
	}
	return n, nil
}

func (e endless) file() table.File { return table.File{Name: "a", Data: e, Size: e.size} }

// grown makes an archive of parts, each of which goes on with a block of text
// so many times, without compressing more than one of them: the stream of a
// block that was flushed may stand in another any number of times.
func grown(t testing.TB, parts []part, begin, block string, times int) []byte {
	t.Helper()
	deflated := func(text string, end bool) []byte {
		var b bytes.Buffer
		w, err := flate.NewWriter(&b, flate.BestCompression)
		if err != nil {
			t.Fatal(err)
		}
		_, _ = io.WriteString(w, text) // to memory
		_ = w.Flush()
		if end {
			_ = w.Close()
		}
		return b.Bytes()
	}
	var b bytes.Buffer
	w := zip.NewWriter(&b)
	for i, p := range parts {
		if i < len(parts)-1 {
			out, err := w.Create(p.name)
			if err != nil {
				t.Fatal(err)
			}
			_, _ = io.WriteString(out, p.content) // to memory
			continue
		}
		stream := append(deflated(begin, false), bytes.Repeat(deflated(block, false), times)...)
		stream = append(stream, deflated("", true)...)
		out, err := w.CreateRaw(&zip.FileHeader{
			Name: p.name, Method: zip.Deflate, CompressedSize64: uint64(len(stream)), UncompressedSize64: uint64(len(begin) + len(block)*times),
		})
		if err != nil {
			t.Fatal(err)
		}
		_, _ = out.Write(stream) // to memory
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// bookParts are a workbook's parts with one of them last.
func bookParts(last string) []part {
	var parts []part
	var found part
	for _, p := range (book{sheets: []sheet{{name: "dampers", rows: damperRows("", "")}}}).parts() {
		if p.name == last {
			found = p
		} else {
			parts = append(parts, p)
		}
	}
	return append(parts, found)
}

// Files that were made to take all memory, or all time, take neither: each is
// refused with one fault that says why.
func TestReadUnderACeiling(t *testing.T) {
	const gigabyte = 1 << 30
	const mostMemory = 64 << 20
	mebibyte := func(of string) string { return strings.Repeat(of, 1<<20/len(of)) }
	const sheet1, texts = "xl/worksheets/sheet1.xml", "xl/sharedStrings.xml"
	const sheetBegin = `<worksheet><sheetData>`
	inSheet := sheetBegin + `<row><c t="inlineStr"><is><t>`
	sheetFile := func(begin, block string, times int) table.File {
		return file("a", grown(t, bookParts(sheet1), begin, block, times))
	}
	for _, c := range []struct {
		name string
		file func() table.File
		code string
	}{
		{"a gigabyte of one line", endless{"", "x", gigabyte}.file, "row_too_long"},
		{"a gigabyte of one row", endless{damperHeader, "x,", gigabyte}.file, "row_too_long"},
		{"a gigabyte of one cell", endless{damperHeader + `"`, "x\n", gigabyte}.file, "row_too_long"},
		{"a gigabyte of one object", endless{`{"kind":"`, "x", gigabyte}.file, "row_too_long"},
		{"a gigabyte of one array", endless{`{"adjusters":[`, `"x",`, gigabyte}.file, "row_too_long"},
		{"a gigabyte of UTF-16", endless{"\xff\xfe", "x\x00", gigabyte}.file, "row_too_long"},
		{"a gigabyte of noughts", endless{"", "\x00", gigabyte}.file, "not_utf8"},
		{"an archive of blank lines", func() table.File {
			return file("a", grown(t, []part{{name: "dampers.csv"}}, damperHeader, mebibyte(strings.Repeat(" ", 1023)+"\n"), 64))
		}, "archive_too_large"},
		{"a workbook of one text", func() table.File { return sheetFile(inSheet, mebibyte("x"), 1024) }, "row_too_long"},
		{"a workbook of one tag", func() table.File { return sheetFile(sheetBegin+"<row ", mebibyte(`x="1" `), 1024) }, "archive_broken"},
		{"a workbook of one comment", func() table.File { return sheetFile(sheetBegin+"<!--", mebibyte("x"), 64) }, "archive_too_large"},
		{"a workbook of one row", func() table.File { return sheetFile(sheetBegin+`<row>`, mebibyte(`<c t="b"><v>1</v></c>`), 1024) }, "archive_broken"},
		{"a workbook of blank rows", func() table.File {
			return sheetFile(sheetBegin, mebibyte(`<row spans="`+strings.Repeat("1", 1009)+`"/>`), 64)
		}, "archive_too_large"},
		{"a workbook of text between tags", func() table.File { return sheetFile(sheetBegin, mebibyte(` `), 64) }, "archive_too_large"},
		{"a workbook of one shared text", func() table.File {
			return file("a", grown(t, bookParts(texts), `<sst><si><t>`, mebibyte("x"), 1024))
		}, "row_too_long"},
		{"a workbook of formats", func() table.File {
			return file("a", grown(t, bookParts("xl/styles.xml"), `<styleSheet><cellXfs>`, mebibyte(`<xf numFmtId="14" x="`+strings.Repeat("1", 1000)+`"/>`), 64))
		}, "archive_too_large"},
	} {
		t.Run(c.name, func(t *testing.T) {
			f := c.file()
			under(t, mostMemory, func() {
				begin := time.Now()
				got := readFaults(t, f)
				if len(got) != 1 || got[0].Code.Public() != c.code {
					t.Errorf("got %v", got)
				}
				if took := time.Since(begin); took > time.Minute {
					t.Errorf("it took %v", took)
				}
			})
		})
	}
}

// Shared texts are kept, up to a bound.
func TestReadSharedTextsUnderACeiling(t *testing.T) {
	if !long {
		t.Skip("some ten seconds; make test-long")
	}
	var block strings.Builder
	for i := range 1000 {
		block.WriteString("<si><t>" + strings.Repeat(fmt.Sprintf("%08d", i*104_729), 125) + "</t></si>")
	}
	f := file("a", grown(t, bookParts("xl/sharedStrings.xml"), "<sst>", block.String(), 120))
	under(t, 160<<20, func() {
		// 120 MB in texts of 1 kB; no more than 96 MiB are kept.
		if got := readFaults(t, f); len(got) != 1 || got[0].Code.Public() != "texts_too_many" {
			t.Errorf("got %v", got)
		}
	})
}

// As many rows as a sheet has are read a row at a time: most blank, as where
// someone formatted whole columns.
func TestReadFullSheetUnderACeiling(t *testing.T) {
	rows := 1 << 15
	if long {
		rows = 1 << 20
	}
	var b strings.Builder
	b.WriteString(textRow(1, damperCells(damperHeader)...))
	damper := damperCells(goodDamper)
	n := 0
	for i := 2; i <= rows; i++ {
		if i%16 == 0 {
			damper[0] = fmt.Sprintf("code %d", i)
			b.WriteString(textRow(i, damper...))
			n++
			continue
		}
		fmt.Fprintf(&b, `<row r="%d" s="1" customFormat="1"><c r="A%d" s="1"/><c r="B%d" s="1"/></row>`, i, i, i)
	}
	content := book{sheets: []sheet{{name: "dampers", rows: b.String()}}}.file(t)
	b.Reset()
	t.Logf("%d rows, %d bytes", rows, len(content))
	under(t, 64<<20, func() {
		got := 0
		_, err := table.Read([]table.File{file("a", content)}, table.Sink{Dampers: func(rows []catalog.Damper) error {
			got += len(rows)
			return nil
		}}, nil)
		if err != nil || got != n {
			t.Errorf("%d of %d rows, %v", got, n, err)
		}
	})
}

// Each of many rows with a fault costs nothing once a thousand are listed.
func TestReadFaultyRowsUnderACeiling(t *testing.T) {
	rows := int64(30_000)
	if long {
		rows = 2_000_000
	}
	const row = "x,box,1,2,3,4,ring,5,loop,6\n"
	f := endless{damperHeader, row, int64(len(damperHeader)) + rows*int64(len(row))}.file()
	under(t, 64<<20, func() {
		_, err := readAll([]table.File{f}, nil)
		var faults *table.Faults
		if !errors.As(err, &faults) || len(faults.List) != table.MaxListed {
			t.Fatalf("got %v", err)
		}
		// Of each row construction, styles and six measures; from the second
		// on its code, too.
		if want := int(10*rows - 1 - table.MaxListed); faults.More != want {
			t.Errorf("%d more, not %d", faults.More, want)
		}
	})
}
