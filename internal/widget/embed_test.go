//go:build browser

package widget_test

import (
	"encoding/json"
	"fmt"
	"net/http"
	"slices"
	"strings"
	"testing"
	"time"

	"midstroke/internal/catalog"
	"midstroke/internal/httpapi"
	"midstroke/internal/library/librarytest"
	"midstroke/internal/shop"
	"midstroke/testdata/demo"
)

// TestAKeysOrigins lets pages of the origin that is listed with a key read its
// answers and no other's, and revokes the key while the page is open.
func TestAKeysOrigins(t *testing.T) {
	t.Parallel()
	text, key := shop.NewKey(shop.Widget)
	key.ID, key.ShopID, key.Shop, key.Catalog = 1, 1, "north", "north"
	ring := new(shop.Keyring)
	catalogs := librarytest.New(catalog.NewSnapshot("demo", 7, demo.Contents()), catalog.NewSnapshot("north", 3, demo.Contents()))
	s := newServiceOn(t, demo.Contents(), func(c *httpapi.Config) { c.Keys, c.Library = ring, catalogs.Library })
	attributes := `key="` + text + `" units="in" preset="upper=eye&amp;lower=eye&amp;suspension=solid_axle&amp;readings_left=17 5/16"`
	listed, other := newShop(t, s, attributes), newShop(t, s, attributes)
	key.Origins = []string{strings.TrimSuffix(listed, "/")}
	ring.Replace([]shop.Key{key})

	p := newTab(t, phone)
	p.open(listed)
	p.through()
	p.until("seen('.fit')")
	if said := p.text("body"); !strings.Contains(said, "north, revision 3") {
		t.Error("the answer isn't from the shop's own catalogue")
	}
	if eval[bool](p, "seen('.fit a')") {
		t.Error("a shop's answer links to a sheet, which knows no key")
	}
	key.Revoked = time.Now()
	ring.Replace([]shop.Key{key})
	p.click("[data-change=movement]")
	p.click("[data-go=next]")
	p.until("q('.message').textContent.includes('key')")
	if eval[string](p, "q('.step').dataset.step") != "movement" {
		t.Error("what was typed is gone from sight")
	}
	p.expected("401")

	key.Revoked = time.Time{}
	ring.Replace([]shop.Key{key})
	p = newTab(t, phone)
	p.open(other)
	p.through()
	p.until("q('.message').textContent.includes('reached')")
	if eval[bool](p, "seen('.fit')") {
		t.Error("a page of another origin read the answer")
	}
	p.expected("CORS")
	p.expected("Failed to load resource")
}

// TestTooManyQuestions has the widget wait as long as the service says.
func TestTooManyQuestions(t *testing.T) {
	t.Parallel()
	s := newService(t)
	p := newTab(t, phone)
	s.replace(func(w http.ResponseWriter, r *http.Request) {
		if r.URL.Path != "/v1/fits" {
			s.pass(w, r)
			return
		}
		s.replace(nil)
		h := w.Header()
		h.Set("Access-Control-Allow-Origin", "*")
		h.Set("Access-Control-Expose-Headers", "Retry-After")
		h.Set("Retry-After", "1")
		w.WriteHeader(http.StatusTooManyRequests)
	})
	p.open(newShop(t, s, `units="in" preset="upper=eye&amp;lower=eye&amp;suspension=solid_axle&amp;readings_left=17 5/16"`))
	p.through()
	p.until("q('.message').textContent.includes('1 s')")
	p.until("seen('.fit')")
	p.expected("429")
}

// TestReadyInOneRoundTrip loads nothing but the script for the first question
// with its drawings.
func TestReadyInOneRoundTrip(t *testing.T) {
	t.Parallel()
	s := newService(t)
	p := newTab(t, phone)
	p.open(newShop(t, s, `units="in"`))
	p.until("seen('[data-style=stud] svg')")
	loaded := eval[[]string](p, fmt.Sprintf("performance.getEntriesByType('resource').map((e) => e.name).filter((name) => name.startsWith(%q))", s.URL))
	if want := []string{s.URL + "/widget/midstroke.js"}; !slices.Equal(loaded, want) {
		t.Errorf("loaded before the first question is %q, want %q", loaded, want)
	}
}

