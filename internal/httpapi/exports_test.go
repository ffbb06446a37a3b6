package httpapi_test

import (
	"archive/zip"
	"bytes"
	"fmt"
	"io"
	"strings"
	"testing"

	"midstroke/internal/table"
	"midstroke/internal/unit"
)

// changedWorkbook is a workbook with one text in place of another.
func changedWorkbook(tb testing.TB, book []byte, old, text string) string {
	tb.Helper()
	in, err := zip.NewReader(bytes.NewReader(book), int64(len(book)))
	if err != nil {
		tb.Fatal(err)
	}
	var files []string
	for _, f := range in.File {
		r, err := f.Open()
		if err != nil {
			tb.Fatal(err)
		}
		raw, err := io.ReadAll(r)
		if err != nil {
			tb.Fatal(err)
		}
		files = append(files, f.Name, strings.ReplaceAll(string(raw), ">"+old+"<", ">"+text+"<"))
	}
	return zipped(tb, files...)
}

func TestAnExportComesBackByteForByte(t *testing.T) {
	t.Parallel()
	s, _ := newStoredShops(t)
	s.upload(t, "north", coded("A"))
	for _, units := range []string{"in", "mm"} {
		out := s.get(t, "/v1/catalogs/north/revisions/1/export?units="+units, s.bearer("north server")...)
		if out.status != 200 || out.header.Get("Content-Type") != "application/zip" || !strings.Contains(out.header.Get("Content-Disposition"), "north-1.zip") {
			t.Fatalf("%d, %v", out.status, out.header)
		}
		in := s.do(t, "POST", "/v1/catalogs/north/revisions", string(out.body), append(s.bearer("north admin"), "Content-Type", "application/zip")...)
		r := decode[told](t, in, 201)
		again := s.get(t, fmt.Sprintf("/v1/catalogs/north/revisions/%d/export?units=%s", r.Revision, units), s.bearer("north server")...)
		if !bytes.Equal(out.body, again.body) {
			t.Errorf("%s: the second export differs from the first", units)
		}
	}
}

// Whatever format a catalogue comes in, it is the same catalogue.
func TestEveryFormatBringsTheSame(t *testing.T) {
	t.Parallel()
	s, _ := newStoredShops(t)
	s.upload(t, "north", coded("A"))
	want := s.get(t, "/v1/catalogs/north/revisions/1/export?units=mm", s.bearer("north server")...)
	for media, format := range map[string]table.Format{
		"application/vnd.openxmlformats-officedocument.spreadsheetml.sheet": table.XLSX,
		"application/x-ndjson": table.NDJSON,
	} {
		var file bytes.Buffer
		if err := table.Write(&file, format, coded("A"), unit.Inches); err != nil {
			t.Fatal(err)
		}
		in := s.do(t, "POST", "/v1/catalogs/north/revisions", file.String(), append(s.bearer("north admin"), "Content-Type", media)...)
		r := decode[told](t, in, 201)
		target := fmt.Sprintf("/v1/catalogs/north/revisions/%d/export?units=mm", r.Revision)
		got := s.get(t, target, s.bearer("north server")...)
		if !bytes.Equal(got.body, want.body) {
			t.Errorf("%s brings another catalogue than the archive did", media)
		}
		// And it is to be had in that format again, by the header or in a link.
		var again bytes.Buffer
		if err := table.Write(&again, format, coded("A"), unit.Millimetres); err != nil {
			t.Fatal(err)
		}
		byHeader := s.get(t, target, append(s.bearer("north server"), "Accept", media)...)
		ending := map[table.Format]string{table.XLSX: "xlsx", table.NDJSON: "ndjson"}[format]
		byLink := s.get(t, target+"&format="+ending, s.bearer("north server")...)
		if !bytes.Equal(byHeader.body, again.Bytes()) || !bytes.Equal(byLink.body, again.Bytes()) || byLink.header.Get("Content-Type") != media ||
			!strings.HasSuffix(byLink.header.Get("Content-Disposition"), "."+ending+`"`) {
			t.Errorf("%s isn't given back as it would be written: %v", media, byLink.header)
		}
	}
}
