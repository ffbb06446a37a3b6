//go:build browser

package widget_test

import (
	"context"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
)

// fullRequest is a request with most fields of both ends, in flat names.
const fullRequest = "units=in&reference=ticket 4411, rear axle&upper=stud&upper_measured_to=frame_face&upper_bushing_thickness=3/8&upper_washer_thickness=1/16" +
	"&upper_frame_hole=7/8&upper_frame_thickness=3/16&lower=eye&lower_bolt=M12&lower_opening=1 1/2&lower_plate=3/16&lower_washer=1/16&lower_shear=double&lower_grade=8.8" +
	"&readings_left=16 5/8&readings_right=16 11/16&reading_tolerance=1/16&suspension=solid_axle"

// encoded gives a query as a browser sends it.
func encoded(query string) string {
	values, err := url.ParseQuery(query)
	if err != nil {
		panic(err) // a test's own text
	}
	return values.Encode()
}

// printed gives the page as PDF on the paper that its style asks for, else on
// Letter.
func (t *tab) printed(name string) []byte {
	t.tb.Helper()
	ctx, cancel := context.WithTimeout(t.ctx, timeout)
	defer cancel()
	pdf, err := chromedp.Run(ctx, chromedp.PrintToPDF(chromedp.PDFPreferCSSPageSize()))
	if err != nil {
		t.tb.Fatal(err)
	}
	if folder := os.Getenv("MIDSTROKE_SHOTS"); folder != "" {
		if err := os.WriteFile(filepath.Join(folder, name+".pdf"), pdf, 0o644); err != nil {
			t.tb.Fatal(err)
		}
	}
	return pdf
}

var (
	pdfPage = regexp.MustCompile(`/Type\s*/Page\b[^s]`)
	pdfBox  = regexp.MustCompile(`/MediaBox\s*\[\s*0 0 ([\d.]+) ([\d.]+)`)
)

// pages counts a PDF's pages and gives their size in points.
func pages(tb testing.TB, pdf []byte) (n int, width, height float64) {
	tb.Helper()
	m := pdfBox.FindSubmatch(pdf)
	if m == nil {
		tb.Fatalf("no page in %d bytes of PDF", len(pdf))
	}
	width, _ = strconv.ParseFloat(string(m[1]), 64)
	height, _ = strconv.ParseFloat(string(m[2]), 64)
	return len(pdfPage.FindAll(pdf, -1)), width, height
}

// TestTheSheetIsOnePageAFit prints on both papers and in both languages. Sizes
// by ISO 216 and ANSI/ASME Y14.1, in points of 1/72 in.
func TestTheSheetIsOnePageAFit(t *testing.T) {
	t.Parallel()
	s := newService(t)
	p := newTab(t, desktop)
	for _, c := range []struct {
		query, paper  string
		pages         int
		width, height float64
	}{
		{"&rank=1&lang=en", "a4", 1, 595.28, 841.89},
		{"&rank=1&lang=es", "a4", 1, 595.28, 841.89},
		{"&rank=1&lang=en", "letter", 1, 612, 792},
		{"&rank=1&lang=es", "letter", 1, 612, 792},
		{"&top=3&lang=en", "letter", 3, 612, 792},
	} {
		p.open(s.URL + "/sheet?" + encoded(fullRequest) + c.query + "&paper=" + c.paper)
		p.until("q('.stages')")
		n, width, height := pages(t, p.printed("sheet"+c.query+c.paper))
		if n != c.pages {
			t.Errorf("%s on %s: %d pages, want %d", c.query, c.paper, n, c.pages)
		}
		if width < c.width-1 || width > c.width+1 || height < c.height-1 || height > c.height+1 {
			t.Errorf("%s is %g by %g points, want %g by %g", c.paper, width, height, c.width, c.height)
		}
	}
}

