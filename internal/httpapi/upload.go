package httpapi

import (
	"archive/zip"
	"errors"
	"io"
	"iter"
	"mime"
	"net/http"
	"os"
	"path"
	"strings"
	"time"

	"github.com/labstack/echo/v4"

	"midstroke/internal/catalog"
	"midstroke/internal/mount"
	"midstroke/internal/shop"
	"midstroke/internal/table"
)

const (
	typeZip = "application/zip"

	// mostUpload is the longest file that is taken, and mostUnzipped what the
	// files in an archive may come to: a million dampers are some 150 MB.
	mostUpload   = 256 << 20
	mostUnzipped = 1 << 30
	// uploadTime is how long one may take to arrive, be checked and be
	// written down.
	uploadTime = 10 * time.Minute
)

// upload is a file that came as a request's body, kept on disk while it is
// read.
type upload struct {
	file  *os.File
	size  int64
	media string
	// faults are those found in it so far.
	faults table.Faults
	priced bool
}

// receive takes a body in. The caller closes what it gives.
func receive(c echo.Context) (_ *upload, err error) {
	r := c.Request()
	media, _, err := mime.ParseMediaType(r.Header.Get("Content-Type"))
	if err != nil || media != typeZip && media != typeCSV {
		return nil, newProblem(unsupportedMediaType, "Send dampers.csv as text/csv, or an application/zip of dampers.csv and, where there are such, sleeves.csv, spacers.csv, adapters.csv and catalog.csv").
			with("Accept", typeZip+", "+typeCSV)
	}
	if coding := r.Header.Get("Content-Encoding"); coding != "" && !strings.EqualFold(coding, "identity") {
		return nil, newProblem(unsupportedMediaType, "A file is read as it is, without Content-Encoding").with("Accept-Encoding", "identity")
	}
	takeTime(c)
	file, err := os.CreateTemp("", "midstroke-upload-*")
	if err != nil {
		return nil, err
	}
	u := &upload{file: file, media: media}
	defer func() {
		if err != nil {
			u.close()
		}
	}()
	// Nobody else is to find it, and it goes with this process.
	if err := os.Remove(file.Name()); err != nil {
		return nil, err
	}
	u.size, err = io.Copy(file, http.MaxBytesReader(c.Response().Writer, r.Body, mostUpload))
	var over *http.MaxBytesError
	switch {
	case errors.As(err, &over):
		return nil, newProblem(tooLarge, "A file may have at most %d bytes", int64(mostUpload))
	case err != nil:
		p := newProblem(badUpload, "The file did not arrive whole")
		p.cause = err
		return nil, p
	}
	return u, nil
}

// takeTime gives an exchange longer than the server's usual timeouts. A writer
// that has none can't and needs not.
func takeTime(c echo.Context) {
	control := http.NewResponseController(c.Response().Writer)
	until := time.Now().Add(uploadTime)
	_ = control.SetReadDeadline(until)
	_ = control.SetWriteDeadline(until)
}

func (u *upload) close() { _ = u.file.Close() } // it is gone already

