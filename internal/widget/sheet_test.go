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
		p.until("seen('.stages')")
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
	p.until("seen('.stages')")
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
	p := newTabAt(t, s.URL+"/")
	p.click("[data-go=example]")
	p.until("seen('[aria-labelledby=rear] .row[data-code]')")
	p.click("[aria-labelledby=rear] .row[data-code] summary")
	pdf := p.printed("counter")
	if n, _, _ := pages(t, pdf); n > 4 {
		t.Errorf("%d pages", n)
	}
}
