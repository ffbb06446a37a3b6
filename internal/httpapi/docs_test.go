package httpapi_test

import (
	"html"
	"regexp"
	"strings"
	"testing"

	"midstroke/internal/catalog"
	"midstroke/internal/mount"
	"midstroke/internal/note"
	"midstroke/internal/table"
	"midstroke/internal/unit"
)

// Elements that load something name where from.
var loads = regexp.MustCompile(`(?:src|href|url)\s*[=:(]\s*['"]?([^'")\s>]+)`)

func TestPagesLoadNothingFromElsewhere(t *testing.T) {
	s := newService(t)
	for _, target := range []string{"/", "/sheet", "/batch", "/docs", "/docs/catalogue", "/docs/problems", "/docs/codes"} {
		a := s.get(t, target)
		for _, m := range loads.FindAllStringSubmatch(string(a.body), -1) {
			if where := m[1]; !strings.HasPrefix(where, "/") && !strings.HasPrefix(where, "data:") && !strings.HasPrefix(where, "#") {
				t.Errorf("%s loads %s", target, where)
			}
		}
		if strings.HasPrefix(a.header.Get("Content-Type"), "text/html") {
			csp := a.header.Get("Content-Security-Policy")
			if !strings.HasPrefix(csp, "default-src 'none'") || strings.Contains(csp, "unsafe-eval") || strings.Contains(csp, "http") {
				t.Errorf("%s has the policy %q", target, csp)
			}
		}
	}
}

func TestLinksOfThePagesLeadSomewhere(t *testing.T) {
	s := newService(t)
	link := regexp.MustCompile(`href="(/[^"]*)"`)
	for _, target := range []string{"/", "/sheet", "/batch", "/docs", "/docs/catalogue", "/docs/problems", "/docs/codes"} {
		for _, m := range link.FindAllStringSubmatch(string(s.get(t, target).body), -1) {
			if a := s.get(t, strings.ReplaceAll(m[1], "&amp;", "&")); a.status != 200 {
				t.Errorf("%s links to %s, which is answered by %d", target, m[1], a.status)
			}
		}
	}
}

func TestEveryProblemTypeLeadsToItsMeaning(t *testing.T) {
	s := newService(t)
	for _, lang := range note.Languages() {
		a := s.get(t, "/docs/problems", "Accept-Language", lang)
		page := string(a.body)
		p := refused(t, s.post(t, "/v1/fits", "{}", "Accept-Language", lang), 422)
		_, anchor, _ := strings.Cut(p.Type, "#")
		if !strings.Contains(page, `<dt id="`+anchor+`">`) || !strings.Contains(page, html.EscapeString(p.Title)) {
			t.Errorf("the page in %s has no place for %s, %s", lang, p.Type, p.Title)
		}
		if n := strings.Count(page, "<dt id="); n != 26 {
			t.Errorf("the page in %s explains %d problems, want 26", lang, n)
		}
		if got := a.header.Get("Content-Language"); got != lang || !strings.Contains(page, `<html lang="`+lang+`">`) {
			t.Errorf("asked for %s, the page comes in %q", lang, got)
		}
	}
}

// TestEveryCodeIsListed: the page has every code of the message files, with its
// words in every language, whatever language the page itself is in.
func TestEveryCodeIsListed(t *testing.T) {
	s := newService(t)
	for _, lang := range note.Languages() {
		page := html.UnescapeString(string(s.get(t, "/docs/codes", "Accept-Language", lang).body))
		for _, e := range note.Entries() {
			for _, of := range note.Languages() {
				if want := `<dd lang="` + of + `">` + e.Words(of) + "</dd>"; !strings.Contains(page, want) {
					t.Errorf("the page in %s lacks %s %s in %s", lang, e.Section, e.Code, of)
				}
			}
		}
		// A code that an answer has, and where links to it lead.
		for _, want := range []string{`<dt id="cautions.support_vehicle"><code>support_vehicle</code>`, `<dt id="faults.out_of_range"><code>out_of_range</code>`, `<h2 id="problems">`} {
			if !strings.Contains(page, want) {
				t.Errorf("the page in %s lacks %s", lang, want)
			}
		}
		if strings.Contains(page, `<h2 id=""`) || strings.Contains(page, "></h2>") {
			t.Errorf("a section of the page in %s has no title", lang)
		}
	}
}

// TestTheReferenceIsWhole: the page has every operation, parameter, schema and
// answer of the contract, every link within it leads somewhere, and no script is
// needed.
func TestTheReferenceIsWhole(t *testing.T) {
	s := newService(t)
	page := string(s.get(t, "/docs").body)
	for path, item := range s.doc.Paths.Map() {
		for method, op := range item.Operations() {
			if !strings.Contains(page, `<h3 id="`+op.OperationID+`"><code>`+method+" "+path+"</code></h3>") {
				t.Errorf("%s %s isn't there", method, path)
			}
			for _, p := range op.Parameters {
				if !strings.Contains(page, "<code>"+p.Value.Name+"</code>") {
					t.Errorf("%s %s: the parameter %s isn't there", method, path, p.Value.Name)
				}
			}
		}
	}
	for name := range s.doc.Components.Schemas {
		if !strings.Contains(page, `<h3 id="schema-`+name+`">`) {
			t.Errorf("the schema %s isn't there", name)
		}
	}
	// The file for both axles of a vehicle keeps its lines.
	if !strings.Contains(page, "suspension\nvan 12,front,in,eye,eye,13 1/2,13 9/16,independent\nvan 12,rear,in,stud,") {
		t.Error("a block of code has lost its lines")
	}
	for _, m := range regexp.MustCompile(`href="#([^"]*)"`).FindAllStringSubmatch(page, -1) {
		if !strings.Contains(page, `id="`+m[1]+`"`) {
			t.Errorf("a link leads to #%s, which isn't there", m[1])
		}
	}
	if strings.Contains(page, "<script") {
		t.Error("the page has a script")
	}
}