// parts opens the file as the parts of a revision. What is wrong with their
// rows comes as a *table.Faults when all have been read.
func (u *upload) parts() (shop.Parts, error) {
	files := map[string]io.Reader{}
	if u.media == typeCSV {
		files[table.DampersFile] = io.NewSectionReader(u.file, 0, u.size)
	} else if err := u.unzip(files); err != nil {
		return shop.Parts{}, err
	}
	if files[table.DampersFile] == nil {
		u.fault(table.Fault{File: table.DampersFile, Code: "file_missing", Detail: "there is no such file", Cure: "add it; a catalogue is nothing without dampers"})
	}
	var currency string
	return shop.Parts{
		Settings: func() (string, mount.Limits, error) {
			settings, err := table.ReadSettings(files[table.SettingsFile], &u.faults)
			currency = settings.Currency
			return settings.Currency, settings.Limits, err
		},
		Dampers:  checked(u, table.Dampers(files[table.DampersFile], &u.faults), func(d *catalog.Damper) mount.Price { return d.Price }),
		Sleeves:  checked(u, table.Sleeves(files[table.SleevesFile], &u.faults), func(s *mount.Sleeve) mount.Price { return s.Price }),
		Spacers:  checked(u, table.Spacers(files[table.SpacersFile], &u.faults), func(s *mount.Spacer) mount.Price { return s.Price }),
		Adapters: checked(u, table.Adapters(files[table.AdaptersFile], &u.faults), func(a *mount.Adapter) mount.Price { return a.Price }),
		Checked: func() error {
			if u.priced && currency == "" {
				u.fault(table.Fault{File: table.SettingsFile, Column: "currency", Code: "currency_missing",
					Detail: "parts have prices, but no currency is named", Cure: "name it in " + table.SettingsFile + ", as in EUR"})
			}
			return u.faults.Err()
		},
	}, nil
}

// fault adds a fault of the files as a whole.
func (u *upload) fault(f table.Fault) {
	if len(u.faults.List) == table.MaxListed {
		u.faults.More++
		return
	}
	u.faults.List = append(u.faults.List, f)
}

// checked passes rows on until there is a fault anywhere, and reads the rest
// for its faults alone.
func checked[T any](u *upload, rows iter.Seq2[T, error], price func(*T) mount.Price) iter.Seq2[T, error] {
	return func(yield func(T, error) bool) {
		for row, err := range rows {
			if err == nil {
				u.priced = u.priced || price(&row) != mount.NoPrice
				if len(u.faults.List) > 0 {
					continue
				}
			}
			if !yield(row, err) || err != nil {
				return
			}
		}
	}
}

// unzip finds the files of an archive by their names, whatever folder they
// stand in.
func (u *upload) unzip(files map[string]io.Reader) error {
	archive, err := zip.NewReader(u.file, u.size)
	if err != nil {
		p := newProblem(badUpload, "The file isn't a zip archive, or was cut short on its way")
		p.cause = err
		return p
	}
	left := int64(mostUnzipped)
	for _, entry := range archive.File {
		name := path.Base(strings.ReplaceAll(entry.Name, `\`, "/"))
		switch {
		case entry.FileInfo().IsDir() || strings.HasPrefix(entry.Name, "__MACOSX/") || strings.HasPrefix(name, "."):
			continue
		case name != table.DampersFile && name != table.SleevesFile && name != table.SpacersFile && name != table.AdaptersFile && name != table.SettingsFile:
			u.fault(table.Fault{File: name, Code: "file_unknown", Detail: "no file of this name is read",
				Cure: "name the files dampers.csv, sleeves.csv, spacers.csv, adapters.csv, catalog.csv, or leave this one out"})
			continue
		case files[name] != nil:
			u.fault(table.Fault{File: name, Code: "file_twice", Detail: "the archive has two files of this name", Cure: "leave one of them out"})
			continue
		}
		in, err := entry.Open()
		if err != nil {
			p := newProblem(badUpload, "%s in the archive can't be unpacked", shortened(name))
			p.cause = err
			return p
		}
		files[name] = &unzipped{name: name, in: in, left: &left}
	}
	return nil
}

// unzipped reads a file of an archive, of which all files together may only be
// so long, whatever the archive says of itself.
type unzipped struct {
	name string
	in   io.Reader
	left *int64
}

func (z *unzipped) Read(p []byte) (int, error) {
	n, err := z.in.Read(p)
	if *z.left -= int64(n); *z.left < 0 {
		return 0, newProblem(tooLarge, "The files in the archive may have at most %d bytes together", int64(mostUnzipped))
	}
	if err != nil && !errors.Is(err, io.EOF) {
		broken := newProblem(badUpload, "%s in the archive is damaged or was cut short", z.name)
		broken.cause = err
		return n, broken
	}
	return n, err
}
