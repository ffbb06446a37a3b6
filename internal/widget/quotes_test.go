//go:build browser

package widget_test

import (
	"fmt"
	"net/http"
	"net/http/httptest"
	"slices"
	"strings"
	"sync/atomic"
	"testing"

	"midstroke/internal/catalog"
	"midstroke/internal/shop"
	"midstroke/testdata/demo"
)

// bothAxles is a page at the counter with a front axle of eyes and a rear axle of a stud
// over an eye.
const bothAxles = "units=in&lang=en&front.upper=eye&front.lower=eye&front.suspension=solid_axle&front.readings_left=17 5/16" +
	"&rear.upper=stud&rear.lower=eye&rear.lower_bolt=M12&rear.suspension=solid_axle&rear.readings_left=16 5/8&rear.readings_right=16 11/16"

// enterKey gives the page the shop's key.
func (t *tab) enterKey(key string) {
	t.tb.Helper()
	t.click("[data-go=enter_key]")
	t.write("#shop-key", key)
	t.click("[data-go=use_key]")
}

// atShop opens the page with the shop's key, and waits for the answers.
func (s *shopService) atShop(tb testing.TB, state string) *tab {
	tb.Helper()
	p := newTabAt(tb, s.URL+"/#"+encoded(state))
	const answered = "all('.axle').every((axle) => !axle.querySelector('[data-key=upper]').value || axle.querySelector('.row[data-code]'))"
	p.until(answered) // it would move what is clicked
	p.enterKey(s.key)
	p.until("seen('.keep') && all('.row[data-code]').length > 0 && " + answered)
	return p
}

// chooseFirst chooses an axle's best fit, and gives its code.
func (t *tab) chooseFirst(axle string) string {
	t.tb.Helper()
	const best = ".row[data-code]"
	t.until(fmt.Sprintf("seen(%q)", inAxle(axle, best+" [data-go=choose]")))
	code := eval[string](t, fmt.Sprintf("q(%q).dataset.code", inAxle(axle, best)))
	places := fmt.Sprintf("JSON.stringify(all(%q).map((e) => [e.offsetLeft, e.offsetWidth]))", inAxle(axle, best+" :is(.line > *, .choose button)"))
	before := eval[string](t, places)
	t.click(inAxle(axle, best+" [data-go=choose]"))
	t.until(fmt.Sprintf("q('.to-keep').innerText.includes(%q)", code))
	if after := eval[string](t, places); after != before {
		t.tb.Errorf("a choice moves the figures beside it from %s to %s", before, after)
	}
	return code
}