// TestTheSheetLeadsBack to the axle and the request that it came from.
func TestTheSheetLeadsBack(t *testing.T) {
	t.Parallel()
	s := newService(t)
	p := newTabAt(t, s.URL+"/")
	p.click("[data-go=example]")
	p.click("[aria-labelledby=rear] .row[data-code] summary")
	p.until("q('.row .folded a')")
	if !eval[bool](p, "all('.legend').length === 1 && q('.row[data-code] .figure small').textContent.startsWith('At worst') && q('.row-head').innerText.includes('At worst')") {
		t.Error("the figures and the bars have no names")
	}
	if off := eval[float64](p, "Math.abs(q('.row-head .line > :nth-child(2)').getBoundingClientRect().x - q('.row[data-code] .stroke').getBoundingClientRect().x)"); off > 1 {
		t.Errorf("the head of the bars is %g pixels beside them", off)
	}
	p.open(eval[string](p, "q('.row .folded a').href"))
	p.until("q('.stages')")
	back := eval[string](p, "q('.toolbar a').href")
	if !strings.Contains(back, "rear.upper=stud") || strings.Contains(back, "front.") || strings.Contains(back, ".top=") || strings.Contains(back, "axle=") {
		t.Errorf("it leads back to %s", back)
	}
}

// TestTheWidgetsAnswerPrints prints the shop's page: the parts are opened, the
// buttons left out, and two fits have room on a page.
func TestTheWidgetsAnswerPrints(t *testing.T) {
	t.Parallel()
	s := newService(t)
	p := newTab(t, phone)
	p.open(newShop(t, s, ""))
	p.walk(func(string) {})
	pdf := p.printed("widget")
	if closed := eval[int](p, "all('details:not([open])').length"); closed != 0 {
		t.Errorf("%d parts stay closed on paper", closed)
	}
	// What is asked, cautions and near misses take four pages.
	if n, _, _ := pages(t, pdf); n > 4+(eval[int](p, "all('.fit').length")+1)/2 {
		t.Errorf("%d pages", n)
	}
}

// TestTheCounterPrints prints both axles with what has been opened.
func TestTheCounterPrints(t *testing.T) {
	t.Parallel()
	s := newService(t)
	p := newTabAt(t, s.URL+"/#lang=en")
	p.click("[data-go=example]")
	p.until("seen('[aria-labelledby=rear] .row[data-code]')")
	p.click("[aria-labelledby=rear] .row[data-code] summary")
	pdf := p.printed("counter")
	if n, _, _ := pages(t, pdf); n > 4 {
		t.Errorf("%d pages", n)
	}
	p.do(chromedp.Func(func(ctx context.Context, target *chromedp.Target) error {
		_, err := cdp.Call(ctx, target, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Media: "print"})
		return err
	}))
	eval[bool](p, "(dispatchEvent(new Event('beforeprint')), true)")
	p.until("seen('.asked')")
	p.shot("counter_printed")
	paper := eval[string](p, "document.body.innerText")
	for _, part := range []string{"16\u00a05/8\u00a0in", "16\u00a011/16\u00a0in", "Solid axle", "Stud", "M12"} {
		if !strings.Contains(strings.ToLower(paper), strings.ToLower(part)) {
			t.Errorf("the paper lacks %q", part)
		}
	}
	for _, part := range []string{"Front axle", "Ctrl", "The arithmetic", "Alt 1", "M12\u00a0in"} {
		if strings.Contains(paper, part) {
			t.Errorf("on the paper stands %q", part)
		}
	}
	eval[bool](p, "(dispatchEvent(new Event('afterprint')), true)")
	if eval[bool](p, "Boolean(q('.asked'))") {
		t.Error("what was asked stays after the printing")
	}
}

// TestTheGuideIsOnePage: printed from a phone as from a desktop it has the drawing with its
// words beside it, and every step.
func TestTheGuideIsOnePage(t *testing.T) {
	t.Parallel()
	s := newService(t)
	for name, size := range map[string]screen{"phone": phone, "desktop": desktop} {
		p := newTab(t, size)
		for _, query := range []string{"lang=en&paper=letter&upper=stud&lower=eye", "lang=es&paper=a4&upper=bar_pin&lower=bar_pin", "lang=es&paper=letter&upper=stud&lower=bar_pin"} {
			p.open(s.URL + "/sheet?guide=1&units=in&" + query)
			p.until("seen('.guide-steps') && q('.drawing.beside svg')")
			if !eval[bool](p, "all('details').every((part) => part.open) && all('.guide-steps').length === 2") {
				t.Errorf("%s: some steps are folded away", query)
			}
			if n, _, _ := pages(t, p.printed("guide_"+name+query)); n != 1 {
				t.Errorf("%s on a %s: %d pages", query, name, n)
			}
		}
	}
}

