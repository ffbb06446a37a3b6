//go:build browser

package widget_test

import (
	"bytes"
	"compress/gzip"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"

	"midstroke/internal/catalog"
	"midstroke/internal/httpapi"
	"midstroke/internal/library/librarytest"
	"midstroke/internal/postgres/pgtest"
	"midstroke/testdata/demo"
)

// browsers are the names of the browser that these tests drive, as Debian has them. The
// first is Chromium without its windows, which takes a third less of the processors' time.
var browsers = []string{"chromium-headless-shell", "chromium"}

// timeout is how long a page may take for one thing. It is long, for the machine
// may be busy.
const timeout = time.Minute

// browser is one process for all tests of the package; each test gets pages
// with storage of their own. It ends with TestMain.
var browser struct {
	sync.Once
	ctx  context.Context
	stop func()
	err  error
}

func TestMain(m *testing.M) {
	pgtest.Main(m, func() {
		if browser.stop != nil {
			browser.stop()
		}
	})
}

func startBrowser() {
	var path string
	for _, name := range browsers {
		if path, _ = exec.LookPath(name); path != "" {
			break
		}
	}
	if path == "" {
		browser.err = fmt.Errorf("the browser tests need one of %q on PATH", browsers)
		return
	}
	options := append(chromedp.DefaultExecAllocatorOptions[:],
		chromedp.ExecPath(path), chromedp.DisableGPU,
		// The browser must not go to the network for itself.
		chromedp.Flag("disable-component-update", true), chromedp.Flag("disable-domain-reliability", true),
		chromedp.Flag("lang", "en"),
		// With Chromium itself a test's page opens a window, and each window would start two
		// processes beside the page's: one for the address bar's suggestions and a spare one.
		// They take a quarter of all the processor's time. The first two names are chromedp's own.
		chromedp.Flag("disable-features", "Translate,BlinkGenPropertyTrees,SpareRendererForSitePerProcess,"+
			"WebUIOmniboxPopup,WebUIOmniboxAimPopup,WebUIOmniboxFullPopup"),
		// Neither root nor most containers can have the sandbox. The browser only
		// shows our own pages.
		chromedp.NoSandbox)
	allocator, stopAllocator := chromedp.NewExecAllocator(context.Background(), options...)
	ctx, stopBrowser := chromedp.NewContext(allocator)
	browser.ctx, browser.stop = ctx, func() { stopBrowser(); stopAllocator() }
	browser.err = chromedp.Do(ctx)
}

// tab is one page of the browser, the size of a screen.
type tab struct {
	tb  testing.TB
	ctx context.Context

	mu     sync.Mutex
	faults []string // exceptions and errors of the page's console
}

// A screen is how a page is looked at.
type screen struct {
	width, height int64
	dark, touch   bool
	// moving lets pages move by themselves, which keeps the processors busy. Other
	// screens ask for reduced motion.
	moving bool
}

var (
	phone   = screen{width: 320, height: 640, touch: true}
	tablet  = screen{width: 768, height: 1024}
	desktop = screen{width: 1440, height: 900}
)

// helpers are there on every page: q finds an element in the widget, or on the
// page where there is no widget.
const helpers = `
window.root = () => document.querySelector("midstroke-fit")?.shadowRoot ?? document;
window.q = (selector) => root().querySelector(selector) ?? document.querySelector(selector);
window.all = (selector) => [...root().querySelectorAll(selector)];
window.seen = (selector) => { const e = q(selector); return Boolean(e && e.getClientRects().length > 0); };
`

// newTab opens a page for a test. The test fails at its end if the page's console
// had an error that expected didn't take.
func newTab(tb testing.TB, s screen) *tab {
	tb.Helper()
	browser.Do(startBrowser)
	if browser.err != nil {
		tb.Fatal(browser.err)
	}
	t := &tab{tb: tb}
	ctx, stop := chromedp.NewContext(browser.ctx, chromedp.WithNewBrowserContext())
	t.ctx = ctx
	tb.Cleanup(func() {
		stop()
		t.mu.Lock()
		defer t.mu.Unlock()
		for _, fault := range t.faults {
			tb.Errorf("the page's console: %s", fault)
		}
	})
	t.do(chromedp.Func(func(ctx context.Context, target *chromedp.Target) error {
		_, err := cdp.Call(ctx, target, page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{Source: helpers})
		return err
	}))
	t.look(s)
	console := chromedp.Console(ctx)
	go func() {
		for message, err := range console {
			if err != nil {
				return
			}
			if message.Type == chromedp.ConsoleException || message.Type == chromedp.ConsoleError {
				t.mu.Lock()
				t.faults = append(t.faults, message.String())
				t.mu.Unlock()
			}
		}
	}()
	return t
}

