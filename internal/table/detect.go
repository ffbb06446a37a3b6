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

// opened gives the text of a file that is no archive. It gives a *fileError for
// a file of a kind that isn't read.
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
	switch {
	case isArchive(head):
		return unreadable(archiveNested)
	case starts("\xD0\xCF\x11\xE0\xA1\xB1\x1A\xE1"): // MS-CFB, section 2.2
		return unreadable(workbookOld)
	case starts("\x1F\x8B"), starts("BZh"), starts("7z\xBC\xAF\x27\x1C"), starts("Rar!"), starts("\xFD7zXZ\x00"), starts("\x28\xB5\x2F\xFD"):
		return unreadable(fileCompressed)
	case starts("%PDF"):
		return unreadable(notATableDocument)
	}
	return nil
}

// noMarkup finds texts of other kinds by how they begin.
func noMarkup(head []byte) error {
	text := bytes.ToLower(bytes.TrimLeft(head[:min(len(head), 64)], " \t\r\n"))
	starts := func(with string) bool { return bytes.HasPrefix(text, []byte(with)) }
	switch {
	case starts("<!doctype"), starts("<html"), starts("<table"), starts("<?xml"):
		return unreadable(notATableMarkup)
	case starts("["):
		return unreadable(jsonArray)
	}
	return nil
}

// isObjects says whether a text holds JSON objects and no CSV.
func isObjects(head []byte) bool {
	head = bytes.TrimLeft(head, " \t\r\n")
	return len(head) > 0 && head[0] == '{'
}