// TestTheGuideSaysWhatIsWrong with the pair of ends that a link asks for.
func TestTheGuideSaysWhatIsWrong(t *testing.T) {
	t.Parallel()
	s := newService(t)
	p := newTab(t, phone)
	for query, want := range map[string][]string{
		"upper=stud&lang=en":                    {"“Units” is missing", "“Lower end: How it is made”"},
		"units=in&upper=foo&lower=eye&lang=en":  {"“Upper end: How it is made”", `not "foo"`},
		"upper=stud&lower=eye&lang=es":          {"Falta “Unidades”"},
		"units=in&upper=fork&lower=eye&lang=en": {"A fork straddles"},
		"units=in&upper=eye&lower=fork&lang=es": {"Una horquilla"},
	} {
		p.open(s.URL + "/sheet?guide=1&" + query)
		p.until("seen('.guide .warning')")
		for _, words := range want {
			if said := p.text(".guide"); !strings.Contains(said, words) || strings.Contains(said, "be decided by measuring") {
				t.Errorf("%s: %q isn't in %q", query, words, said)
			}
		}
	}
	p.expected("422")
}

// drawn gives the words of the sheet's drawing that are seen: the size in pixels of the
// smallest, and the words that stick out of the drawing.
const drawn = `(() => {
	const shown = all('.stages').filter((one) => one.getClientRects().length > 0);
	const words = shown.flatMap((one) => [...one.querySelectorAll('text')]);
	const outside = words.filter((word) => {
		const [box, whole] = [word.getBoundingClientRect(), word.closest('svg').getBoundingClientRect()];
		return box.left < whole.left - 1 || box.right > whole.right + 1 || box.bottom > whole.bottom + 1;
	});
	return {Drawings: shown.length, Words: words.length, Outside: outside.map((word) => word.textContent), Scrolls: shown.some((one) => one.parentElement.scrollWidth > one.parentElement.clientWidth),
		Least: Math.min(...words.map((word) => parseFloat(getComputedStyle(word).fontSize) * word.getScreenCTM().a))};
})()`

// TestTheSheetIsLegibleOnEveryScreen: its drawing to scale has words of at least 11 pixels,
// which is common practice as the least on a screen, no source. All of it is seen without
// scrolling, in Spanish and millimetres too, whose words are the longest. A printed page
// has the drawing for paper from a phone as well. What a link lacks is told by its label, once.
func TestTheSheetIsLegibleOnEveryScreen(t *testing.T) {
	t.Parallel()
	s := newService(t)
	p := newTab(t, phone)
	p.open(s.URL + "/sheet?units=mm&upper=bar_pin&lower=eye&lower_bolt=M12&readings=420&suspension=solid_axle&rank=1&lang=es")
	p.until("q('.stages')")
	for _, size := range []screen{phone, {width: 710, height: 900}, tablet, {width: 1024, height: 768}, {width: 1280, height: 800}} {
		p.look(size)
		p.accessible()
		got := eval[struct {
			Drawings, Words int
			Outside         []string
			Scrolls         bool
			Least           float64
		}](p, drawn)
		// Three lengths with their names, and the travel each way.
		if got.Drawings != 1 || got.Words != 8 || len(got.Outside) > 0 || got.Scrolls || got.Least < 11 {
			t.Errorf("%d wide: %+v", size.width, got)
		}
		if wide := eval[int64](p, "document.documentElement.scrollWidth"); wide > int64(size.width) {
			t.Errorf("the page is %d wide on a screen of %d", wide, size.width)
		}
	}
	p.look(phone)
	p.do(chromedp.Func(func(ctx context.Context, target *chromedp.Target) error {
		_, err := cdp.Call(ctx, target, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Media: "print"})
		return err
	}))
	if got := eval[string](p, "all('.stages').filter((one) => one.getClientRects().length > 0).map((one) => one.getAttribute('class')).join()"); got != "stages broad" {
		t.Errorf("on paper stands the drawing %q", got)
	}
	// 8.6 points of 1/72 in, at 96 pixels an inch: the size at which the checks of a fit have room on one page.
	if got := eval[string](p, "getComputedStyle(document.body).fontSize"); got != "11.4667px" {
		t.Errorf("on paper, words are %s high", got)
	}
	p.look(phone)
	p.open(s.URL + "/sheet?upper=eye&lower=eye&lang=en")
	p.until("seen('main li')")
	if said := p.text("main ul"); !strings.Contains(said, "“Units” is missing") || strings.Contains(said, "units") {
		t.Errorf("it says %q", said)
	}
	p.expected("422")
}