// TestTwoWidgetsAreTwoConversations puts two widgets on one page.
func TestTwoWidgetsAreTwoConversations(t *testing.T) {
	t.Parallel()
	s := newService(t)
	p := newTab(t, desktop)
	page := newPage(t, `<!doctype html><html lang="en"><title>two</title><script defer src="`+s.URL+`/widget/midstroke.js"></script>
		<div style="display:flex"><midstroke-fit units="in"></midstroke-fit></div><midstroke-fit units="in"></midstroke-fit>`, "")
	p.open(page)
	p.until("seen('[data-style=eye]')")
	if wide := eval[float64](p, "document.querySelector('midstroke-fit').getBoundingClientRect().width"); wide < 300 {
		t.Errorf("in a row of boxes it is %g wide", wide)
	}
	p.click("[data-style=eye]")
	p.open(page)
	p.until("seen('[data-step=lower]')")
	if step := eval[string](p, "document.querySelectorAll('midstroke-fit')[1].shadowRoot.querySelector('.step').dataset.step"); step != "upper" {
		t.Errorf("the other one is at %s", step)
	}
}

// TestAPagesOwnStyle checks that the page's font, direction and spacing don't
// change the widget's.
func TestAPagesOwnStyle(t *testing.T) {
	t.Parallel()
	s := newService(t)
	p := newTab(t, phone)
	p.open(newPage(t, `<!doctype html><html lang="en" style="font-size: 62.5%"><title>a page</title><script defer src="`+s.URL+`/widget/midstroke.js"></script>
		<div style="direction: rtl; letter-spacing: 1em; white-space: nowrap; text-transform: uppercase; word-spacing: 3em"><midstroke-fit units="in"></midstroke-fit></div>`, ""))
	p.until("seen('.tile')")
	got := eval[[]string](p, "(() => { const is = getComputedStyle(q('.tile b')); return [is.direction, is.letterSpacing, is.whiteSpace, is.textTransform, is.wordSpacing, is.fontSize]; })()")
	if want := []string{"ltr", "normal", "normal", "none", "0px", "16px"}; !slices.Equal(got, want) {
		t.Errorf("it has %q, want %q", got, want)
	}
	p.whole()
}

// TestTheVersionedScript loads the widget by its version and integrity, and by an
// older version.
func TestTheVersionedScript(t *testing.T) {
	t.Parallel()
	s := newService(t)
	var manifest map[string]string
	if response, err := http.Get(s.URL + "/widget/manifest.json"); err != nil {
		t.Fatal(err)
	} else if err := json.NewDecoder(response.Body).Decode(&manifest); err != nil {
		t.Fatal(err)
	}
	for name, c := range map[string]struct {
		attributes string
		works      bool
	}{
		"this version":                       {fmt.Sprintf(`src="%s%s" integrity="%s" crossorigin="anonymous"`, s.URL, manifest["script"], manifest["integrity"]), true},
		"another version":                    {fmt.Sprintf(`src="%s/widget/v/00000000000000000000000000000000/midstroke.js"`, s.URL), true},
		"another version with its integrity": {fmt.Sprintf(`src="%s/widget/v/0/midstroke.js" integrity="sha384-%s" crossorigin="anonymous"`, s.URL, strings.Repeat("A", 64)), false},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			page := newPage(t, `<title>a page</title><script defer `+c.attributes+`></script><midstroke-fit lang="en"></midstroke-fit>`, "")
			p := newTabAt(t, page)
			// Deferred scripts have run, or been refused, before the page counts as loaded.
			p.until("document.readyState === 'complete'")
			if got := eval[bool](p, "Boolean(customElements.get('midstroke-fit'))"); got != c.works {
				t.Errorf("the widget is there: %t, want %t", got, c.works)
			}
			p.expected("integrity")
		})
	}
}

// TestAStrictPolicy shows the widget on a page that allows the service's script
// and answers and nothing else, trusted types included.
func TestAStrictPolicy(t *testing.T) {
	t.Parallel()
	s := newService(t)
	policy := "default-src 'none'; script-src " + s.URL + "; connect-src " + s.URL + "; require-trusted-types-for 'script'; trusted-types 'none'"
	p := newTabAt(t, newPage(t, `<!doctype html><html lang="en"><title>a page</title><script defer src="`+s.URL+`/widget/midstroke.js"></script><midstroke-fit units="in"></midstroke-fit>`, policy))
	p.walk(func(string) {})
	if eval[bool](p, "getComputedStyle(q('.card')).display !== 'grid'") {
		t.Error("the widget has no style under the policy")
	}
	// The policy forbids parsing, so the drawing is left out.
	p.expected("TrustedHTML")
}
