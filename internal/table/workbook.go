package table

import (
	"archive/zip"
	"errors"
	"io"
	"path"
	"strings"

	"midstroke/internal/note"
)

// contentTypes is the part that every package of Open Packaging Conventions
// has (ECMA-376-2, section 10.1.2).
const contentTypes = "[Content_Types].xml"

// The bounds of a workbook, beside those of an archive.
const (
	mostSheets  = 255
	mostFormats = 1 << 16 // of cells; spreadsheets have no more than 65,490
)

// A workbook is an XLSX file (ISO/IEC 29500-1, SpreadsheetML) while its sheets
// are read.
type workbook struct {
	*zipFile
	sheets   []worksheet
	from1904 bool
	styles   styles
	formats  []format // by the number that cells name
	texts    sharedTexts
}

// A worksheet is one sheet, before it is opened.
type worksheet struct {
	name, id string
	hidden   bool
	part     *zip.File
}

// workbook reads the sheets of a workbook in their order.
func (r *reading) workbook(o origin, b *zipFile) error {
	if b.find("xl/workbook.bin") != nil {
		r.report(o, position{}, "", problem(workbookBinary))
		return nil
	}
	w := &workbook{zipFile: b}
	if err := w.open(); err != nil {
		_, err = r.reportOrReturn(o, w.failed(err))
		return err
	}
	for _, sheet := range w.sheets {
		if err := r.sheet(origin{o.file, sheet.name}, w, sheet); err != nil {
			return err
		}
		if b.left <= 0 {
			break
		}
	}
	return nil
}

// failed says what is wrong with a workbook's parts.
func (w *workbook) failed(err error) error {
	var known *fileError
	switch {
	case errors.As(err, &known):
		return err
	case errors.Is(err, errRowTooLong):
		return unreadable(bookRowTooLong)
	}
	return w.zipFile.failed(err)
}

// sheet reads one sheet. An empty one is passed over. A hidden one is refused,
// since the sender may not know that it is there.
func (r *reading) sheet(o origin, w *workbook, sheet worksheet) error {
	in, err := w.zipFile.open(sheet.part)
	if err != nil {
		_, err = r.reportOrReturn(o, err)
		return err
	}
	defer func() { _ = in.Close() }() // it was only read
	src, err := newSheetRows(w, in)
	if err != nil {
		_, err = r.reportOrReturn(o, w.failed(err))
		return err
	}
	header, err := firstRow(src)
	switch {
	case errors.Is(err, io.EOF):
		return nil
	case err != nil:
		_, err = r.reportOrReturn(o, err)
		return err
	case sheet.hidden:
		r.report(o, position{}, "", problem(sheetHidden))
		return nil
	}
	src.width = len(header)
	return r.table(header, o, src)
}

// open reads what the sheets are and how their cells are kept.
func (w *workbook) open() error {
	main, err := w.mainPart()
	if err != nil {
		return err
	}
	related, err := w.relations(main)
	if err != nil {
		return err
	}
	if err := w.readMain(main); err != nil {
		return err
	}
	sheets := w.sheets[:0]
	for _, sheet := range w.sheets {
		relation, ok := related[sheet.id]
		if ok && !relation.is("worksheet") {
			continue // a chart or a macro
		}
		if sheet.part = w.find(relation.part); sheet.part == nil {
			return errMarkup
		}
		sheets = append(sheets, sheet)
	}
	w.sheets = sheets
	if err := w.eachOf(related, "styles", w.readStyles); err != nil {
		return err
	}
	return w.eachOf(related, "sharedStrings", w.texts.read)
}

// eachOf gives every tag of the part of a kind, where there is one.
func (w *workbook) eachOf(related map[string]relation, kind string, tag func(*markup) error) error {
	for _, relation := range related {
		if part := w.find(relation.part); part != nil && relation.is(kind) {
			return w.each(part, tag)
		}
	}
	return nil
}

// mainPart finds the part that lists the sheets.
func (w *workbook) mainPart() (string, error) {
	related, err := w.relations("")
	if err != nil {
		return "", err
	}
	for _, relation := range related {
		if relation.is("officeDocument") && strings.HasPrefix(relation.part, "xl/") {
			return relation.part, nil
		}
		if relation.is("officeDocument") {
			return "", unreadable(notATableDocument)
		}
	}
	return "", errMarkup
}

// A relation is one part that another refers to.
type relation struct{ kind, part string }

// is compares the last word of a relation's type, which is the same in the
// strict and in the transitional form.
func (r relation) is(kind string) bool { return path.Base(r.kind) == kind }

// relations reads what a part refers to, by its numbers; "" stands for the
// package itself (ECMA-376-2, section 9.3).
func (w *workbook) relations(of string) (map[string]relation, error) {
	folder := path.Dir(of)
	list := w.find(path.Join(folder, "_rels", path.Base("/"+of)+".rels"))
	if of == "" {
		list = w.find("_rels/.rels")
	}
	if list == nil {
		return nil, errMarkup
	}
	related := map[string]relation{}
	err := w.each(list, func(m *markup) error {
		if !m.opens("Relationship") {
			return nil
		}
		target := string(m.attribute("Target"))
		part := path.Join(folder, target)
		if strings.HasPrefix(target, "/") {
			part = strings.TrimPrefix(path.Clean(target), "/")
		}
		if string(m.attribute("TargetMode")) != "External" && len(related) < mostEntries {
			related[string(m.attribute("Id"))] = relation{string(m.attribute("Type")), part}
		}
		return nil
	})
	return related, err
}

// readMain reads the list of sheets.
func (w *workbook) readMain(part string) error {
	main := w.find(part)
	if main == nil {
		return errMarkup
	}
	return w.each(main, func(m *markup) error {
		switch {
		case m.opens("workbookPr"):
			w.from1904 = isTrue(m.attribute("date1904"))
		case m.opens("sheet"):
			if len(w.sheets) == mostSheets {
				return unreadable(tooManySheets, note.Num("most", mostSheets, ""))
			}
			state := m.attribute("state")
			w.sheets = append(w.sheets, worksheet{
				name: string(m.attribute("name")), id: string(m.attribute("id")),
				hidden: len(state) > 0 && string(state) != "visible",
			})
		}
		return nil
	})
}

// isTrue reads a truth value of XML Schema.
func isTrue(value []byte) bool { return string(value) == "1" || string(value) == "true" }

// each gives every tag of a part to a function.
func (w *workbook) each(part *zip.File, tag func(*markup) error) error {
	in, err := w.zipFile.open(part)
	if err != nil {
		return err
	}
	defer func() { _ = in.Close() }() // it was only read
	m, err := newMarkup(in)
	if err != nil {
		return err
	}
	for {
		err := m.tag()
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err == nil {
			err = tag(m)
		}
		if err != nil {
			return err
		}
	}
}
