package table

import (
	"bufio"
	"bytes"
	"errors"
	"io"
)

// isArchive says whether a file is a zip archive, which a workbook is too.
func isArchive(head []byte) bool {
	return bytes.HasPrefix(head, []byte("PK\x03\x04")) || bytes.HasPrefix(head, []byte("PK\x05\x06"))
}

// opened gives the text of a file that is no archive. What can't be read at
// all is a *broken that says what to do.
func opened(r io.Reader) (*bufio.Reader, error) {
	in := bufio.NewReaderSize(r, bufferBytes)
	head, err := in.Peek(bufferBytes)
	if err != nil && !errors.Is(err, io.EOF) {
		return nil, err
	}
	if err := noBinary(head); err != nil {
		return nil, err
	}
	text, err := decoded(in)
	if err != nil {
		return nil, err
	}
	head, _ = text.Peek(bufferBytes) // an error comes with the first row
	return text, noMarkup(head)
}

// noBinary finds files of other kinds by the bytes that they begin with.
func noBinary(head []byte) error {
	starts := func(with string) bool { return bytes.HasPrefix(head, []byte(with)) }
	var t trouble
	switch {
	case isArchive(head):
		t = trouble{"archive_nested", "this is an archive within an archive, or a workbook", "hand it in by itself"}
	case starts("\xD0\xCF\x11\xE0\xA1\xB1\x1A\xE1"): // MS-CFB, section 2.2
		t = trouble{"workbook_old", "this is a workbook in an old form, or one with a password", "save it without a password as XLSX, or as CSV"}
	case starts("\x1F\x8B"), starts("BZh"), starts("7z\xBC\xAF\x27\x1C"), starts("Rar!"), starts("\xFD7zXZ\x00"), starts("\x28\xB5\x2F\xFD"):
		t = trouble{"archive_unknown", "this is compressed in a way that isn't read", "hand the files in as they are, or in a zip archive"}
	case starts("%PDF"):
		t = trouble{"not_a_table", "this is a document and no table", "hand in the spreadsheet or the CSV file that it was made of"}
	default:
		return nil
	}
	return &broken{trouble: t, end: true}
}

// noMarkup finds texts of other kinds by how they begin.
func noMarkup(head []byte) error {
	text := bytes.ToLower(bytes.TrimLeft(head[:min(len(head), 64)], " \t\r\n"))
	starts := func(with string) bool { return bytes.HasPrefix(text, []byte(with)) }
	switch {
	case starts("<!doctype"), starts("<html"), starts("<table"), starts("<?xml"):
		return &broken{trouble: trouble{"not_a_table", "this is a page or another kind of XML and no table", "save it as XLSX or as CSV"}, end: true}
	case starts("["):
		return &broken{trouble: trouble{"json_array", "this is one JSON array", "write its objects one a line, without the brackets and the commas between them"}, end: true}
	}
	return nil
}

// isObjects says whether a text holds JSON objects and no CSV.
func isObjects(head []byte) bool {
	head = bytes.TrimLeft(head, " \t\r\n")
	return len(head) > 0 && head[0] == '{'
}