// look gives the page another screen.
func (t *tab) look(s screen) {
	t.tb.Helper()
	scheme, motion := "light", "reduce"
	if s.dark {
		scheme = "dark"
	}
	if s.moving {
		motion = "no-preference"
	}
	t.do(chromedp.EmulateViewport(s.width, s.height, func(metrics *emulation.SetDeviceMetricsOverrideParams, touch *emulation.SetTouchEmulationEnabledParams) {
		metrics.Mobile = s.touch
		touch.Enabled = s.touch
	}))
	t.do(chromedp.Func(func(ctx context.Context, target *chromedp.Target) error {
		_, err := cdp.Call(ctx, target, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{
			Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}, {Name: "prefers-reduced-motion", Value: motion}},
		})
		return err
	}))
}

// expected takes away the console's errors that hold a text, for a test that
// causes them.
func (t *tab) expected(text string) {
	t.mu.Lock()
	defer t.mu.Unlock()
	kept := t.faults[:0]
	for _, fault := range t.faults {
		if !strings.Contains(fault, text) {
			kept = append(kept, fault)
		}
	}
	t.faults = kept
}

func (t *tab) do(steps ...chromedp.Action[chromedp.Void]) {
	t.tb.Helper()
	// The first use of a context must not end with a deadline of its own.
	if chromedp.FromContext(t.ctx).Target == nil {
		if err := chromedp.Do(t.ctx); err != nil {
			t.tb.Fatal(err)
		}
	}
	ctx, cancel := context.WithTimeout(t.ctx, timeout)
	defer cancel()
	if err := chromedp.Do(ctx, steps...); err != nil {
		t.tb.Fatal(err)
	}
}

// open goes to a page.
func (t *tab) open(url string) {
	t.tb.Helper()
	t.do(chromedp.Navigate(url))
}

// eval gives the value of an expression, awaited.
func eval[T any](t *tab, expression string) T {
	t.tb.Helper()
	ctx, cancel := context.WithTimeout(t.ctx, timeout)
	defer cancel()
	value, err := chromedp.Run(ctx, chromedp.Evaluate[T](expression, chromedp.EvalAwaitPromise))
	if err != nil {
		t.tb.Fatalf("%s: %v", expression, err)
	}
	return value
}

// until waits for an expression to hold. One that fails, as of an element that isn't
// there yet, doesn't hold yet.
func (t *tab) until(expression string) {
	t.tb.Helper()
	deadline := time.Now().Add(timeout)
	// To look costs the page time: the longer it takes, the less often.
	pause := 10 * time.Millisecond
	for !eval[bool](t, "(() => { try { return Boolean("+expression+"); } catch { return false; } })()") {
		if time.Now().After(deadline) {
			t.tb.Fatalf("never came true: %s\nthe page says: %s%s%.1500s", expression, t.text(".strip"), t.text(".quotes"), t.text("body"))
		}
		time.Sleep(pause)
		pause = min(2*pause, 80*time.Millisecond)
	}
}

// text gives what an element says.
func (t *tab) text(selector string) string {
	t.tb.Helper()
	return eval[string](t, fmt.Sprintf("%q === 'body' ? (root().querySelector('section')?.innerText ?? document.body.innerText) : q(%q)?.innerText ?? ''", selector, selector))
}

// click presses the mouse, or a finger, on the middle of an element.
func (t *tab) click(selector string) {
	t.tb.Helper()
	// What is still being loaded would move it.
	t.until(fmt.Sprintf("seen(%q) && !q('.guide > .quiet')", selector))
	at := eval[[]float64](t, fmt.Sprintf(`(() => {
		const e = q(%q);
		e.scrollIntoView({ block: "center", behavior: "instant" });
		const box = e.getBoundingClientRect();
		return [box.x + box.width / 2, box.y + box.height / 2];
	})()`, selector))
	t.do(chromedp.MouseClickXY(at[0], at[1]))
}

// press sends keys to whatever has the focus.
func (t *tab) press(keys string, options ...chromedp.KeyOption) {
	t.tb.Helper()
	t.do(chromedp.KeyEvent(keys, options...))
}

// write replaces what stands in a field by typing, or by pasting what is long.
func (t *tab) write(selector, text string) {
	t.tb.Helper()
	t.click(selector)
	eval[bool](t, fmt.Sprintf("(q(%q).select(), true)", selector))
	if text == "" {
		t.press("\b")
		return
	}
	if len(text) > 20 {
		t.do(chromedp.Func(func(ctx context.Context, target *chromedp.Target) error {
			_, err := cdp.Call(ctx, target, input.InsertText, input.InsertTextParams{Text: text})
			return err
		}))
		return
	}
	t.press(text)
}

