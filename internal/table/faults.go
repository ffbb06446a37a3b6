package table

import (
	"fmt"
	"strconv"
	"strings"

	"midstroke/internal/fault"
	"midstroke/internal/note"
	"midstroke/internal/unit"
)

// The codes of what is wrong with a file, a row or a cell. What is wrong with a
// part is reported by its Faults, under the codes of its package.
const (
	notUTF8        fault.Code = "not_utf8.file"
	lineEnds       fault.Code = "line_ends"
	rowTooLong     fault.Code = "row_too_long.row"
	lineTooLong    fault.Code = "row_too_long.line"
	bookRowTooLong fault.Code = "row_too_long.workbook"
	quoteBare      fault.Code = "quote_bare"
	quoteOpen      fault.Code = "quote_open"
	cutShort       fault.Code = "cut_short"

	archiveNested      fault.Code = "archive_nested"
	archiveForRows     fault.Code = "archive_for_rows"
	archiveBroken      fault.Code = "archive_broken"
	archiveLocked      fault.Code = "archive_locked"
	archiveEmpty       fault.Code = "archive_empty"
	archiveTooLarge    fault.Code = "archive_too_large"
	tooManyFiles       fault.Code = "archive_too_many.files"
	tooManySheets      fault.Code = "archive_too_many.sheets"
	fileCompressed     fault.Code = "archive_unknown.file"
	methodUnknown      fault.Code = "archive_unknown.method"
	notATableDocument  fault.Code = "not_a_table.document"
	notATableMarkup    fault.Code = "not_a_table.markup"
	workbookOld        fault.Code = "workbook_old"
	workbookOpen       fault.Code = "workbook_unknown.open_document"
	workbookBinary     fault.Code = "workbook_unknown.binary"
	sheetHidden        fault.Code = "sheet_hidden"
	tooManyTexts       fault.Code = "texts_too_many"
	mergedCells        fault.Code = "merged_cells"
	formulaUnevaluated fault.Code = "formula_without_value"
	numberShortened    fault.Code = "number_shortened"

	jsonArray    fault.Code = "json_array"
	jsonObject   fault.Code = "json_object"
	jsonMore     fault.Code = "json_more"
	jsonTwice    fault.Code = "json_name_twice"
	jsonSyntax   fault.Code = "json_syntax"
	jsonSyntaxAt fault.Code = "json_syntax.at"
	kindMissing  fault.Code = "kind.missing"
	kindUnknown  fault.Code = "kind.unknown"
	unitsUnknown fault.Code = "units"
	valueNested  fault.Code = "value"
	memberTwice  fault.Code = "column_twice.member"

	fileEmpty       fault.Code = "file_empty"
	headerMissing   fault.Code = "header_missing"
	tableUnknown    fault.Code = "table_unknown"
	tooManyColumns  fault.Code = "columns_too_many"
	tooManyRows     fault.Code = "rows_too_many"
	settingsTwice   fault.Code = "rows_too_many.settings"
	dampersMissing  fault.Code = "dampers_missing"
	currencyMissing fault.Code = "currency_missing"
	currencyOther   fault.Code = "currency_other"
	columnTwice     fault.Code = "column_twice"
	columnUnit      fault.Code = "column_unit.unreadable"
	columnNoLength  fault.Code = "column_unit.no_length"
	columnMissing   fault.Code = "column_missing"
	columnUnknown   fault.Code = "column_unknown"
	columnNear      fault.Code = "column_unknown.near"
	columnUnnamed   fault.Code = "column_unnamed"
	cellCount       fault.Code = "cells"
	rowUnwritable   fault.Code = "unwritable"

	cellMissing       fault.Code = "missing.cell"
	formula           fault.Code = "formula"
	nulByte           fault.Code = "nul_byte"
	spreadsheetError  fault.Code = "spreadsheet_error"
	lengthNegative    fault.Code = "length_negative"
	lengthNotPositive fault.Code = "length_not_positive"
	threadUnreadable  fault.Code = "thread"
	threadUnknown     fault.Code = "unknown_thread.cell"
	pitchUnknown      fault.Code = "unknown_pitch.cell"
	boltNotPositive   fault.Code = "bolt_not_positive.cell"
	wordUnknown       fault.Code = "unknown_word"
	neitherYesNorNo   fault.Code = "yes_or_no"
	priceUnreadable   fault.Code = "price"
	priceComma        fault.Code = "price_comma"
	priceDecimals     fault.Code = "price_decimals"
	numberUnreadable  fault.Code = "number"
	forcesUnreadable  fault.Code = "force_table"
	codeShortened     fault.Code = "code_shortened"
	codeFormula       fault.Code = "formula.code"
	codeInvisible     fault.Code = "code_characters.invisible"
	codeRightToLeft   fault.Code = "code_characters.right_to_left"
	dateMade          fault.Code = "date"
	dateMadeOf        fault.Code = "date.of"
	dateMadeOfEither  fault.Code = "date.of_either"

	codeTwiceOnLine  fault.Code = "code_twice.line"
	codeTwiceInRow   fault.Code = "code_twice.row"
	codeTwiceInFile  fault.Code = "code_twice.file"
	codeTwiceOnSheet fault.Code = "code_twice.sheet"
	codeTwiceInBook  fault.Code = "code_twice.workbook"
)