// TestAQuoteAtTheCounter keeps both axles in one quote, finds it by reference, code,
// state and day, opens it on an empty page, orders it and marks it as fitted.
func TestAQuoteAtTheCounter(t *testing.T) {
	t.Parallel()
	s := newShopService(t)
	p := s.atShop(t, bothAxles)
	front, rear := p.chooseFirst("front"), p.chooseFirst("rear")
	s.stock(t, fmt.Sprintf("code,location,quantity\n%s,main,5\n%s,van,3\n", front, rear))
	p.write("#quote-reference", "ticket 4411")
	p.write("#quote-remark", "call back")
	p.write("#quantity-rear", "3")
	p.click("[data-go=keep]")
	p.until("seen('.opened[data-state=kept]') && document.activeElement.id === 'opened-quote'")
	if got := p.text(".keep .outcome"); !strings.Contains(got, "ticket 4411") {
		t.Errorf("keeping is told as %q", got)
	}
	for _, part := range []string{"ticket 4411", "call back", "2 × " + front, "3 × " + rear, "Nothing has changed", "corner, revision 1"} {
		p.until(fmt.Sprintf("q('.opened').innerText.includes(%q)", part))
	}
	if n := s.count(t); n != 1 {
		t.Fatalf("%d quotes are kept", n)
	}
	p.shot("quote_kept")
	// What became of it is told in whatever language the page has.
	p.choose(".top [data-key=language]", "es")
	p.until("q('.keep .outcome').textContent.includes('está guardado') && q('.opened').innerText.includes('No ha cambiado nada')")
	// Both axles' answers come anew, and move what is below them while they do.
	p.until("document.body.innerText.match(/sirve con holgura/g)?.length === 2")
	p.click("[data-go=find_quotes]")
	p.until("q('.finder .outcome').textContent.includes('en la lista')")
	p.choose(".top [data-key=language]", "en")
	p.until("q('.keep .outcome').textContent.includes('is kept') && q('.finder .outcome').textContent.includes('shown')")

	// Elsewhere, later: the page knows nothing but the key, and the address of a link.
	again := s.atShop(t, "units=mm&lang=en&rear.upper=eye&rear.lower=eye&rear.suspension=solid_axle&rear.readings_left=440")
	day := eval[string](again, "new Date().toISOString().slice(0, 10)")
	for _, c := range []struct{ field, text, found string }{
		{"#quote-find-reference", "4411", "1"}, {"#quote-find-reference", "4412", "0"}, {"#quote-find-code", rear, "1"}, {"#quote-find-code", "nothing", "0"},
		{"#quote-find-from", day, "1"}, {"#quote-find-from", "2999-01-01", "0"}, {"#quote-find-to", "2020-01-01", "0"},
	} {
		eval[bool](again, fmt.Sprintf(`(() => { for (const e of all(".finder input")) set(e, ""); set(q(%q), %q); return true;
			function set(e, text) { e.value = text; e.dispatchEvent(new Event("input", { bubbles: true })); } })()`, c.field, c.text))
		again.click("[data-go=find_quotes]")
		again.until(fmt.Sprintf("all('.found li').length === %s && !q('.finder .outcome').innerText.includes('Loading')", c.found))
	}
	eval[bool](again, `(() => { for (const e of all(".finder input")) { e.value = ""; e.dispatchEvent(new Event("input", { bubbles: true })); } return true; })()`)
	for n, state := range []string{"ordered", "kept"} { // none of the first, one of the second
		again.choose("#quote-find-state", state)
		again.click("[data-go=find_quotes]")
		again.until(fmt.Sprintf("all('.found li').length === %d && !q('.finder .outcome').innerText.includes('Loading')", n))
	}
	again.click("[data-go=open_quote]")
	again.until("seen('.opened[data-state=kept]')")
	again.click("[data-go=load_quote]")
	again.until("q('[aria-labelledby=front] [data-key=\"readings_left/0\"]')?.value === '17 5/16' && q('[aria-labelledby=rear] [data-key=upper]').value === 'stud'")
	again.until(fmt.Sprintf("q('.to-keep').innerText.includes(%q) && q('.to-keep').innerText.includes(%q)", front, rear))
	again.accessible()

	// An order takes three of the rear dampers and two of the front ones.
	again.write("#quote-by", "counter 2")
	again.click("[data-go=ordered]")
	again.until("seen('.opened[data-state=ordered]')")
	// The stock beside its parts is that of now: by hand, five less two, and three less three.
	again.until("q('.opened .pick').innerText.includes('main 3') && q('.opened .pick').innerText.includes('van 0')")
	if got := again.text(".history"); !strings.Contains(got, "counter 2") {
		t.Errorf("the history says %q", got)
	}
	left := ask[struct {
		Items []struct {
			Code     string
			Quantity int
		}
	}](t, s, "/v1/stock")
	for _, line := range left.Items {
		// By hand: five less two, and three less three.
		if want := map[string]int{front: 3, rear: 0}[line.Code]; line.Quantity != want {
			t.Errorf("of %s %d are left, want %d", line.Code, line.Quantity, want)
		}
	}
	// The first page still shows it as kept, and its change is refused.
	p.click("[data-go=cancelled]")
	p.click("[data-go=cancelled]")
	p.until("seen('.opened[data-state=ordered]') && q('.opened .outcome').innerText.includes('meanwhile')")
	p.expected("412")
	p.click("[data-go=fitted]")
	p.until("seen('.opened[data-state=fitted]') && !seen('.carry')")
	p.shot("quote_fitted")
	// A link to the page opens the quote again.
	link := eval[string](p, "location.href")
	p.open("about:blank")
	p.open(link)
	p.until("seen('.opened[data-state=fitted]')")
	p.click("[data-go=close_quote]")
	p.until("!seen('.opened h3')")
}

