package table_test

import (
	"bytes"
	"strings"
	"testing"

	"midstroke/internal/catalog"
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
	f.Fuzz(func(t *testing.T, file []byte) {
		var faults table.Faults
		var read []catalog.Damper
		for d, err := range table.Dampers(bytes.NewReader(file), &faults) {
			if err != nil {
				t.Fatal(err)
			}
			read = append(read, d)
		}
		for _, fault := range faults.List {
			if fault.File == "" || fault.Code == "" || fault.Detail == "" || fault.Cure == "" || fault.Line < 0 {
				t.Errorf("%+v", fault)
			}
		}
		for _, units := range []unit.System{unit.Inches, unit.Millimetres} {
			var text bytes.Buffer
			var more table.Faults
			if err := table.WriteDampers(&text, rowsOf(read), units, &more); err != nil {
				t.Fatal(err)
			}
			var again []catalog.Damper
			for d, err := range table.Dampers(&text, &more) {
				if err != nil {
					t.Fatal(err)
				}
				again = append(again, d)
			}
			if err := more.Err(); err != nil || !equalContents(catalog.Contents{Dampers: read}, catalog.Contents{Dampers: again}) {
				t.Fatalf("read %+v\nthen %+v\n%v", read, again, err)
			}
		}
	})
}