// threadCodes are the codes of a thread that mount can't read, by mount's.
var threadCodes = map[string]fault.Code{
	threadUnknown.Public(): threadUnknown, pitchUnknown.Public(): pitchUnknown, boltNotPositive.Public(): boltNotPositive,
}

// problem makes a fault that has no place yet.
func problem(code fault.Code, values ...note.Value) *fault.Fault {
	return &fault.Fault{Code: code, Values: values}
}

// A fileError is the file's fault, as opposed to an error of reading.
type fileError struct {
	fault.Fault
	position
	// last says that nothing behind it can be read.
	last bool
}

func (e *fileError) Error() string { return e.Text("en", unit.Unset) }

// unreadable makes an error behind which nothing can be read.
func unreadable(code fault.Code, values ...note.Value) error {
	return &fileError{Fault: *problem(code, values...), last: true}
}

// MaxListed is how many faults are listed; the rest are counted.
const MaxListed = 1000

// mostShown is how many characters of a cell a fault shows.
const mostShown = 64

// Faults collects what is wrong with the files of one catalogue. The zero
// value is ready for use.
type Faults struct {
	// List has the first MaxListed of them in the order of reading. Each has a
	// place in a file.
	List fault.List
	// More is how many there are beyond those.
	More int
}

// Error gives the faults in English, one a line.
func (f *Faults) Error() string {
	lines := make([]string, 0, len(f.List)+1)
	for i := range f.List {
		lines = append(lines, described(&f.List[i]))
	}
	if f.More > 0 {
		lines = append(lines, fmt.Sprintf("and %d more", f.More))
	}
	return strings.Join(lines, "\n")
}

// described gives a fault as one line of English.
func described(f *fault.Fault) string {
	var parts []string
	if at := f.Place.Text("en"); at != "" {
		parts = append(parts, at)
	}
	if f.Value != "" {
		parts = append(parts, strconv.Quote(f.Value))
	}
	parts = append(parts, f.Text("en", unit.Unset)+"; "+f.Cure("en", unit.Unset))
	return strings.Join(parts, ": ")
}

// Err gives the faults as an error, or nil where there are none.
func (f *Faults) Err() error {
	if len(f.List) == 0 {
		return nil
	}
	return f
}

func (f *Faults) add(one fault.Fault) {
	if len(f.List) == MaxListed {
		f.More++
		return
	}
	one.Value = shortened(one.Value)
	f.List = append(f.List, one)
}

// shortened copies what a fault shows of a cell, as valid UTF-8.
func shortened(text string) string {
	short, n := text, 0
	for i := range text {
		if n == mostShown {
			short = text[:i] + "…"
			break
		}
		n++
	}
	return strings.ToValidUTF8(strings.Clone(short), "\ufffd")
}

// An origin is the table that a row stands in: a file, or a sheet of one.
type origin struct{ file, sheet string }

// A position is where something stands in a table: its line and in a workbook
// its column, both from 1, 0 where there is none.
type position struct{ line, column int }

// cell gives a workbook's name for the cell that stands there.
func (p position) cell() string {
	if p.column == 0 {
		return ""
	}
	return columnLetters(p.column) + strconv.Itoa(p.line)
}

// columnLetters names a workbook's column, from 1: A, Z, AA.
func columnLetters(n int) string {
	var b [8]byte
	i := len(b)
	for ; n > 0; n = (n - 1) / 26 {
		i--
		b[i] = byte('A' + (n-1)%26)
	}
	return string(b[i:])
}

// put gives a fault its place in the table o.
func (o origin) put(f fault.Fault, at position, column, value string) fault.Fault {
	f.Place = fault.Place{File: o.file, Sheet: o.sheet, Line: at.line, Cell: at.cell(), Column: column, Value: value}
	return f
}

// codeTwice says that a row has the code of another one, which stands on a line
// of the table o.
func (o origin) codeTwice(other origin, line int) *fault.Fault {
	code := codeTwiceOnLine
	switch isSheet := other.sheet != ""; {
	case o == other && isSheet:
		code = codeTwiceInRow
	case o == other:
	case isSheet && o.file == other.file:
		code = codeTwiceOnSheet
	case isSheet:
		code = codeTwiceInBook
	default:
		code = codeTwiceInFile
	}
	return problem(code, note.Num("line", float64(line), ""), note.Word("sheet", other.sheet), note.Word("file", other.file))
}
