package shop_test

import (
	"crypto/sha256"
	"slices"
	"strings"
	"testing"
	"time"

	"midstroke/internal/shop"
)

func TestAKeyIsLongRandomAndFoundByItsHash(t *testing.T) {
	seen := map[string]bool{}
	for range 200 {
		text, k := shop.NewKey(shop.Server)
		parts := strings.Split(text, "_")
		// 128 bits at the least take 26 characters of 5 bits.
		if len(parts) != 4 || parts[1] != "server" || parts[2] != k.Prefix || len(parts[3]) < 26 || seen[text] || seen[k.Prefix] {
			t.Fatalf("%q with prefix %q", text, k.Prefix)
		}
		seen[text], seen[k.Prefix] = true, true
		if k.Hash != sha256.Sum256([]byte(text)) {
			t.Fatal("the hash isn't the key's SHA-256")
		}
		if shop.PrefixOf(text+"\n") != k.Prefix || shop.PrefixOf(k.Prefix) != k.Prefix {
			t.Fatalf("%q isn't recognised by what people type", k.Prefix)
		}
	}
}

func TestKeyring(t *testing.T) {
	var ring shop.Keyring
	text, k := shop.NewKey(shop.Widget)
	k.ID = 7
	if ring.Known() || ring.Find(text) != nil {
		t.Error("an empty keyring knows a key")
	}
	ring.Replace([]shop.Key{k})
	found := ring.Find(text)
	if found == nil || found.ID != 7 || ring.Find(text+"0") != nil || ring.Find("") != nil {
		t.Fatalf("found %+v", found)
	}
	now := time.Now()
	for range 3 {
		ring.Used(found, now)
	}
	if used := ring.TakeUsed(); len(used) != 1 || !used[7].Equal(now) {
		t.Errorf("used %v", used)
	}
	ring.Used(found, now.Add(time.Second))
	if used := ring.TakeUsed(); len(used) != 0 {
		t.Errorf("written down again after a second: %v", used)
	}
	ring.Replace([]shop.Key{k}) // as at every look at the database
	ring.Used(ring.Find(text), now.Add(2*time.Second))
	if used := ring.TakeUsed(); len(used) != 0 {
		t.Errorf("written down again since the keys were read anew: %v", used)
	}
	ring.Used(found, now.Add(time.Minute))
	used := ring.TakeUsed()
	if len(used) != 1 {
		t.Errorf("not written down after a minute: %v", used)
	}
	ring.PutBack(used) // for it could not be written down
	ring.Used(found, now.Add(2*time.Minute))
	ring.PutBack(used)
	if used := ring.TakeUsed(); !used[7].Equal(now.Add(2 * time.Minute)) {
		t.Errorf("the last use is told as %v", used)
	}
	ring.Replace(nil)
	if ring.Find(text) != nil {
		t.Error("a key that is gone is found")
	}
}

// The contract's list of what each use may do.
func TestUsesIncludeOthers(t *testing.T) {
	for use, want := range map[shop.Use][]shop.Use{
		shop.Widget: {shop.Widget},
		shop.Server: {shop.Widget, shop.Server},
		shop.Admin:  {shop.Widget, shop.Server, shop.Admin},
		shop.Use(0): {},
	} {
		for _, other := range []shop.Use{shop.Widget, shop.Server, shop.Admin} {
			if got := use.Includes(other); got != slices.Contains(want, other) {
				t.Errorf("%v includes %v: %v", use, other, got)
			}
		}
	}
}

func TestValidity(t *testing.T) {
	now := time.Now()
	for name, c := range map[string]struct {
		key  shop.Key
		want bool
	}{
		"for ever":      {shop.Key{}, true},
		"for a while":   {shop.Key{Expires: now.Add(1)}, true},
		"up to now":     {shop.Key{Expires: now}, false},
		"revoked":       {shop.Key{Revoked: now.Add(-1)}, false},
		"revoked early": {shop.Key{Revoked: now, Expires: now.Add(time.Hour)}, false},
	} {
		if got := c.key.Valid(now); got != c.want {
			t.Errorf("%s: valid %v", name, got)
		}
	}
}

func TestOrigins(t *testing.T) {
	for text, want := range map[string]string{
		"https://Shop.Example":      "https://shop.example",
		"https://shop.example:443/": "https://shop.example",
		"http://localhost:3000":     "http://localhost:3000",
		"http://[::1]:80":           "http://[::1]",
		"shop.example":              "",
		"https://*.example":         "",
		"https://shop.example/page": "",
		"https://a:b@shop.example":  "",
		"ftp://shop.example":        "",
		"null":                      "",
	} {
		got, err := shop.ParseOrigin(text)
		if got != want || (err == nil) != (want != "") {
			t.Errorf("%q is %q, %v; want %q", text, got, err, want)
		}
	}
}

func TestUses(t *testing.T) {
	for _, use := range []shop.Use{shop.Widget, shop.Server, shop.Admin} {
		if got, ok := shop.Uses.Parse(use.String()); !ok || got != use {
			t.Errorf("%v is read as %v", use, got)
		}
	}
	for _, name := range []string{"", "root"} {
		if _, ok := shop.Uses.Parse(name); ok {
			t.Errorf("%q is a use", name)
		}
	}
}
