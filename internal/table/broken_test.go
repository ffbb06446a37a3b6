package table_test

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"maps"
	"slices"
	"strings"
	"testing"

	"midstroke/internal/fault"
	"midstroke/internal/table"
)

// readFaults gives what Read finds wrong with files.
func readFaults(t testing.TB, files ...table.File) fault.List {
	t.Helper()
	_, err := readAll(files, nil)
	return faultsIn(t, err)
}

// checkFaults compares faults, but not their words.
func checkFaults(t *testing.T, got fault.List, want ...told) {
	t.Helper()
	if got := toldOf(t, got); !slices.Equal(got, want) {
		t.Errorf("got  %+v\nwant %+v", got, want)
	}
}

// A dirty file is one file, or several, with the one fault that comes of it.
type dirty struct {
	name  string
	files []table.File
	want  told
}

func check(t *testing.T, all []dirty) {
	for _, d := range all {
		t.Run(d.name, func(t *testing.T) { checkFaults(t, readFaults(t, d.files...), d.want) })
	}
}

func one(name string, content string) []table.File {
	return []table.File{file(name, []byte(content))}
}

// Texts as they come out of spreadsheets, mail programs and broken lines.
func TestBrokenTexts(t *testing.T) {
	const name = "upload.csv"
	damper := func(old, new string) []table.File {
		return one(name, damperHeader+strings.Replace(goodDamper, old, new, 1))
	}
	described := func(text string) []table.File {
		return one(name, "description,"+damperHeader+text+","+goodDamper)
	}
	at := func(line int, column, value, code string) told {
		return told{File: name, Line: line, Column: column, Value: value, Code: code}
	}
	whole := func(code string) told { return told{File: name, Code: code} }
	check(t, []dirty{
		{"Latin-1 in a description", described("l\xe4nger"), at(2, "description", "l\ufffdnger", "not_utf8")},
		{"Latin-1 in a header", one(name, "L\xe4nge,"+damperHeader+","+goodDamper), at(1, "", "L\ufffdnge", "not_utf8")},
		{"Latin-1 fraction", damper("13 5/8 in", "13\xbd in"), at(2, "compressed", "13\ufffd in", "not_utf8")},
		{"UTF-16 without its mark", one(name, string(utf16Text(binary.LittleEndian, damperHeader)[2:])), whole("not_utf8")},
		{"UTF-16 with an odd byte", one(name, string(utf16Text(binary.BigEndian, damperHeader+goodDamper))+"a"), at(3, "", "", "cut_short")},
		{"UTF-16 with half a pair", one(name, string(slices.Concat(utf16Text(binary.LittleEndian, "description,"+damperHeader+"a"),
			[]byte{0x3d, 0xd8}, utf16Text(binary.LittleEndian, "b,"+goodDamper)[2:]))), at(2, "description", "a\ufffdb", "not_utf8")},
		{"NUL in a length", damper("13 5/8 in", "13\x00 in"), at(2, "compressed", "13\x00 in", "nul_byte")},
		{"NUL in a description", described("a\x00b"), at(2, "description", "a\x00b", "nul_byte")},
		{"nothing but NUL", one(name, strings.Repeat("\x00", 5000)), whole("not_utf8")},
		{"a control character", described("a\x07b"), at(2, "description", "a\ab", "unprintable")},
		{"nothing", one(name, ""), whole("file_empty")},
		{"a byte order mark alone", one(name, "\uFEFF"), whole("file_empty")},
		{"blank lines alone", one(name, "\n\r\n,,,\n  \n"), whole("file_empty")},
		{"old Macintosh lines", one(name, strings.ReplaceAll(damperHeader+goodDamper, "\n", "\r")), whole("line_ends")},
		{"decimal commas", one(name, strings.ReplaceAll(damperHeader+strings.Replace(goodDamper, "13 5/8 in", "13.625 in", 1), ",", ";")[:len(damperHeader)]+
			strings.Replace(strings.ReplaceAll(goodDamper, ",", ";"), "13 5/8 in", "13,625 in", 1)), at(2, "compressed", "13,625 in", "length_comma")},
		{"stops in a row", one(name, damperHeader+goodDamper+goodDamper[1:30]), at(3, "", "", "cut_short")},
		{"stops in a quoted cell", one(name, damperHeader+goodDamper+`b,"twin_t`), at(3, "", "", "quote_open")},
		{"a quote within a cell", damper("2 in", `2"`), at(2, "", "", "quote_bare")},
		{"something behind a quote", damper("2 in", `"2" in`), at(2, "", "", "quote_open")},
		{"too many columns", one(name, "code"+strings.Repeat(",x", 16_384)+"\n"), at(1, "", "", "columns_too_many")},
		{"an endless line", one(name, strings.Repeat("code,", 300_000)), at(1, "", "", "row_too_long")},
		{"an endless cell", one(name, damperHeader+goodDamper+`b,"`+strings.Repeat("x,\n", 400_000)), at(3, "", "", "row_too_long")},

		// What 3/8, 5/32 and 7/16 become in the spreadsheets of several
		// countries: from memory.
		{"day and month", damper("3/4 in", "8-Mar"), at(2, "upper_bore", "8-Mar", "date")},
		{"German day and month", damper("3/4 in", "03. Aug"), at(2, "upper_bore", "03. Aug", "date")},
		{"month and year", damper("3/4 in", "May-32"), at(2, "upper_bore", "May-32", "date")},
		{"date with slashes", damper("3/4 in", "3/8/2026"), at(2, "upper_bore", "3/8/2026", "date")},
		{"date with points", damper("3/4 in", "08.03.2026"), at(2, "upper_bore", "08.03.2026", "date")},
		{"date and time", damper("3/4 in", "2026-03-08 00:00:00"), at(2, "upper_bore", "2026-03-08 00:00:00", "date")},
		{"date's number", damper("3/4 in", "46089"), at(2, "upper_bore", "46089", "date")},
		{"date for a thread", damper("1/2-20 in", "16-Jul"), at(2, "lower_thread", "16-Jul", "date")},
		{"formula that failed", damper("13 5/8 in", "#DIV/0!"), at(2, "compressed", "#DIV/0!", "spreadsheet_error")},
		{"a formula for a code", damper("a,", "=A1&B1,"), at(2, "code", "=A1&B1", "formula")},
		{"a quoted formula for a code", damper("a,", "\" @SUM(1)\","), at(2, "code", "@SUM(1)", "formula")},
		{"a code that begins with a sign", damper("a,", "-7,"), at(2, "code", "-7", "formula")},
		{"a code with a plus before it", damper("a,", "+7,"), at(2, "code", "+7", "formula")},
		{"a zero-width space in a code", damper("a,", "a\u200b1,"), at(2, "code", "a\u200b1", "code_characters")},
		{"a soft hyphen in a code", damper("a,", "a\u00ad1,"), at(2, "code", "a\u00ad1", "code_characters")},
		{"a no-break space in a code", damper("a,", "a\u00a01,"), at(2, "code", "a\u00a01", "code_characters")},
		{"a filler in a code", damper("a,", "a\u31641,"), at(2, "code", "a\u31641", "code_characters")},
		{"an override of the direction in a code", damper("a,", "a\u202e1,"), at(2, "code", "a\u202e1", "code_characters")},
		{"Hebrew in a code", damper("a,", "\u05d01,"), at(2, "code", "\u05d01", "code_characters")},
		{"Arabic in a code", damper("a,", "a\u0627,"), at(2, "code", "a\u0627", "code_characters")},
		{"formula that failed in a code", damper("a,", "#N/A,"), at(2, "code", "#N/A", "spreadsheet_error")},
		{"formula in place of its value", damper("13 5/8 in", "=B2*25.4"), at(2, "compressed", "=B2*25.4", "formula")},

		{"columns of anything", one(name, "code,description,price\na,b,3.50\n"), at(1, "", "code,description,price", "table_unknown")},
		{"columns of nothing", one(name, "Artikel;Preis\na;3,50\n"), at(1, "", "Artikel,Preis", "header_missing")},
		{"a header alone", one(name, damperHeader), whole("dampers_missing")},
		{"objects without a damper", one("parts.ndjson", `{"kind":"catalog","currency":"EUR"}`), told{File: "parts.ndjson", Code: "dampers_missing"}},
		{"no dampers", one(name, "code,outer,bore,length\ns,19 mm,12 mm,30 mm\n"), whole("dampers_missing")},
		{"a document", one(name, "%PDF-1.7\n"), whole("not_a_table")},
		{"a page", one(name, "\n<!DOCTYPE html><table><tr><td>code"), whole("not_a_table")},
		{"XML", one(name, "\uFEFF<?xml version=\"1.0\"?><Workbook/>"), whole("not_a_table")},
		{"an old workbook", one(name, "\xD0\xCF\x11\xE0\xA1\xB1\x1A\xE1"), whole("workbook_old")},
		{"compressed", one(name, "\x1F\x8B\x08\x00"), whole("archive_unknown")},
		{"a JSON array", one(name, ` [{"kind": "damper"}]`), whole("json_array")},
		{
			"a code in two files", []table.File{file("a.csv", []byte(damperHeader+goodDamper)), file("b.csv", []byte(damperHeader+"A"+goodDamper[1:]))},
			told{File: "b.csv", Line: 2, Column: "code", Value: "A", Code: "code_twice"},
		},
	})
}

