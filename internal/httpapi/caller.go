package httpapi

import (
	"context"
	"crypto/sha256"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"time"
	"unicode"

	"github.com/labstack/echo/v4"

	"midstroke/internal/note"
	"midstroke/internal/shop"
)

// caller is who asks, and what it may do.
type caller struct {
	key *shop.Key // nil without a key
	// use is the key's, or less where the key came in a query: addresses end
	// up in histories, logs and sheets that are passed on.
	use shop.Use
	// inQuery says that the key came in a query.
	inQuery bool
}

// callerName is where a request's caller is kept; requests without a key have
// none.
const callerName = "caller"

func callerOf(c echo.Context) caller {
	who, _ := c.Get(callerName).(caller)
	return who
}

// keyParameter is the parameter of the query that a key may come in.
const keyParameter = "key"

// admit finds out who asks. A request without a key is let through: what it
// may have is open to all.
func (h *Handler) admit(c echo.Context) error {
	r := c.Request()
	if !strings.HasPrefix(c.Path(), "/v1/") || r.Method == http.MethodOptions {
		return nil
	}
	text, inQuery, err := keyOf(r)
	if err != nil || text == "" {
		return err
	}
	if h.keys == nil || !h.keys.Known() {
		return newProblem(notReady, loadingKeys).with("Retry-After", "1")
	}
	key := h.keys.Find(text)
	if key == nil {
		key = h.lookUp(r.Context(), text)
	}
	now := time.Now()
	switch {
	case key == nil:
		return badKey(keyUnknown)
	case !key.Revoked.IsZero():
		return badKey(keyRevoked)
	case !key.Valid(now):
		return badKey(keyExpired)
	}
	if err := fromItsOrigin(c, key); err != nil {
		return err
	}
	who := caller{key: key, use: key.Use, inQuery: inQuery}
	if inQuery {
		who.use = shop.Widget
	}
	c.Set(callerName, who)
	h.keys.Used(key, now)
	return nil
}

// keyLookups is how many unknown keys are looked up in a second, so that whoever
// guesses keys can't keep the database busy.
const keyLookups = 20

// lookUpTime is how long that may take.
const lookUpTime = 500 * time.Millisecond

// lookUp asks where the truth is kept for a key that isn't known here, since it
// may have been made this moment. It gives nil where there is none, or where
// nobody can tell.
func (h *Handler) lookUp(ctx context.Context, text string) *shop.Key {
	if h.findKey == nil || !shop.IsKey(text) || !h.lookups.Allow() {
		return nil
	}
	ctx, cancel := context.WithTimeout(ctx, lookUpTime)
	defer cancel()
	key, err := h.findKey(ctx, sha256.Sum256([]byte(text)))
	if err != nil {
		h.log.Warn("a key that isn't known could not be looked up", "error", err)
		return nil
	}
	if key != nil {
		h.keys.Add(*key)
	}
	return key
}

// challenge is the WWW-Authenticate field of an answer that wants a key (RFC
// 6750 section 3).
const challenge = `Bearer realm="midstroke"`

func badKey(d detail) *problem {
	return newProblem(keyRefused, d).with("WWW-Authenticate", challenge+`, error="invalid_token"`)
}

// keyOf finds the key of a request, "" where it has none.
func keyOf(r *http.Request) (text string, inQuery bool, err error) {
	if fields := r.Header.Values("Authorization"); len(fields) > 0 {
		scheme, rest, _ := strings.Cut(strings.TrimSpace(fields[0]), " ")
		if text = strings.TrimSpace(rest); !strings.EqualFold(scheme, "Bearer") || text == "" || len(fields) > 1 {
			return "", false, badKey(keySpelling)
		}
	}
	if strings.Contains(r.URL.RawQuery, keyParameter) {
		// A query that can't be taken apart is refused by whoever reads it.
		if values, err := url.ParseQuery(r.URL.RawQuery); err == nil {
			switch given := values[keyParameter]; {
			case len(given) == 0 || len(given) == 1 && given[0] == "":
			case len(given) > 1 || text != "":
				return "", false, badKey(keyTwice)
			default:
				return given[0], true, nil
			}
		}
	}
	return text, false, nil
}

// fromItsOrigin holds a key against the page that uses it, and lets that page
// read the answer. Origins keep a widget's key from being used on other
// people's pages; a program can name any origin it likes.
func fromItsOrigin(c echo.Context, key *shop.Key) error {
	origin, header := c.Request().Header.Get("Origin"), c.Response().Header()
	if origin != "" {
		header.Del("Access-Control-Allow-Origin")
	}
	if key.Use != shop.Widget {
		// No page is to hold such a key, so none is let read the answer.
		return nil
	}
	if !slices.Contains(key.Origins, origin) {
		if origin == "" {
			return newProblem(forbidden, originNeeded)
		}
		return newProblem(forbidden, otherOrigin, note.Word("origin", shortened(origin)))
	}
	header.Set("Access-Control-Allow-Origin", origin)
	return nil
}

// shortened makes what a caller sent fit to stand in a line of text.
func shortened(text string) string {
	const most = 100
	if len(text) > most {
		text = text[:most]
	}
	return strings.Map(func(r rune) rune {
		if !unicode.IsPrint(r) {
			return unicode.ReplacementChar
		}
		return r
	}, text)
}

// needs lets only callers through whose key is for that use or more.
func needs(use shop.Use, handle echo.HandlerFunc) echo.HandlerFunc {
	without, other := needsServerKey, serverKeyNot
	if use == shop.Admin {
		without, other = needsAdminKey, adminKeyNot
	}
	return func(c echo.Context) error {
		who := callerOf(c)
		switch {
		case who.key != nil && who.use.Includes(use):
			r := c.Request()
			c.SetRequest(r.WithContext(shop.WithKey(r.Context(), who.key.Hash)))
			return handle(c)
		case who.key == nil:
			return newProblem(keyNeeded, without).with("WWW-Authenticate", challenge)
		case who.key.Use.Includes(use):
			return newProblem(forbidden, queryKeyReads)
		}
		return newProblem(forbidden, other, note.Word("use", who.key.Use.String()))
	}
}