// TestAQuoteIsKeptOnce presses twice, loses answers, and loads the page anew in between.
func TestAQuoteIsKeptOnce(t *testing.T) {
	t.Parallel()
	s := newShopService(t)
	p := s.atShop(t, bothAxles)
	p.chooseFirst("rear")
	eval[bool](p, "(() => { const b = q('[data-go=keep]'); b.click(); b.click(); q('.keep').requestSubmit(); return true; })()")
	p.until("seen('.opened[data-state=kept]')")
	if n := s.count(t); n != 1 {
		t.Fatalf("pressed twice, %d quotes are kept", n)
	}
	// The service keeps it, and the answer is lost.
	var lost atomic.Int32
	loses := func(w http.ResponseWriter, r *http.Request) {
		if r.Method == http.MethodPost && r.URL.Path == "/v1/quotes" {
			lost.Add(1)
			s.pass(httptest.NewRecorder(), r)
			gone(w, r)
		}
		s.pass(w, r)
	}
	s.replace(loses)
	p.chooseFirst("front")
	p.click("[data-go=keep]")
	p.until("seen('[data-go=keep_again]') && q('.keep .outcome').innerText.includes('No answer')")
	p.accessible()
	p.shot("quote_unconfirmed")
	if n := s.count(t); n != 2 || lost.Load() == 0 {
		t.Fatalf("%d quotes are kept after %d lost answers", n, lost.Load())
	}
	s.replace(nil)
	p.open(eval[string](p, "location.href") + "&x=1")
	p.until("seen('[data-go=keep_again]')")
	p.click("[data-go=keep_again]")
	p.until("seen('.opened[data-state=kept]') && !seen('[data-go=keep_again]')")
	// It is sent again by itself.
	p.chooseFirst("front")
	s.replace(loses)
	p.click("[data-go=keep]")
	p.until("seen('[data-go=keep_again]')")
	s.replace(nil)
	p.until("!seen('[data-go=keep_again]') && q('.keep .outcome').innerText.includes('is kept')")
	if n := s.count(t); n != 3 {
		t.Errorf("%d quotes are kept, want 3", n)
	}
	p.expected("Failed to load resource")
}

// TestWhatHasChangedSince opens a quote after the catalogue and the stock have moved on.
func TestWhatHasChangedSince(t *testing.T) {
	t.Parallel()
	s := newShopService(t)
	p := s.atShop(t, bothAxles)
	code := p.chooseFirst("rear")
	s.stock(t, "code,location,quantity\n"+code+",main,1\n")
	p.click("[data-go=keep]")
	p.until("seen('.opened[data-state=kept]')")
	// One is on the shelf, and two are ordered.
	p.click("[data-go=ordered]")
	p.until("q('.opened .outcome.bad')?.innerText.includes('1')")
	p.expected("409")
	if !eval[bool](p, "seen('.opened[data-state=kept]')") {
		t.Error("it was ordered though there isn't enough")
	}
	p.shot("quote_short")
	contents := demo.Contents()
	contents.Dampers = slices.DeleteFunc(slices.Clone(contents.Dampers), func(d catalog.Damper) bool { return d.Code == code })
	s.publish(t, contents)
	p.until("q('.rows')") // the page itself needn't know
	p.click("[data-go=close_quote]")
	p.click("[data-go=find_quotes]")
	p.click("[data-go=open_quote]")
	p.until(fmt.Sprintf("q('.since')?.innerText.includes(%q) && q('.since').innerText.includes('revision 2')", code))
	p.accessible()
	p.shot("quote_since")
	p.click("[data-go=load_quote]")
	p.until(fmt.Sprintf("q('.keep').innerText.includes(%q)", code+" doesn't fit"))
	if !eval[bool](p, "q('[data-go=keep]').disabled") {
		t.Error("a damper that is gone can be kept")
	}
	p.click("[data-go=cancelled]")
	p.until("q('[data-go=cancelled]').innerText.includes('Really')")
	p.click("[data-go=cancelled]")
	p.until("seen('.opened[data-state=cancelled]')")
}

// TestStockBesideTheFits shows how many are where, and none without a key.
func TestStockBesideTheFits(t *testing.T) {
	t.Parallel()
	s := newShopService(t)
	p := s.atShop(t, bothAxles)
	codes := eval[[]string](p, "all('[aria-labelledby=rear] .row[data-code]').map((row) => row.dataset.code)")
	s.stock(t, fmt.Sprintf("code,location,quantity\n%s,main,5\n%s,van,1\n%s,main,0\n", codes[0], codes[0], codes[1]))
	p.write(inAxle("rear", field("readings_left/0")), "16 21/32")
	row := func(code string) string { return fmt.Sprintf("[aria-labelledby=rear] [data-code=%q] .stock", code) }
	p.until(fmt.Sprintf("q(%q)?.innerText.startsWith('5\u00a0main, 1\u00a0van')", row(codes[0])))
	if got := p.text(row(codes[1])); got != "not in stock" {
		t.Errorf("of what there is none of it says %q", got)
	}
	p.whole()
	without := newTabAt(t, s.URL+"/#"+encoded(bothAxles))
	without.until("all('.row[data-code] .stock').length > 0")
	if eval[bool](without, "all('.stock').some((e) => /main|van/.test(e.innerText)) || seen('[data-go=choose]')") {
		t.Error("without a key the shop's stock is told, or a fit can be chosen")
	}
}