// field selects the input of a request's field.
func field(name string) string { return fmt.Sprintf(`[data-key=%q]`, name) }

// fault is what stands beside a field.
func (t *tab) fault(name string) string {
	t.tb.Helper()
	return eval[string](t, fmt.Sprintf("q(%q)?.closest('.field')?.querySelector('.fault')?.textContent ?? '?'", field(name)))
}

var checker = sync.OnceValues(func() (string, error) {
	zipped, err := os.ReadFile("testdata/axe/axe.min.js.gz")
	if err != nil {
		return "", err
	}
	r, err := gzip.NewReader(bytes.NewReader(zipped))
	if err != nil {
		return "", err
	}
	script, err := io.ReadAll(r)
	return string(script), err
})

// accessible holds what is on the page to the rules of WCAG 2.2 A and AA and
// to axe-core's best practices. Contrast takes most of the time: it is checked on
// every screen, and in the midst of a task only by the long tests.
func (t *tab) accessible() {
	t.tb.Helper()
	t.passes(everyScreen)
}

// passes is accessible, with contrast or without.
func (t *tab) passes(contrast bool) {
	t.tb.Helper()
	script, err := checker()
	if err != nil {
		t.tb.Fatal(err)
	}
	ctx, cancel := context.WithTimeout(t.ctx, timeout)
	defer cancel()
	if _, err := chromedp.Run(ctx, chromedp.Evaluate[bool]("("+"() => { if (!globalThis.axe) { "+script+" } return true; })()")); err != nil {
		t.tb.Fatal(err)
	}
	found := eval[string](t, fmt.Sprintf(`axe.run(document, { resultTypes: ["violations"], rules: { "color-contrast": { enabled: %t } } }).then(({ violations }) =>
		JSON.stringify(violations.map((v) => ({ rule: v.id, help: v.help, places: v.nodes.length,
			at: v.nodes.slice(0, 4).map((n) => n.target.flat().join(" ") + ": " + n.failureSummary) })), null, 1))`, contrast))
	if found != "[]" {
		t.tb.Errorf("axe-core finds %s", found)
	}
}

// whole checks that nothing is cut off: the page doesn't scroll sideways, no
// text is wider than what holds it, and nothing sticks out of the page. What is
// scrolls in its own box isn't looked into. Nor may a page show people what is
// meant for software.
func (t *tab) whole() {
	t.tb.Helper()
	found := eval[[]string](t, `(() => {
		const wide = document.documentElement.clientWidth;
		const found = [];
		if (document.documentElement.scrollWidth > wide) found.push("the page is " + document.documentElement.scrollWidth + " wide on a screen of " + wide);
		for (const e of [...document.querySelectorAll("*"), ...(document.querySelector("midstroke-fit")?.shadowRoot.querySelectorAll("*") ?? [])]) {
			if (e.closest("svg, .unseen, .wide, pre, noscript, details:not([open])") || e.getClientRects().length === 0) continue;
			const box = e.getBoundingClientRect();
			const name = e.tagName + "." + e.className + " " + (e.textContent ?? "").slice(0, 40);
			if (box.right > wide + 1 || box.left < -1) found.push("sticks out: " + name);
			let place = e.parentElement;
			while (place && getComputedStyle(place).display === "contents") place = place.parentElement;
			if (e.tagName === "TABLE" && box.width > place.clientWidth - parseFloat(getComputedStyle(place).paddingLeft) - parseFloat(getComputedStyle(place).paddingRight) + 1) found.push("wider than its place: " + name);
			if (e.scrollWidth > e.clientWidth + 1 && e.clientWidth > 0 && getComputedStyle(e).overflowX !== "visible" && !e.matches("input, select")) found.push("cut: " + name);
		}
		const text = document.body.innerText + [...(document.querySelector("midstroke-fit")?.shadowRoot.querySelectorAll("section") ?? [])].map((e) => e.innerText);
		for (const m of text.match(/\bundefined\b|\bNaN\b|\[object|\b(?:counter|sheet)\.[a-z_]+|\{\w+\}/g) ?? []) if (!/\{\{/.test(text)) found.push("says " + m);
		return found;
	})()`)
	for _, what := range found {
		t.tb.Error(what)
	}
}

// shot keeps a picture of the whole page where MIDSTROKE_SHOTS names a folder
// for them, for a person to look at.
func (t *tab) shot(name string) {
	t.tb.Helper()
	folder := os.Getenv("MIDSTROKE_SHOTS")
	if folder == "" {
		return
	}
	ctx, cancel := context.WithTimeout(t.ctx, timeout)
	defer cancel()
	picture, err := chromedp.Run(ctx, chromedp.FullScreenshot(100))
	if err != nil {
		t.tb.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(folder, name+".png"), picture, 0o644); err != nil {
		t.tb.Fatal(err)
	}
}