// Objects as software writes them wrongly.
func TestBrokenObjects(t *testing.T) {
	const name = "upload.json"
	const good = `{"kind":"damper","code":"a","construction":"twin_tube","compressed":"13 5/8 in","extended":"21 1/4 in","length_tolerance":"1/16 in",` +
		`"body_diameter":"2 in","upper":{"style":"eye","bore":"3/4 in"},"lower":{"style":"stud"}}` + "\n"
	damper := func(old, new string) []table.File { return one(name, "\n"+strings.Replace(good, old, new, 1)) }
	at := func(column, value, code string) told {
		return told{File: name, Line: 2, Column: column, Value: value, Code: code}
	}
	if got := readFaults(t, damper("", "")...); got != nil {
		t.Fatal(got)
	}
	check(t, []dirty{
		{"no kind", damper(`"kind":"damper",`, ""), at("kind", "", "kind")},
		{"another kind", damper(`"kind":"damper"`, `"kind":"spring"`), at("kind", "spring", "kind")},
		{"another member", damper(`"code"`, `"colour":"red","code"`), at("colour", "red", "column_unknown")},
		{"another member of an end", damper(`"bore"`, `"bor":1,"bore"`), at("upper_bor", "1", "column_unknown")},
		{"a member twice", damper(`"code":"a"`, `"code":"a","code":"b"`), at("", "", "json_name_twice")},
		{"a member twice by two names", damper(`"lower":`, `"upper_bore":"1 in","lower":`), at("upper_bore", "1 in", "column_twice")},
		{"no JSON", damper(`"code":`, `code:`), at("", "", "json_syntax")},
		{"two on a line", damper("\n", good), at("", "", "json_more")},
		{"an invisible character in a code", damper(`"a"`, "\"a\u200d\""), at("code", "a\u200d", "code_characters")},
		{"an array", one(name, good+`["damper"]`), at("", "", "json_object")},
		{"not UTF-8", damper(`"a"`, "\"\xe4\""), at("", "", "json_syntax")},
		{"stops in an object", one(name, "\n"+good[:60]), at("", "", "cut_short")},
		{"a bare number", damper(`"13 5/8 in"`, `346.1`), at("compressed", "346.1", "length_unit_missing")},
		{"unknown units", damper(`"code"`, `"units":"ft","code"`), at("units", "ft", "units")},
		{"an exponent", damper(`"13 5/8 in"`, `"3e2 mm"`), at("compressed", "3e2 mm", "length_exponent")},
		{"a value for an end", damper(`{"style":"stud"}`, `"stud"`), at("lower", "stud", "column_unknown")},
		{"an object for a value", damper(`"13 5/8 in"`, `{"value":1}`), at("compressed_value", "1", "column_unknown")},
		{"an array for a value", damper(`"13 5/8 in"`, `["13 in"]`), at("compressed", "13 in", "value")},
		{"objects without end", damper(`"13 5/8 in"`, strings.Repeat(`{"a":`, 9)+"1"+strings.Repeat("}", 9)), at("compressed_a_a", "{…}", "column_unknown")},
		{"null for a length", damper(`"13 5/8 in"`, `null`), at("compressed", "", "missing")},
		{"no length", damper(`"compressed":"13 5/8 in",`, ``), at("compressed", "", "missing")},
		{"a date", damper(`"3/4 in"`, `"2026-03-08T00:00:00Z"`), at("upper_bore", "2026-03-08T00:00:00Z", "date")},
		{"an endless line", damper(`"a"`, `"`+strings.Repeat("a", 1<<20)+`"`), at("", "", "row_too_long")},
		{"true for a length", damper(`"13 5/8 in"`, `true`), at("compressed", "true", "length_number_missing")},
	})
}

