package httpapi

import (
	"fmt"
	"io"
	"runtime/debug"
	"strings"
	"sync"

	"github.com/labstack/echo/v4"

	"midstroke/internal/catalog"
	"midstroke/internal/note"
	"midstroke/internal/table"
	"midstroke/internal/unit"
)

// exports are the forms that a revision is to be had in, by media type.
var exports = map[string]struct {
	format table.Format
	ending string
}{
	typeZip:      {table.CSV, "zip"},
	typeWorkbook: {table.XLSX, "xlsx"},
	typeNDJSON:   {table.NDJSON, "ndjson"},
}

// exportRevision answers GET …/revisions/{number}/export: a file that can be
// uploaded again and then comes out as the same bytes. Its form is what the
// query says, for a link, else what Accept does.
func (h *Handler) exportRevision(c echo.Context) error {
	q, err := parseQuery(c.Request().URL.RawQuery)
	if err != nil {
		return err
	}
	q.readUnits()
	media := negotiate(c.Request().Header.Get("Accept"), typeZip, typeWorkbook, typeNDJSON)
	if form, ok := choice(q, "format", []string{"zip", "xlsx", "ndjson"}, exportByEnding); ok {
		media = form
	}
	q.errorsAsText()
	if err := q.close(); err != nil {
		return err
	}
	if media == "" {
		return newProblem(notAcceptable, mediaTypes, note.Word("types", strings.Join([]string{typeZip, typeWorkbook, typeNDJSON}, ", ")))
	}
	snapshot, identity, err := h.drafted(c, "number")
	if err != nil {
		return err
	}
	name := strings.Map(func(r rune) rune {
		if r > ' ' && r < 0x7F && !strings.ContainsRune(`"\/%;`, r) {
			return r
		}
		return '_'
	}, snapshot.Name())
	c.Response().Header().Set("Content-Disposition", fmt.Sprintf(`attachment; filename="%s-%d.%s"`, name, snapshot.Revision(), exports[media].ending))
	return h.inTurn(c, files, 1, func() error {
		return sendStream(c, media, exportTag(identity, media, q.units), func(w io.Writer) error {
			return table.Write(w, exports[media].format, catalog.Contents{
				Currency: snapshot.Currency(), Limits: snapshot.Limits(),
				Dampers: snapshot.Dampers(), Sleeves: snapshot.Sleeves(), Spacers: snapshot.Spacers(), Adapters: snapshot.Adapters(),
			}, q.units)
		})
	})
}

// exportTag gives the entity tag of an export of the revision of that identity, ""
// where it isn't known. A revision never changes, so the tag is that of its identity
// and of what else the file depends on.
func exportTag(identity, media string, units unit.System) string {
	if identity == "" {
		return ""
	}
	return entityTag([]byte(strings.Join([]string{identity, media, units.String(), buildID()}, " ")))
}

// buildID tells one build of the program from another, whose files may differ.
var buildID = sync.OnceValue(func() string {
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return ""
	}
	id := info.Main.Version
	for _, s := range info.Settings {
		if s.Key == "vcs.revision" || s.Key == "vcs.time" {
			id += " " + s.Value
		}
	}
	return id
})

// exportByEnding gives the media type of a file's ending.
func exportByEnding(ending string) (media string, ok bool) {
	for media, e := range exports {
		if e.ending == ending {
			return media, true
		}
	}
	return "", false
}