// TestKeysAtTheCounter enters keys that are none, and those of widgets, which this page
// doesn't take.
func TestKeysAtTheCounter(t *testing.T) {
	t.Parallel()
	s := newShopService(t)
	p := newTabAt(t, s.URL+"/#"+encoded(bothAxles))
	p.until("all('.axle').every((axle) => axle.querySelector('.row[data-code]'))")
	p.click("[data-go=enter_key]")
	for _, words := range append([]string{"", "no key", "mk_ñandú", s.key + "x"}, hostile...) {
		p.write("#shop-key", words)
		p.click("[data-go=use_key]")
		p.until("q('#shop-key-fault').textContent !== ''")
		p.untouched()
	}
	p.expected("401")
	p.accessible()
	// A widget's key works on the pages that it names, and opens no quote.
	for _, keeps := range []bool{false, true} {
		p.write("#shop-key", s.newKey(t, shop.Key{Origins: []string{s.URL}, KeepsQuotes: keeps}, shop.Widget))
		p.click("[data-go=use_key]")
		p.until("q('#shop-key-fault').textContent.includes('Origin')")
	}
	p.shot("key_refused")
	p.expected("403")
	before := s.count(t)
	// It is remembered where that is wanted, and forgotten everywhere.
	one := s.atShop(t, bothAxles)
	one.open(s.URL + "/")
	one.until("seen('.keep')")
	one.click("[data-go=forget_key]")
	one.until("!seen('.keep') && seen('[data-go=enter_key]')")
	one.open(s.URL + "/#lang=en")
	one.until("seen('[data-go=enter_key]')")
	if n := s.count(t); n != before {
		t.Errorf("%d quotes were kept meanwhile", n-before)
	}
}

// TestEveryScreenOfTheQuotes looks at what is chosen, kept and found, on every screen
// and in both languages.
func TestEveryScreenOfTheQuotes(t *testing.T) {
	for _, language := range lookedAt() {
		t.Run(language, func(t *testing.T) {
			t.Parallel()
			s := newShopService(t)
			p := s.atShop(t, strings.Replace(bothAxles, "lang=en", "lang="+language, 1))
			rear := p.chooseFirst("rear")
			s.stock(t, "code,location,quantity\n"+rear+",main,5\n"+rear+",a very long name of a place,12\n")
			p.write(inAxle("rear", field("readings_left/0")), "16 21/32")
			p.until("q('[aria-labelledby=rear] .stock').innerText.includes('main')")
			p.onEach("quote_chosen", language)
			p.look(desktop)
			p.click("[data-go=keep]")
			p.until("seen('.since')")
			p.click("[data-go=find_quotes]")
			p.until("seen('.found')")
			p.click("[data-go=cancelled]")
			p.onEach("quote_opened", language)
		})
	}
}

// TestTheSheetOfAQuote prints a kept quote at its link, without a key, a page an axle.
func TestTheSheetOfAQuote(t *testing.T) {
	t.Parallel()
	s := newShopService(t)
	p := s.atShop(t, bothAxles)
	front, rear := p.chooseFirst("front"), p.chooseFirst("rear")
	p.write("#quote-reference", "ticket 4411")
	p.click("[data-go=keep]")
	p.until("seen('.sheet-link a')")
	link := eval[string](p, "q('.sheet-link a').href")
	if shown := eval[string](p, "q('.sheet-link input').value"); shown != link || !strings.HasPrefix(link, s.URL+"/sheet?quote=") {
		t.Fatalf("the link is %q, and shown is %q", link, shown)
	}
	// Somebody else's browser has no key.
	other := newTab(t, phone)
	for _, paper := range []string{"", "&paper=a4", "&paper=letter"} {
		other.open(link + paper)
		other.until("all('.page .stages.broad').length === 2")
		if n, _, _ := pages(t, other.printed("sheet_quote"+paper)); n != 2 {
			t.Errorf("%q is printed on %d pages, want 2", paper, n)
		}
	}
	text := other.text("main")
	for _, part := range []string{front, rear, "ticket 4411", "corner", "17 5/16", "16 5/8"} {
		if !strings.Contains(strings.ReplaceAll(text, "\u00a0", " "), part) {
			t.Errorf("the sheet doesn't say %q", part)
		}
	}
	for _, one := range screens {
		other.look(one.screen)
		other.whole()
		other.shot("sheet_quote_" + one.name)
	}
	other.accessible()
	for _, link := range []string{strings.Repeat("0", 40), "", "<img src=x onerror=window.ran=1>"} {
		other.open(s.URL + "/sheet?lang=en&quote=" + encoded("x=" + strings.ReplaceAll(link, ";", ""))[2:])
		other.until("document.querySelector('main .page')")
		other.untouched()
		if got := other.text("main"); !strings.Contains(got, "isn't known or has expired") && link != "" {
			t.Errorf("%q: it says %q", link, got)
		}
	}
	other.expected("404")
	other.expected("422")
}