// Archives that were cut, locked, packed twice or made to do harm.
func TestBrokenArchives(t *testing.T) {
	const name = "upload.zip"
	good := zipped(t, part{"dampers.csv", damperHeader + goodDamper})
	whole := func(code string) told { return told{File: name, Code: code} }
	inside := func(code string) told { return told{File: name + "/dampers.csv", Code: code} }
	// changed sets bytes behind both of the entry's headers.
	changed := func(local, central int, to ...byte) []table.File {
		b := bytes.Clone(good)
		copy(b[bytes.Index(b, []byte("PK\x03\x04"))+local:], to)
		copy(b[bytes.Index(b, []byte("PK\x01\x02"))+central:], to)
		return []table.File{file(name, b)}
	}
	archive := func(parts ...part) []table.File { return []table.File{file(name, zipped(t, parts...))} }
	var many []part
	for i := range 1001 {
		many = append(many, part{fmt.Sprint(i), ""})
	}
	var long []part
	for i := range 50 {
		long = append(long, part{fmt.Sprint(i, strings.Repeat("x", 60_000)), ""})
	}
	corrupt := bytes.Clone(good)
	copy(corrupt[60:], "corrupt")
	check(t, []dirty{
		{"stops half way", []table.File{file(name, good[:len(good)/2])}, whole("archive_broken")},
		{"stops before its end", []table.File{file(name, good[:len(good)-1])}, whole("archive_broken")},
		{"a wrong checksum", changed(14, 16, 1, 2, 3, 4), inside("archive_broken")},
		{"corrupt within", []table.File{file(name, corrupt)}, inside("archive_broken")},
		{"a password", changed(6, 8, 9), inside("archive_locked")},
		{"another method", changed(8, 10, 95), inside("archive_unknown")},
		{"an archive within", archive(part{"dampers.csv", damperHeader + goodDamper}, part{"more.zip", string(good)}), told{File: name + "/more.zip", Code: "archive_nested"}},
		{"no file", archive(), whole("archive_empty")},
		{"leavings alone", archive(part{"__MACOSX/._dampers.csv", "x"}, part{".DS_Store", "x"}, part{"parts/", ""}), whole("archive_empty")},
		{"too many files", archive(many...), whole("archive_too_many")},
		{"a directory without end", archive(long...), whole("archive_too_many")},
		{"an OpenDocument workbook", archive(part{"mimetype", "application/vnd.oasis.opendocument.spreadsheet"}, part{"content.xml", "<x/>"}), whole("workbook_unknown")},
		{"a binary workbook", archive(part{"[Content_Types].xml", "<x/>"}, part{"xl/workbook.bin", "x"}), whole("workbook_unknown")},
		{"a letter", archive(part{"[Content_Types].xml", "<x/>"}, part{"_rels/.rels", `<Relationships><Relationship Id="r" Type="http://x/officeDocument" Target="word/document.xml"/></Relationships>`}), whole("not_a_table")},
		{
			"a text that is no table", archive(part{"dampers.csv", damperHeader + goodDamper}, part{"read me.txt", "Prices as of May"}),
			told{File: name + "/read me.txt", Line: 1, Value: "Prices as of May", Code: "header_missing"},
		},
		{
			"a fault within", archive(part{"parts/dampers.csv", damperHeader + strings.Replace(goodDamper, "2 in", "2", 1)}),
			told{File: name + "/parts/dampers.csv", Line: 2, Column: "body_diameter", Value: "2", Code: "length_unit_missing"},
		},
	})
}