// TestThePageOfTheFilesHasEveryColumn: the page names each column of each file and
// says what it is for and what its cells hold, in each language.
func TestThePageOfTheFilesHasEveryColumn(t *testing.T) {
	s := newService(t)
	for _, lang := range note.Languages() {
		a := s.get(t, "/docs/catalogue", "Accept-Language", lang)
		page := html.UnescapeString(string(a.body))
		if got := a.header.Get("Content-Language"); got != lang || !strings.Contains(page, `<html lang="`+lang+`">`) {
			t.Errorf("asked for %s, the page comes in %q", lang, got)
		}
		for _, sheet := range table.Sheets(lang) {
			for _, c := range sheet.Columns {
				if !strings.Contains(page, "<code>"+c.Header+"</code>") || !strings.Contains(page, "<td>"+c.Description+"</td><td>"+c.Cells+"</td>") {
					t.Errorf("%s: %s of %s isn't there, or isn't explained", lang, c.Header, sheet.File())
				}
			}
		}
	}
	// Some of them, as they are to be read. The terms are those of note/testdata/spanish.csv.
	spanish := html.UnescapeString(string(s.get(t, "/docs/catalogue?lang=es").body))
	for _, want := range []string{
		"<h1>Los archivos de un catálogo</h1>",
		"<td>diámetro del cuerpo</td><td>una longitud con su unidad, como 438\u00a0mm o 17\u00a01/4\u00a0in;",
		"<td>cómo está construido</td><td>una de: twin_tube (bitubo), monotube (monotubo)</td>",
		"<td>diámetro interior del buje; del extremo superior, si su tipo es eye (ojo)</td>",
		"<td>rosca de la espiga; del extremo del amortiguador al que se acopla, si su tipo es stud (espiga)</td>",
	} {
		if !strings.Contains(spanish, want) {
			t.Errorf("the page in Spanish lacks %q", want)
		}
	}
}

// TestThePageOfTheFilesTellsTheLimits: what the page says of a row is what the check of
// a file lets pass and refuses.
func TestThePageOfTheFilesTellsTheLimits(t *testing.T) {
	service := newService(t)
	page := html.UnescapeString(string(service.get(t, "/docs/catalogue").body))
	spanish := html.UnescapeString(string(service.get(t, "/docs/catalogue?lang=es").body))
	sound := func(change func(*catalog.Damper)) catalog.Damper {
		eye := mount.End{Style: mount.Eye, Bore: 16 * unit.Millimetre}
		d := catalog.Damper{
			Code: "a", Construction: catalog.Monotube, Compressed: 300 * unit.Millimetre, Extended: 450 * unit.Millimetre,
			BodyDiameter: 50 * unit.Millimetre, Upper: eye, Lower: eye, Price: mount.NoPrice,
		}
		change(&d)
		return d
	}
	for _, c := range []struct {
		says, inSpanish string
		within, above   func(*catalog.Damper)
	}{
		{
			"A code has 1 to 64 characters",
			"Un código tiene de 1 a 64 caracteres",
			func(d *catalog.Damper) { d.Code = strings.Repeat("a", 64) },
			func(d *catalog.Damper) { d.Code = strings.Repeat("a", 65) },
		},
		{
			"A description has at most 1,000",
			"Una descripción tiene como mucho 1.000",
			func(d *catalog.Damper) { d.Description = strings.Repeat("a", 1000) },
			func(d *catalog.Damper) { d.Description = strings.Repeat("a", 1001) },
		},
		{
			"A price is at most 10,000,000",
			"precio es como mucho 10.000.000",
			func(d *catalog.Damper) { d.Price = 10_000_000_00 },
			func(d *catalog.Damper) { d.Price = 10_000_000_01 },
		},
		{
			// Twice 300 mm less 8 mm and 8 mm, by hand.
			"at most twice <code>compressed</code> less half the bore of each end",
			"como mucho dos veces <code>compressed</code> menos la mitad del diámetro",
			func(d *catalog.Damper) { d.Extended = 584 * unit.Millimetre },
			func(d *catalog.Damper) { d.Extended = 584*unit.Millimetre + 1 },
		},
		{
			"Twice <code>length_tolerance</code> is less than the stroke",
			"Dos veces <code>length_tolerance</code> es menos",
			func(d *catalog.Damper) { d.LengthTolerance = 75*unit.Millimetre - 1 },
			func(d *catalog.Damper) { d.LengthTolerance = 75 * unit.Millimetre },
		},
		{
			"<code>body_diameter</code> is less than <code>compressed</code>",
			"<code>body_diameter</code> es menos que <code>compressed</code>",
			func(d *catalog.Damper) { d.BodyDiameter = 300*unit.Millimetre - 1 },
			func(d *catalog.Damper) { d.BodyDiameter = 300 * unit.Millimetre },
		},
		{
			"6 mm at least",
			"6 mm como mínimo",
			func(d *catalog.Damper) { d.Upper.Bore = 6 * unit.Millimetre },
			func(d *catalog.Damper) { d.Upper.Bore = 6*unit.Millimetre - 1 },
		},
	} {
		if !strings.Contains(page, c.says) || !strings.Contains(spanish, c.inSpanish) {
			t.Errorf("the page doesn't say %q, or in Spanish %q", c.says, c.inSpanish)
		}
		within, above := sound(c.within), sound(c.above)
		if faults := within.Faults(); len(faults) > 0 {
			t.Errorf("%q: within it there is %v", c.says, faults)
		}
		if len(above.Faults()) == 0 {
			t.Errorf("%q: nothing is wrong beyond it", c.says)
		}
	}
}
