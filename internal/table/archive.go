package table

import (
	"archive/zip"
	"errors"
	"io"
	"path"
	"slices"
	"strings"

	"midstroke/internal/note"
)

// The bounds of an archive. Compression makes a table 10 to 20 times smaller and a
// sheet of blank rows 100 times. DEFLATE can reach 1,000 times, which only an
// archive made to do harm does.
const (
	mostEntries        = 1_000
	mostDirectoryBytes = 2 << 20
	mostInflation      = 200
	alwaysInflated     = 32 << 20
	mostInflated       = 1 << 30
)

// A zipFile is an archive. It limits how many bytes are unpacked, whatever its
// directory says.
type zipFile struct {
	in    *counted
	files []*zip.File
	left  int64 // bytes that may still be unpacked
}

// openZip reads an archive's directory.
func openZip(in *counted) (*zipFile, error) {
	in.bounded, in.left = true, mostDirectoryBytes
	r, err := zip.NewReader(in, in.size)
	in.bounded = false
	b := &zipFile{in: in, left: mayInflate(in.size)}
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

func tooManyEntries() error { return unreadable(tooManyFiles, note.Num("most", mostEntries, "")) }

// failed gives an error of reading as it is, and any other as a fault of the
// archive.
func (b *zipFile) failed(err error) error {
	if b.in.err != nil {
		return b.in.err
	}
	if errors.Is(err, zip.ErrAlgorithm) {
		return unreadable(methodUnknown)
	}
	return unreadable(archiveBroken)
}

// find gives the part of that name, in either case, nil where there is none.
func (b *zipFile) find(name string) *zip.File {
	i := slices.IndexFunc(b.files, func(f *zip.File) bool { return strings.EqualFold(f.Name, name) })
	if i < 0 {
		return nil
	}
	return b.files[i]
}

// open unpacks one part. The errors of the reader are *fileError except for
// those of reading itself.
func (b *zipFile) open(f *zip.File) (io.ReadCloser, error) {
	const encrypted = 1 // APPNOTE.TXT, section 4.4.4
	if f.Flags&encrypted != 0 {
		return nil, unreadable(archiveLocked)
	}
	r, err := f.Open()
	if err != nil {
		return nil, b.failed(err)
	}
	return &unpacked{zip: b, in: r}, nil
}

// unpacked is a part of an archive while it is read.
type unpacked struct {
	zip *zipFile
	in  io.ReadCloser
}

func (u *unpacked) Read(p []byte) (int, error) {
	if u.zip.left <= 0 {
		return 0, unreadable(archiveTooLarge)
	}
	n, err := u.in.Read(p)
	u.zip.left -= int64(n)
	if err != nil && !errors.Is(err, io.EOF) {
		err = u.zip.failed(err)
	}
	return n, err
}

func (u *unpacked) Close() error { return u.in.Close() }

// archive reads a zip archive: a workbook, or one of files that are none.
func (r *reading) archive(o origin, in *counted) error {
	b, err := openZip(in)
	if err != nil {
		_, err = r.reportOrReturn(o, err)
		return err
	}
	if b.find(contentTypes) != nil {
		return r.workbook(o, b)
	}
	if b.find("mimetype") != nil && b.find("content.xml") != nil {
		r.report(o, position{}, "", problem(workbookOpen))
		return nil
	}
	tables := 0
	for _, f := range b.files {
		if isClutter(f.Name) {
			continue
		}
		tables++
		if err := r.archivedFile(origin{file: path.Join(o.file, f.Name)}, b, f); err != nil {
			return err
		}
		if b.left <= 0 {
			break
		}
	}
	if tables == 0 {
		r.report(o, position{}, "", problem(archiveEmpty))
	}
	return nil
}

// archivedFile reads one file of an archive.
func (r *reading) archivedFile(o origin, b *zipFile, f *zip.File) error {
	in, err := b.open(f)
	if err != nil {
		_, err = r.reportOrReturn(o, err)
		return err
	}
	defer func() { _ = in.Close() }() // it was only read
	return r.plain(o, in)
}

// isClutter says whether an archive's entry is no file of the shop's: a folder, or
// a file that desktops leave in folders.
func isClutter(name string) bool {
	base := path.Base(name)
	return strings.HasSuffix(name, "/") || strings.HasPrefix(base, ".") || strings.HasPrefix(name, "__MACOSX/") ||
		strings.EqualFold(base, "thumbs.db") || strings.EqualFold(base, "desktop.ini")
}
