package table

import (
	"archive/zip"
	"errors"
	"io"
	"path"
	"slices"
	"strings"
)

// The bounds of an archive. Tables shrink to a tenth or a twentieth, sheets of
// blank rows to a hundredth; DEFLATE can reach a thousandth, which nothing
// honest does.
const (
	mostEntries        = 1_000
	mostDirectoryBytes = 2 << 20
	mostInflation      = 200
	alwaysInflated     = 32 << 20
	mostInflated       = 1 << 30
)

// A box is an archive whose contents are bounded while they are unpacked,
// whatever its directory says of them.
type box struct {
	in    *counted
	files []*zip.File
	left  int64 // bytes that may still be unpacked
}

// openBox reads an archive's directory.
func openBox(in *counted) (*box, error) {
	in.bounded, in.left = true, mostDirectoryBytes
	r, err := zip.NewReader(in, in.size)
	in.bounded = false
	b := &box{in: in, left: mayInflate(in.size)}
	switch {
	case errors.Is(in.err, errTooMuch):
		return nil, tooManyEntries()
	case err != nil && !errors.Is(err, zip.ErrInsecurePath): // nothing is written under these names
		return nil, b.failed(err)
	case len(r.File) > mostEntries:
		return nil, tooManyEntries()
	}
	b.files = r.File
	return b, nil
}

// mayInflate gives how many bytes an archive of a size may be unpacked to.
func mayInflate(size int64) int64 { return min(max(alwaysInflated, size*mostInflation), mostInflated) }

func tooManyEntries() error {
	return &broken{trouble: trouble{"archive_too_many", "the archive holds more than 1000 files", "leave only the tables in it"}, end: true}
}

// failed tells errors of reading from what is wrong with the archive.
func (b *box) failed(err error) error {
	if b.in.err != nil {
		return b.in.err
	}
	t := trouble{"archive_broken", "the archive or workbook is damaged or not whole", "see whether it was saved or sent whole, and hand it in again"}
	if errors.Is(err, zip.ErrAlgorithm) {
		t = trouble{"archive_unknown", "this is compressed in a way that isn't read", "make a plain zip archive of the files"}
	}
	return &broken{trouble: t, end: true}
}

// find gives the part of that name, in either case, nil where there is none.
func (b *box) find(name string) *zip.File {
	i := slices.IndexFunc(b.files, func(f *zip.File) bool { return strings.EqualFold(f.Name, name) })
	if i < 0 {
		return nil
	}
	return b.files[i]
}

// open unpacks one part. The errors of the reader are *broken but for those of
// reading itself.
func (b *box) open(f *zip.File) (io.ReadCloser, error) {
	const encrypted = 1 // APPNOTE.TXT, section 4.4.4
	if f.Flags&encrypted != 0 {
		return nil, &broken{trouble: trouble{"archive_locked", "this has a password", "hand it in without one"}, end: true}
	}
	r, err := f.Open()
	if err != nil {
		return nil, b.failed(err)
	}
	return &unpacked{box: b, in: r}, nil
}

// unpacked is a part of an archive while it is read.
type unpacked struct {
	box *box
	in  io.ReadCloser
}

func (u *unpacked) Read(p []byte) (int, error) {
	if u.box.left <= 0 {
		return 0, &broken{trouble: trouble{
			"archive_too_large", "this grows beyond all measure when it is unpacked", "see what is in it; it may have been made to do harm",
		}, end: true}
	}
	n, err := u.in.Read(p)
	u.box.left -= int64(n)
	if err != nil && !errors.Is(err, io.EOF) {
		err = u.box.failed(err)
	}
	return n, err
}

func (u *unpacked) Close() error { return u.in.Close() }

// archive reads a zip archive: a workbook, or one of files that are none.
func (r *reading) archive(o origin, in *counted) error {
	b, err := openBox(in)
	if err != nil {
		_, err = r.failed(o, err)
		return err
	}
	if b.find(contentTypes) != nil {
		return r.workbook(o, b)
	}
	if b.find("mimetype") != nil && b.find("content.xml") != nil {
		r.notRead(o, "this is a workbook in the OpenDocument form")
		return nil
	}
	tables := 0
	for _, f := range b.files {
		if isByTheWay(f.Name) {
			continue
		}
		tables++
		if err := r.packed(origin{file: path.Join(o.file, f.Name)}, b, f); err != nil {
			return err
		}
		if b.left <= 0 {
			break
		}
	}
	if tables == 0 {
		r.fault(o, spot{}, "", trouble{"archive_empty", "there is no file in this archive", "make it of the tables"})
	}
	return nil
}

// notRead reports a workbook of a kind that isn't read.
func (r *reading) notRead(o origin, detail string) {
	r.fault(o, spot{}, "", trouble{"workbook_unknown", detail, "save it as XLSX, or as CSV"})
}

// packed reads one file of an archive.
func (r *reading) packed(o origin, b *box, f *zip.File) error {
	in, err := b.open(f)
	if err != nil {
		_, err = r.failed(o, err)
		return err
	}
	defer func() { _ = in.Close() }() // it was only read
	return r.plain(o, in, nil)
}

// isByTheWay says of a name in an archive that it is no file that anyone put
// there: a folder, or what desktops leave in folders.
func isByTheWay(name string) bool {
	base := path.Base(name)
	return strings.HasSuffix(name, "/") || strings.HasPrefix(base, ".") || strings.HasPrefix(name, "__MACOSX/") ||
		strings.EqualFold(base, "thumbs.db") || strings.EqualFold(base, "desktop.ini")
}
