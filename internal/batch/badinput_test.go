package batch_test

import (
	"archive/zip"
	"bytes"
	"compress/flate"
	"errors"
	"io"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"

	"midstroke/internal/batch"
	"midstroke/internal/table"
)

// withParts adds parts to an archive.
func withParts(tb testing.TB, book table.File, parts map[string]func(io.Writer)) table.File {
	tb.Helper()
	old, err := zip.NewReader(book.Data, book.Size)
	if err != nil {
		tb.Fatal(err)
	}
	var b bytes.Buffer
	w := zip.NewWriter(&b)
	w.RegisterCompressor(zip.Deflate, func(out io.Writer) (io.WriteCloser, error) { return flate.NewWriter(out, flate.BestSpeed) })
	for _, part := range old.File {
		if parts[part.Name] == nil {
			if err := w.Copy(part); err != nil {
				tb.Fatal(err)
			}
		}
	}
	for name, write := range parts {
		part, err := w.Create(name)
		if err != nil {
			tb.Fatal(err)
		}
		write(part)
	}
	if err := w.Close(); err != nil {
		tb.Fatal(err)
	}
	return table.File{Name: "v.xlsx", Data: bytes.NewReader(b.Bytes()), Size: int64(b.Len())}
}

func text(s string) func(io.Writer) {
	return func(w io.Writer) { _, _ = io.WriteString(w, s) }
}

// TestMacrosAndLinksAreLeftOutAndTold: neither is run, followed or sent back.
func TestMacrosAndLinksAreLeftOutAndTold(t *testing.T) {
	book := withParts(t, bookOf(t, bookRows, nil), map[string]func(io.Writer){
		"xl/vbaProject.bin": text("not read"), "xl/externalLinks/externalLink1.xml": text("<externalLink/>"),
	})
	out, s := answerOf(t, book, config(t, "outcome"))
	if s.Rows != 3 {
		t.Fatalf("%+v", s)
	}
	zipped, err := zip.NewReader(strings.NewReader(out), int64(len(out)))
	if err != nil {
		t.Fatal(err)
	}
	for _, part := range zipped.File {
		if strings.Contains(part.Name, "vba") || strings.Contains(part.Name, "externalLink") {
			t.Errorf("%s comes back", part.Name)
		}
	}
	f, err := excelize.OpenReader(strings.NewReader(out))
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = f.Close() }()
	about, err := f.GetRows("About these answers")
	if err != nil {
		t.Fatal(err)
	}
	told := ""
	for _, row := range about {
		told += strings.Join(row, " ") + "\n"
	}
	for _, part := range []string{"Macros, which were not run", "Links to other files, which were not followed"} {
		if !strings.Contains(told, part) {
			t.Errorf("the sheet about the answers lacks %q:\n%s", part, told)
		}
	}
}

// TestHarmfulFilesAreFaults: a bomb and its like are told as a fault of the file.
func TestHarmfulFilesAreFaults(t *testing.T) {
	whole := bookOf(t, bookRows, nil)
	raw, err := io.ReadAll(io.NewSectionReader(whole.Data, 0, whole.Size))
	if err != nil {
		t.Fatal(err)
	}
	bomb := func(w io.Writer) {
		_, _ = io.WriteString(w, `<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData><row r="1"><c t="inlineStr"><is><t>`)
		blanks := bytes.Repeat([]byte(" "), 1<<20)
		for range 64 {
			_, _ = w.Write(blanks)
		}
	}
	for name, c := range map[string]struct {
		file table.File
		code string
	}{
		"a workbook cut off": {table.File{Name: "v.xlsx", Data: bytes.NewReader(raw[:len(raw)-200]), Size: int64(len(raw) - 200)}, "archive_broken"},
		"a bomb":             {withParts(t, whole, map[string]func(io.Writer){"xl/worksheets/sheet2.xml": bomb}), "row_too_long|archive_too_large|texts_too_many"},
		"a quote left open":  {file("v.csv", header+"a,in,eye,eye,\"16,solid_axle\r\n"+strings.Repeat("x", 2<<20)), "row_too_long"},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := batch.Count(c.file, 1_000_000)
			var faults *table.Faults
			if !errors.As(err, &faults) {
				t.Fatalf("error %v", err)
			}
			if code := faults.List[0].Code.Public(); !strings.Contains(c.code, code) {
				t.Errorf("code %s, want %s", code, c.code)
			}
		})
	}
}

// TestRowsCutOffAreTold: the last row of a file that was cut off isn't taken for a whole one.
func TestRowsCutOffAreTold(t *testing.T) {
	out, s := answerOf(t, file("v.csv", header+"a,in,eye,eye,16 5/8,solid_axle\r\nb,in,eye,\"eye"), config(t, "outcome"))
	if s.Rows != 2 || s.Faults != 1 || !strings.Contains(out, "cut_short") && !strings.Contains(out, "quote_open") {
		t.Errorf("%+v\n%s", s, out)
	}
	out, s = answerOf(t, file("v.ndjson", `{"units":"in","upper":"eye","lower":"eye","readings":16,"suspension":"solid_axle"}`+"\n"+`{"units":"in","upp`), config(t, "outcome"))
	if s.Rows != 2 || s.Faults != 1 || !strings.Contains(out, "cut_short") {
		t.Errorf("%+v\n%s", s, out)
	}
}

// TestAFileGoesOnWhereItWas: rows that an earlier attempt has answered are passed over.
func TestAFileGoesOnWhereItWas(t *testing.T) {
	row := "a,in,eye,eye,16 5/8,solid_axle\r\n"
	all, whole := answerOf(t, file("v.csv", header+strings.Repeat(row, 100)), config(t, "outcome"))
	c := config(t, "outcome")
	var pieces bytes.Buffer
	stop := errors.New("a test's")
	var kept batch.Summary
	c.Saved = func(s *batch.Summary) error { kept = *s; return stop }
	b, err := batch.Open(file("v.csv", header+strings.Repeat(row, 100)), c)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := b.Answer(t.Context(), &pieces); !errors.Is(err, stop) || kept.Rows == 0 || kept.Rows >= 100 {
		t.Fatalf("%v after %d rows", err, kept.Rows)
	}
	_ = b.Close()
	c.Saved, c.From = nil, &kept
	rest, s := answerOf(t, file("v.csv", header+strings.Repeat(row, 100)), c)
	if pieces.String()+rest != all || s.Rows != whole.Rows || s.Outcomes["fits"] != whole.Outcomes["fits"] {
		t.Errorf("%+v, want %+v; %d and %d bytes of %d", s, whole, pieces.Len(), len(rest), len(all))
	}
}
