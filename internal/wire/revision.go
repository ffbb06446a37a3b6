package wire

import (
	"bytes"
	"encoding/json"
	"time"

	"midstroke/internal/shop"
)

type revisionJSON struct {
	Catalog      string            `json:"catalog"`
	Revision     int               `json:"revision"`
	State        string            `json:"state"`
	Current      *int              `json:"current"`
	BasedOn      *int              `json:"based_on"`
	Note         string            `json:"note"`
	CreatedAt    time.Time         `json:"created_at"`
	CreatedBy    string            `json:"created_by"`
	Counts       partCountsJSON    `json:"counts"`
	Publications []publicationJSON `json:"publications"`
}

// partCountsJSON has the members of shop.Counts by their names.
type partCountsJSON struct {
	Dampers  int `json:"dampers"`
	Sleeves  int `json:"sleeves"`
	Spacers  int `json:"spacers"`
	Adapters int `json:"adapters"`
}

type publicationJSON struct {
	Action   string    `json:"action"`
	At       time.Time `json:"at"`
	By       string    `json:"by"`
	Replaced *int      `json:"replaced"`
}

func revisionOf(r *shop.Revision) revisionJSON {
	state := "draft"
	if r.Published {
		state = "published"
	}
	j := revisionJSON{
		Catalog: r.Catalog, Revision: r.Number, State: state, Current: numberOrNull(r.Current), BasedOn: numberOrNull(r.BasedOn),
		Note: r.Note, CreatedAt: r.Created.UTC(), CreatedBy: r.CreatedBy,
		Counts: partCountsJSON(r.Counts), Publications: []publicationJSON{},
	}
	for _, p := range r.Publications {
		j.Publications = append(j.Publications, publicationJSON{p.Action.String(), p.At.UTC(), p.By, numberOrNull(p.Replaced)})
	}
	return j
}

func numberOrNull(n int) *int {
	if n == 0 {
		return nil
	}
	return &n
}

// AppendRevision appends what is known of a revision as JSON.
func AppendRevision(dst []byte, r *shop.Revision) []byte {
	return appendJSON(dst, revisionOf(r))
}

// AppendRevisions appends a page of a catalogue's revisions as JSON; next is
// the cursor of the next page, "" on the last one.
func AppendRevisions(dst []byte, catalog string, list []shop.Revision, next string) []byte {
	page := struct {
		Catalog    string         `json:"catalog"`
		Items      []revisionJSON `json:"items"`
		NextCursor *string        `json:"next_cursor"`
	}{Catalog: catalog, Items: []revisionJSON{}}
	for i := range list {
		page.Items = append(page.Items, revisionOf(&list[i]))
	}
	if next != "" {
		page.NextCursor = &next
	}
	return appendJSON(dst, page)
}

// appendJSON appends a value whose parts can all be encoded, and a line end.
func appendJSON(dst []byte, value any) []byte {
	b := bytes.NewBuffer(dst)
	enc := json.NewEncoder(b)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(value); err != nil {
		panic(err) // texts, numbers and times of this era
	}
	return b.Bytes()
}