// service is the real service on the demo catalogue. A test can put another
// handler in its place.
type service struct {
	*httptest.Server
	pass  http.HandlerFunc // the service itself
	mu    sync.Mutex
	other http.HandlerFunc // in the service's place, where it isn't nil
}

// demoService is the service on the demo catalogue, which takes a while to make.
var demoService = sync.OnceValues(func() (http.Handler, error) { return newHandler(demo.Contents(), func(*httpapi.Config) {}) })

func newHandler(contents catalog.Contents, more func(*httpapi.Config)) (http.Handler, error) {
	c := httpapi.Config{Library: librarytest.New(catalog.NewSnapshot("demo", 7, contents)).Library, Log: slog.New(slog.DiscardHandler)}
	more(&c)
	return httpapi.New(c)
}

// newService listens with the service on the demo catalogue, which tests share.
func newService(tb testing.TB) *service {
	tb.Helper()
	return listening(tb, demoService)
}

// newServiceOn starts the service on a catalogue, with more of its settings.
func newServiceOn(tb testing.TB, contents catalog.Contents, more func(*httpapi.Config)) *service {
	tb.Helper()
	return listening(tb, func() (http.Handler, error) { return newHandler(contents, more) })
}

func listening(tb testing.TB, made func() (http.Handler, error)) *service {
	tb.Helper()
	handler, err := made()
	if err != nil {
		tb.Fatal(err)
	}
	s := &service{pass: handler.ServeHTTP}
	s.Server = httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		s.mu.Lock()
		handle := s.other
		s.mu.Unlock()
		if handle == nil {
			handle = s.pass
		}
		handle(w, r)
	}))
	tb.Cleanup(s.Close)
	return s
}

// replace puts a handler in the service's place. nil puts the service back.
func (s *service) replace(handle http.HandlerFunc) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.other = handle
}

// gone breaks the connection, as a service does that isn't there.
func gone(http.ResponseWriter, *http.Request) { panic(http.ErrAbortHandler) }

// newShop serves the example shop from an origin of its own, on a service and
// with attributes of the widget in place of the example's.
func newShop(tb testing.TB, s *service, attributes string) string {
	tb.Helper()
	files := http.FileServer(http.Dir("../../deploy/example-shop"))
	shop := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.URL.Path != "/" {
			files.ServeHTTP(w, r)
			return
		}
		text, err := os.ReadFile("../../deploy/example-shop/index.html")
		if err != nil {
			http.Error(w, err.Error(), http.StatusInternalServerError)
			return
		}
		html := strings.ReplaceAll(string(text), "http://127.0.0.1:8080", s.URL)
		if attributes != "" {
			html = strings.ReplaceAll(html, `<midstroke-fit units="in" reference="example shop">`, "<midstroke-fit "+attributes+">")
		}
		w.Header().Set("Content-Type", "text/html; charset=utf-8")
		_, _ = io.WriteString(w, html)
	}))
	tb.Cleanup(shop.Close)
	return shop.URL + "/"
}

// newPage serves a page of a test's own from an origin of its own, under a
// Content-Security-Policy where one is given.
func newPage(tb testing.TB, html, policy string) string {
	tb.Helper()
	server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.URL.Path != "/" {
			w.WriteHeader(http.StatusNoContent)
			return
		}
		w.Header().Set("Content-Type", "text/html; charset=utf-8")
		if policy != "" {
			w.Header().Set("Content-Security-Policy", policy)
		}
		_, _ = io.WriteString(w, html)
	}))
	tb.Cleanup(server.Close)
	return server.URL + "/"
}

// confirm says that the cautions were read, without which nothing is chosen.
func (t *tab) confirm() {
	t.tb.Helper()
	t.click("[data-go=confirm]")
}

// listen keeps the events of the widget, for told.
func (t *tab) listen() {
	t.tb.Helper()
	eval[bool](t, `(window.fired = {}, ["midstroke:choose", "midstroke:answer"].forEach((name) => document.addEventListener(name, (e) => fired[name] = e.detail)), true)`)
}

// told gives the detail of the last event of a name.
func told[T any](t *tab, name string) T {
	t.tb.Helper()
	t.until(fmt.Sprintf("fired[%q] !== undefined", name))
	var value T
	if err := json.Unmarshal([]byte(eval[string](t, fmt.Sprintf("JSON.stringify(fired[%q])", name))), &value); err != nil {
		t.tb.Fatal(err)
	}
	return value
}