// Workbooks as spreadsheets and libraries save them.
func TestBrokenWorkbooks(t *testing.T) {
	const name = "upload.xlsx"
	at := func(cell string, line int, column, value, code string) told {
		return told{File: name, Sheet: "dampers", Cell: cell, Line: line, Column: column, Value: value, Code: code}
	}
	whole := func(code string) told { return told{File: name, Code: code} }
	of := func(b book) []table.File { return []table.File{file(name, b.file(t))} }
	dated := func(formats, cells, properties, column, cell string) []table.File {
		b := dampersBook(column, cell)
		b.formats, b.cells, b.properties = formats, cells, properties
		return of(b)
	}
	good := damperRows("", "")
	with := func(sheets ...sheet) []table.File {
		return of(book{sheets: append([]sheet{{name: "dampers", rows: good}}, sheets...)})
	}
	sheetWith := func(rows, after string) []table.File {
		return of(book{sheets: []sheet{{name: "dampers", rows: rows, after: after}}})
	}
	without := func(gone string) []table.File {
		parts := slices.DeleteFunc(book{sheets: []sheet{{name: "dampers", rows: good}}}.parts(), func(p part) bool { return p.name == gone })
		return []table.File{file(name, zipped(t, parts...))}
	}
	var many []sheet
	for i := range 255 {
		many = append(many, sheet{name: fmt.Sprint(i)})
	}
	if got := readFaults(t, with()...); got != nil {
		t.Fatal(got)
	}
	check(t, []dirty{
		// 46089 is 8 March 2026, as 3/8 typed then; 44627 is the same day
		// counted from 1904.
		{"a date", dated("", `<xf numFmtId="16"/>`, "", "upper_bore", ` s="1"><v>46089</v></c>`), at("H2", 2, "upper_bore", "2026-03-08", "date")},
		{"a date in a format of its own", dated(`<numFmt numFmtId="164" formatCode="d\.&quot;m&quot;;@"/>`, `<xf numFmtId="164"/>`, "", "upper_bore", ` s="1"><v>46089</v></c>`),
			at("H2", 2, "upper_bore", "2026-03-08", "date")},
		{"a date from 1904", dated("", `<xf numFmtId="14"/>`, `date1904="1"`, "upper_bore", ` s="1"><v>44627</v></c>`), at("H2", 2, "upper_bore", "2026-03-08", "date")},
		{"a date as text", dated("", "", "", "upper_bore", ` t="d"><v>2026-03-08</v></c>`), at("H2", 2, "upper_bore", "2026-03-08", "date")},
		{"a date that is text", dated("", "", "", "upper_bore", ` t="inlineStr"><is><t>8-Mar</t></is></c>`), at("H2", 2, "upper_bore", "8-Mar", "date")},
		{"a date for a code", dated("", `<xf numFmtId="17"/>`, "", "code", ` s="1"><v>11810</v></c>`), at("A2", 2, "code", "1932-05-01", "date")},
		{"a time of day", dated(`<numFmt numFmtId="170" formatCode="[hh]:mm"/>`, `<xf numFmtId="170"/>`, "", "body_diameter", ` s="1"><v>0.5</v></c>`), at("F2", 2, "body_diameter", "0.5", "date")},
		{"a formula without a value", dated("", "", "", "extended", `><f>C2+1</f><v></v></c>`), at("D2", 2, "extended", "=C2+1", "formula_without_value")},
		{"a formula that failed", dated("", "", "", "extended", ` t="e"><f>C2/0</f><v>#DIV/0!</v></c>`), at("D2", 2, "extended", "#DIV/0!", "spreadsheet_error")},
		{"a bare number", dated("", "", "", "extended", `><v>600</v></c>`), at("D2", 2, "extended", "600", "length_unit_missing")},
		{"too many digits", dated("", "", "", "code", `><v>4012345678901234</v></c>`), at("A2", 2, "code", "4.01234567890123e+15", "number_shortened")},
		{"true for a length", dated("", "", "", "extended", ` t="b"><v>1</v></c>`), at("D2", 2, "extended", "yes", "length_number_missing")},
		{"merged cells", sheetWith(good, `<mergeCells count="1"><mergeCell ref="B2:B7"/></mergeCells>`), at("B2", 2, "", "", "merged_cells")},
		{"merged headers", sheetWith(good, `<mergeCells><mergeCell ref="C1:D1"/></mergeCells>`), at("C1", 1, "", "", "merged_cells")},
		{"a hidden sheet", with(sheet{name: "old", state: "hidden", rows: textRow(3, "code")}), told{File: name, Sheet: "old", Code: "sheet_hidden"}},
		{"a well hidden sheet", with(sheet{name: "old", state: "veryHidden", rows: textRow(3, "code")}), told{File: name, Sheet: "old", Code: "sheet_hidden"}},
		{"a sheet of notes", with(sheet{name: "Notes", rows: textRow(4, "", "see the list of May")}),
			told{File: name, Sheet: "Notes", Line: 4, Value: ",see the list of May", Code: "header_missing"}},
		{"a title above", sheetWith(textRow(1, "Our dampers")+textRow(2, damperCells(damperHeader)...), ""),
			at("A1", 1, "", "Our dampers", "header_missing")},
		{"a cell beside the table", sheetWith(textRow(1, damperCells(damperHeader)...)+textRow(2, append(damperCells(goodDamper), "", "see above")...), ""),
			at("L2", 2, "", "see above", "column_unnamed")},
		{"an unknown column", sheetWith(textRow(1, append(damperCells(damperHeader), "colour")...)+textRow(2, damperCells(goodDamper)...), ""),
			at("K1", 1, "colour", "colour", "column_unknown")},
		{"a column that isn't there", sheetWith(textRow(1, damperCells(strings.Replace(damperHeader, "construction,", "", 1))...), ""),
			at("", 1, "construction", "", "column_missing")},
		{"a code on two sheets", with(sheet{name: "dampers 2", rows: good}), told{File: name, Sheet: "dampers 2", Cell: "A2", Line: 2, Column: "code", Value: "a", Code: "code_twice"}},
		{"an endless text", dated("", "", "", "code", ` t="inlineStr"><is><t>`+strings.Repeat("a", 1<<20)+`</t></is></c>`), at("", 0, "", "", "row_too_long")},
		{"an endless row of texts", sheetWith(good+`<row r="3">`+strings.Repeat(`<c t="s"><v>0</v></c>`, 16_384)+`</row>`, ""), at("", 0, "", "", "archive_broken")},
		{"a text that isn't there", dated("", "", "", "code", ` t="s"><v>1</v></c>`), at("", 0, "", "", "archive_broken")},
		{"rows out of order", sheetWith(textRow(2, damperCells(damperHeader)...)+textRow(1, damperCells(goodDamper)...), ""), at("", 0, "", "", "archive_broken")},
		{"cells out of order", sheetWith(good+`<row r="3"><c r="B3"><v>1</v></c><c r="A3"><v>1</v></c></row>`, ""), at("", 0, "", "", "archive_broken")},
		{"more columns than there are", sheetWith(good+`<row r="3"><c r="XFE3"><v>1</v></c></row>`, ""), at("", 0, "", "", "archive_broken")},
		{"a sheet that stops", sheetWith(good+`<row r="3"><c>`, `<!--`), at("", 0, "", "", "archive_broken")},
		{"entities of its own", sheetWith(good, `<!DOCTYPE x [<!ENTITY a "aaaaaaaaaa">]>`), at("", 0, "", "", "archive_broken")},
		{"an unknown entity", dated("", "", "", "code", ` t="inlineStr"><is><t>&a;</t></is></c>`), at("", 0, "", "", "archive_broken")},
		{"no list of sheets", without("xl/workbook.xml"), whole("archive_broken")},
		{"no sheet", without("xl/worksheets/sheet1.xml"), whole("archive_broken")},
		{"no relations", without("_rels/.rels"), whole("archive_broken")},
		{"too many sheets", with(many...), whole("archive_too_many")},
		{"nothing on its sheets", of(book{sheets: []sheet{{name: "Sheet1"}, {name: "old", state: "hidden"}}}), whole("dampers_missing")},
	})
}

