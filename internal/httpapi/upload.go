package httpapi

import (
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"maps"
	"mime"
	"net/http"
	"os"
	"slices"
	"strings"
	"syscall"
	"time"

	"github.com/labstack/echo/v4"

	"midstroke/internal/note"
	"midstroke/internal/shop"
	"midstroke/internal/table"
)

const (
	typeZip      = "application/zip"
	typeWorkbook = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
	typeNDJSON   = "application/x-ndjson"

	// mostUpload is the longest file that is taken: a million dampers are some
	// 200 MB as CSV.
	mostUpload = 256 << 20
	// uploadTime is how long one may take to arrive, be checked and be
	// written down.
	uploadTime = 10 * time.Minute
)

// upload is a file that came as a request's body, kept on disk while it is
// read.
type upload struct {
	file *os.File
	size int64
	// name is what faults call it, and media its media type.
	name, media string
	// print is the fingerprint of the whole request.
	print [sha256.Size]byte
	// end ends the long work that its reading is.
	end func()
}

// uploads are the media types that are taken, with what a file of each is
// called. Which kind of file it really is shows in its content.
var uploads = map[string]string{
	typeCSV:      table.DampersFile,
	typeZip:      "catalogue.zip",
	typeWorkbook: "catalogue.xlsx",
	typeNDJSON:   "catalogue.ndjson",
}

// receive takes a body of one of the media types in, of at most so many bytes. The
// caller closes what it gives.
func (h *Handler) receive(c echo.Context, types map[string]string, most int64) (_ *upload, err error) {
	r := c.Request()
	media, _, err := mime.ParseMediaType(r.Header.Get("Content-Type"))
	name, taken := types[media]
	if err != nil || !taken {
		return nil, newProblem(unsupportedMediaType, fileTypes, note.Word("types", typesText(types))).with("Accept", typesText(types))
	}
	if coding := r.Header.Get("Content-Encoding"); coding != "" && !strings.EqualFold(coding, "identity") {
		return nil, newProblem(unsupportedMediaType, fileCoded).with("Accept-Encoding", "identity")
	}
	takeTime(c)
	u, err := spool()
	if err != nil {
		return nil, err
	}
	u.name, u.media, u.end = name, media, h.limits.threads.Long()
	defer func() {
		if err != nil {
			u.close()
		}
	}()
	body, print := fingerprint(r, http.MaxBytesReader(c.Response().Writer, paced(c, h.pace), most))
	u.size, err = io.Copy(u.file, body)
	u.print = print()
	var over *http.MaxBytesError
	switch {
	case errors.As(err, &over):
		return nil, newProblem(tooLarge, fileTooLarge, count("most", int(most)))
	case isNoRoom(err):
		return nil, asNoRoom(err)
	case isTooSlow(err):
		return nil, tooSlowBody()
	case err != nil:
		p := newProblem(badUpload, fileCutShort)
		p.cause = err
		return nil, p
	}
	return u, nil
}

// spool makes an empty file. Nobody else is to find it, and it goes with this process.
func spool() (*upload, error) {
	file, err := os.CreateTemp("", "midstroke-upload-*")
	if err != nil {
		return nil, asNoRoom(err)
	}
	if err := os.Remove(file.Name()); err != nil {
		_ = file.Close()
		return nil, err
	}
	return &upload{file: file, end: func() {}}, nil
}

// takeTime gives an exchange longer than the server's usual timeouts. A writer
// that has none can't and needs not.
func takeTime(c echo.Context) {
	control := http.NewResponseController(c.Response().Writer)
	until := time.Now().Add(uploadTime)
	_ = control.SetReadDeadline(until)
	_ = control.SetWriteDeadline(until)
	if context.Cause(c.Request().Context()) == errStopping { //nolint:errorlint // no other error is it
		_ = control.SetReadDeadline(time.Now())
	}
}

// typesText lists media types.
func typesText(types map[string]string) string {
	return strings.Join(slices.Sorted(maps.Keys(types)), ", ")
}

// table gives the file to read.
func (u *upload) table() table.File { return table.File{Name: u.name, Data: u.file, Size: u.size} }

func (u *upload) close() {
	_ = u.file.Close() // it is gone already
	u.end()
}

// parts checks the file and opens it as the parts of a revision. What is wrong
// with its rows is a *table.Faults.
func (u *upload) parts(stated table.Stated) (shop.Parts, error) {
	parts, _, err := shop.PartsOfFiles([]table.File{u.table()}, stated, nil)
	return parts, asNoRoom(err)
}

// isNoRoom says whether an error is of a file that can't grow: its disk is full, or
// a quota is used up.
func isNoRoom(err error) bool {
	return errors.Is(err, syscall.ENOSPC) || errors.Is(err, syscall.EDQUOT) || errors.Is(err, syscall.EFBIG)
}

// asNoRoom turns such an error into a problem, and returns any other unchanged.
func asNoRoom(err error) error {
	if !isNoRoom(err) {
		return err
	}
	p := newProblem(noRoom, uploadFolderFull).with("Retry-After", "60")
	p.cause = fmt.Errorf("the upload folder %s (TMPDIR) has no room left: %w", os.TempDir(), err)
	return p
}
