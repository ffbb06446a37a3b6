package table_test

import (
	"bytes"
	"encoding/binary"
	"errors"
	"strings"
	"testing"
	"unicode/utf8"

	"midstroke/internal/table"
	"midstroke/internal/unit"
	"midstroke/testdata/demo"
)

// Whatever a file holds, reading it ends; every fault has a place, a code, a
// detail and a cure; and rows that were read write and read again as the same.
func FuzzRead(f *testing.F) {
	demoRows, err := demo.Files.ReadFile(table.DampersFile)
	if err != nil {
		f.Fatal(err)
	}
	f.Add(demoRows[:bytes.LastIndexByte(demoRows[:4000], '\n')+1])
	f.Add([]byte(damperHeader + goodDamper))
	f.Add([]byte(strings.ReplaceAll(damperHeader+goodDamper, ",", ";")))
	f.Add([]byte("\uFEFF" + strings.ReplaceAll(damperHeader+goodDamper, ",", "\t")))
	f.Add([]byte(damperHeader + `'=1,monotube,"1'-2 7/8""",500 mm,0 mm,2",eye,,stud,` + "\n"))
	f.Add([]byte("compressed (mm),extended (in),\"co\nde\"\r\n1,2,\"a\n\"\"\",,\r\n"))
	f.Add([]byte("\xff\xfec\x00"))
	f.Add([]byte("code\na\n"))
	f.Fuzz(func(t *testing.T, content []byte) { checkRead(t, file(table.DampersFile, content)) })
}

// checkRead reads files of any kind: reading ends; what is wrong is told with a
// place, a code, a detail and a cure; and what was read is written in every
// format and read again as the same.
func checkRead(t *testing.T, files ...table.File) {
	t.Helper()
	read, err := readAll(files, nil)
	var faults *table.Faults
	if errors.As(err, &faults) {
		toldOf(t, faults.List)
		for _, f := range faults.List {
			if f.Code == "" || f.Line < 0 || !utf8.ValidString(f.Value) {
				t.Errorf("%+v", f)
			}
		}
		return
	}
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range formats {
		var b bytes.Buffer
		if err := table.Write(&b, f, read, unit.Inches); err != nil {
			t.Fatalf("%v of %+v: %v", f, read, err)
		}
		again, err := readAll([]table.File{file("", b.Bytes())}, nil)
		if err != nil || !equalContents(read, again) {
			t.Fatalf("%v: read %+v\nthen %+v\n%v", f, read, again, err)
		}
	}
}

func FuzzReadFile(f *testing.F) {
	c := demo.GenerateSizes(1, demo.Sizes{Dampers: 2, Sleeves: 2, Spacers: 1, Adapters: 2})
	for _, format := range formats {
		f.Add(written(f, format, c, unit.Inches))
	}
	f.Add(utf16Text(binary.LittleEndian, damperHeader+goodDamper))
	f.Add([]byte("sep=;\n" + strings.ReplaceAll(damperHeader+goodDamper, ",", ";")))
	f.Fuzz(func(t *testing.T, content []byte) { checkRead(t, file("a", content)) })
}

func FuzzReadObjects(f *testing.F) {
	c := demo.GenerateSizes(1, demo.Sizes{Dampers: 2, Sleeves: 2, Spacers: 1, Adapters: 2})
	for line := range bytes.Lines(written(f, table.NDJSON, c, unit.Inches)) {
		f.Add(line)
	}
	f.Add([]byte(`{"kind":"damper","units":"mm","upper":{"bore":[1,null,{}]},"code":{"a":{"b":{}}}}`))
	f.Fuzz(func(t *testing.T, line []byte) {
		checkRead(t, file("a", append([]byte("{}\n"), line...)), file("b", line))
	})
}

// The rows of a sheet and what stands behind them.
func FuzzReadSheet(f *testing.F) {
	f.Add(damperRows("", ""), "")
	f.Add(damperRows("code", ` s="1"><v>46089</v></c>`), `<mergeCells><mergeCell ref="A1:B2"/></mergeCells>`)
	f.Add(damperRows("compressed", ` t="s" s="2"><f>A1</f><v>0</v></c>`), "")
	f.Add(damperRows("compressed", ` t="d"><v>2026-03-08</v></c>`)+`<row><c><is><r><t>a_x000A_</t></r></is></c></row>`, "<!--")
	f.Fuzz(func(t *testing.T, rows, after string) {
		checkRead(t, file("a", book{
			cells: `<xf numFmtId="14"/><xf numFmtId="164"/>`, formats: `<numFmt numFmtId="164" formatCode="000&quot; mm&quot;"/>`,
			texts: `<si><t>13 5/8 in</t></si>`, sheets: []sheet{{name: "dampers", rows: rows, after: after}},
		}.file(t)))
	})
}

// The parts that tell of the sheets.
func FuzzReadWorkbook(f *testing.F) {
	for _, p := range (book{sheets: []sheet{{name: "dampers", rows: damperRows("", "")}}}).parts() {
		f.Add(p.name, []byte(p.content))
	}
	f.Fuzz(func(t *testing.T, name string, content []byte) {
		parts := book{sheets: []sheet{{name: "dampers", rows: damperRows("code", ` t="s" s="1"><v>0</v></c>`)}}}.parts()
		for i := range parts {
			if parts[i].name == name {
				parts[i].content = string(content)
			}
		}
		checkRead(t, file("a", zipped(t, parts...)))
	})
}