// The words say what was likely typed and where the other one stands.
func TestBrokenWords(t *testing.T) {
	for name, c := range map[string]struct {
		files []table.File
		want  string
	}{
		"date": {one("a.csv", damperHeader+strings.Replace(goodDamper, "3/4 in", "8-Mar", 1)),
			`a.csv:2: upper_bore: "8-Mar": a spreadsheet has made a date of this, likely of 3/8; format the column as text and enter 3/8 again, with its unit`},
		"date for a whole number and a fraction": {one("a.csv", damperHeader+strings.Replace(goodDamper, "3/4 in", "2/1/2004", 1)),
			`a.csv:2: upper_bore: "2/1/2004": a spreadsheet has made a date of this, likely of 1/2 or 2 1/4; format the column as text and enter what it was again, with its unit`},
		"other sheet": {[]table.File{file("a.xlsx", book{sheets: []sheet{{name: "dampers", rows: damperRows("", "")}, {name: "more dampers", rows: damperRows("", "")}}}.file(t))},
			`a.xlsx, sheet more dampers, A2: code: "a": row 2 of sheet dampers has the same code, apart from case and blanks; give every part a code of its own`},
		"merged": {[]table.File{file("a.xlsx", book{sheets: []sheet{{name: "dampers", rows: damperRows("", ""), after: `<mergeCell ref="A2:C2"/>`}}}.file(t))},
			`a.xlsx, sheet dampers, A2: the cells A2:C2 are merged, so that all but the first are empty; separate them again and fill in each`},
	} {
		t.Run(name, func(t *testing.T) {
			got := readFaults(t, c.files...)
			if all := (&table.Faults{List: got}).Error(); all != c.want {
				t.Errorf("got  %s\nwant %s", all, c.want)
			}
		})
	}
}

// Several files are read to the end, and each fault says in which it stands.
func TestBrokenFilesTogether(t *testing.T) {
	got := readFaults(t,
		file("one.csv", []byte(damperHeader+strings.Replace(goodDamper, "2 in", "2", 1))),
		file("two.pdf", []byte("%PDF")),
		file("three.json", []byte(`{"kind":"spacer","code":"s","bore":"10 mm"}`)),
		file("four.zip", zipped(t, part{"sleeves.csv", "code,outer,bore,length\ns,19 mm,19 mm,30 mm\n"})),
	)
	places := map[string]string{}
	for _, f := range got {
		places[f.File] = f.Code.Public()
	}
	want := map[string]string{"one.csv": "length_unit_missing", "two.pdf": "not_a_table", "three.json": "missing", "four.zip/sleeves.csv": "no_wall"}
	if len(got) != 4 || !maps.Equal(places, want) {
		t.Errorf("got %v", got)
	}
}
