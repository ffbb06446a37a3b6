package httpapi

import (
	"bytes"
	"encoding/base64"
	"encoding/json"
	"errors"
	"strconv"

	"github.com/cespare/xxhash/v2"
)

// cursor is a place in a list: after the part of a code, and after the value of
// that part where the list is sorted by one. So it stays good when a newer
// revision of the catalogue takes over between two pages: no part that is the
// same in both is left out or given twice.
type cursor struct {
	List     string `json:"list"`
	Catalog  string `json:"catalog"`
	Revision int    `json:"revision"` // that the page before came from
	Filter   string `json:"filter"`   // of what was asked for
	After    string `json:"after"`
	Value    int64  `json:"value,omitempty"`   // that the list is sorted by
	Unknown  bool   `json:"unknown,omitempty"` // that the part has no such value
}

// mostCursor bounds the cursors that are looked at.
const mostCursor = 1024

// String writes the cursor for a caller, who needs not look into it.
func (c cursor) String() string {
	raw, err := json.Marshal(c)
	if err != nil {
		panic(err) // texts and a number can always be written
	}
	return base64.RawURLEncoding.EncodeToString(raw)
}

var errForeignCursor = errors.New("not a cursor of this service")

// parseCursor reads what String wrote.
func parseCursor(text string) (cursor, error) {
	if len(text) > mostCursor {
		return cursor{}, errForeignCursor
	}
	raw, err := base64.RawURLEncoding.Strict().DecodeString(text)
	if err != nil {
		return cursor{}, errForeignCursor
	}
	var c cursor
	dec := json.NewDecoder(bytes.NewReader(raw))
	dec.DisallowUnknownFields()
	if err := dec.Decode(&c); err != nil || c.String() != text || c.After == "" {
		return cursor{}, errForeignCursor
	}
	return c, nil
}

// filterSum tells one set of filters from another.
func filterSum(canonical string) string {
	return strconv.FormatUint(xxhash.Sum64String(canonical), 36)
}
