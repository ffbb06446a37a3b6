// Package shop says who asks: a shop, by one of its keys, and what that key
// lets its holder do. It knows neither HTTP nor a database; both sides of the
// service speak of shops in its terms.
package shop

import (
	"crypto/rand"
	"crypto/sha256"
	"encoding/base32"
	"errors"
	"fmt"
	"midstroke/internal/enum"
	"net/url"
	"slices"
	"strings"
	"time"
)

// Use is what a key is for.
type Use uint8

// The uses.
const (
	// Widget asks for fits and reads, from the pages of its origins alone.
	Widget Use = iota + 1
	// Server asks from anywhere, and reads revisions as well.
	Server
	// Admin changes the catalogue as well.
	Admin
)

// Uses names the uses.
var Uses = enum.Names[Use]{Widget: "widget", Server: "server", Admin: "admin"}

// String gives the use's name.
func (u Use) String() string {
	if int(u) < len(Uses) {
		return Uses[u]
	}
	return ""
}

// uses lists what a key of each use may be used for.
var uses = map[Use][]Use{
	Widget: {Widget},
	Server: {Widget, Server},
	Admin:  {Widget, Server, Admin},
}

// Includes says whether a key of this use may do what another use may.
func (u Use) Includes(other Use) bool { return slices.Contains(uses[u], other) }

// Key is what is known of a key. The key itself is known to its holder alone.
type Key struct {
	ID     int64
	ShopID int64
	Shop   string
	// Catalog is the shop's own catalogue where a request names none: the one
	// that it made first. "" where it has none.
	Catalog string
	Use     Use
	// Prefix is the visible part, by which people talk about the key.
	Prefix string
	// Hash is the SHA-256 of the whole key.
	Hash [sha256.Size]byte
	// Origins are those whose pages may use a widget's key.
	Origins []string
	// KeepsQuotes says that a widget's key may keep quotes, as every other key may.
	KeepsQuotes bool

	// Zero times stand for never.
	Created, Expires, Revoked, LastUsed time.Time
}

// Valid says whether the key still opens anything at a moment.
func (k *Key) Valid(now time.Time) bool {
	return k.Revoked.IsZero() && (k.Expires.IsZero() || now.Before(k.Expires))
}

// MayKeepQuotes says whether the key may keep quotes, where it is used as use says.
func (k *Key) MayKeepQuotes(use Use) bool {
	return use.Includes(Server) || k.Use == Widget && k.KeepsQuotes
}

// A key reads midstroke_USE_PREFIX_SECRET: where one is found lying about, it
// says what it is and what it opens.
const (
	keyMark = "midstroke"
	// 40 bits to talk about it by, and 160 that only its holder knows.
	prefixBytes = 5
	secretBytes = 20
)

// Letters and digits alone, lower case, none that is taken for another.
var keyText = base32.NewEncoding("0123456789abcdefghjkmnpqrstvwxyz").WithPadding(base32.NoPadding)

// NewKey makes up a key for a use and gives the text that its holder is shown,
// once. Shop, Origins and Expires are the caller's to fill in.
func NewKey(use Use) (text string, k Key) {
	var raw [prefixBytes + secretBytes]byte
	_, _ = rand.Read(raw[:]) // never fails: crypto/rand ends the process before
	k.Use, k.Prefix = use, keyText.EncodeToString(raw[:prefixBytes])
	text = strings.Join([]string{keyMark, use.String(), k.Prefix, keyText.EncodeToString(raw[prefixBytes:])}, "_")
	k.Hash = sha256.Sum256([]byte(text))
	return text, k
}

// IsKey says whether a text has the form of a key, so that it is worth looking
// up.
func IsKey(text string) bool {
	parts := strings.Split(text, "_")
	if len(parts) != 4 || parts[0] != keyMark {
		return false
	}
	_, isUse := Uses.Parse(parts[1])
	return isUse && len(parts[2]) == keyText.EncodedLen(prefixBytes) && len(parts[3]) == keyText.EncodedLen(secretBytes)
}

// PrefixOf gives the prefix that is meant by what a person typed or pasted: a
// prefix, or a whole key.
func PrefixOf(text string) string {
	text = strings.TrimSpace(text)
	if parts := strings.Split(text, "_"); len(parts) >= 3 && parts[0] == keyMark {
		return parts[2]
	}
	return text
}

var errOrigin = errors.New("a web origin is a scheme, a host and, where it isn't the usual one, a port, as in https://shop.example:8443")

// ParseOrigin reads a web origin as RFC 6454 section 6.2 writes it, and gives
// it as browsers send it.
func ParseOrigin(text string) (string, error) {
	u, err := url.Parse(strings.ToLower(strings.TrimSpace(text)))
	if err != nil || (u.Scheme != "http" && u.Scheme != "https") || u.Hostname() == "" || u.User != nil ||
		strings.Trim(u.Path, "/") != "" || u.RawQuery != "" || u.Fragment != "" || strings.Contains(u.Host, "*") {
		return "", fmt.Errorf("%q: %w", text, errOrigin)
	}
	host := u.Host
	if port := u.Port(); port == "80" && u.Scheme == "http" || port == "443" && u.Scheme == "https" {
		host = strings.TrimSuffix(host, ":"+port)
	}
	return u.Scheme + "://" + host, nil
}
