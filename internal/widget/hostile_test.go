//go:build browser

package widget_test

import (
	"encoding/json"
	"fmt"
	"html"
	"maps"
	"net/url"
	"os"
	"slices"
	"strings"
	"testing"

	"midstroke/internal/catalog"
	"midstroke/internal/httpapi"
	"midstroke/testdata/demo"
)

// hostile are texts that would run, or leave their place, if they were taken for
// markup.
var hostile = []string{
	`<img src=x onerror="window.ran=1">`, `"><script>window.ran=1</script>`, `'-alert(1)-'`, `{{constructor.constructor('window.ran=1')()}}`,
	"\u202e\u0000\ufeff", `javascript:window.ran=1`, `</style><script>window.ran=1</script>`, strings.Repeat("W", 200),
}

// hostileCatalog is the demo with hostile words in every text of it.
func hostileCatalog() catalog.Contents {
	contents := demo.Contents()
	contents.Dampers = slices.Clone(contents.Dampers)
	for i := range contents.Dampers {
		contents.Dampers[i].Description = hostile[i%len(hostile)]
		if i%2 == 0 {
			contents.Dampers[i].Code = fmt.Sprintf(`<b onclick=window.ran=1>%d</b>"'&`, i)
		}
	}
	return contents
}

// untouched fails where a hostile text ran, or made an element.
func (t *tab) untouched() {
	t.tb.Helper()
	if eval[bool](t, "window.ran !== undefined || all('img, b[onclick], script:not([src])').length > 0 || document.querySelectorAll('[onerror], [onclick]').length > 0") {
		t.tb.Error("hostile words became part of the page")
	}
	t.whole()
}

func TestHostileWords(t *testing.T) {
	t.Parallel()
	s := newServiceOn(t, hostileCatalog(), func(*httpapi.Config) {})
	t.Run("in the catalogue and in attributes", func(t *testing.T) {
		t.Parallel()
		for _, words := range hostile[:3] {
			e := html.EscapeString(words)
			p := newTab(t, phone)
			p.open(newShop(t, s, `units="in" lang="en" theme="`+e+`" reference="`+e+`" suspension="solid_axle" upper="eye" lower="eye" preset="readings_left=17 5/16&amp;nothing=`+e+`"`))
			p.through()
			p.until("seen('.fit')")
			p.untouched()
			p.click("[data-go=choose]")
			p.untouched()
			p.shot("hostile")
			p.askForMore()
			p.untouched()
		}
	})
	t.Run("in every field", func(t *testing.T) {
		t.Parallel()
		p := newTab(t, phone)
		for _, words := range hostile {
			state := "units=in&rear.upper=eye&rear.lower=eye&rear.suspension=solid_axle&rear.readings_left=17 5/16"
			for _, name := range []string{"reference", "upper_bolt", "lower_opening", "readings_right", "travel_reserve", "limits_max_price", "codes", "lean_deg", "catalog"} {
				state += "&rear." + name + "=" + strings.NewReplacer("%", "%25", "&", "%26", "+", "%2B", "#", "%23", ";", "%3B").Replace(words)
			}
			p.open("about:blank")
			p.open(s.URL + "/#" + encoded(state))
			p.until("seen('.axle')")
			p.click(inAxle("rear", "[data-go=ask]"))
			p.until("q('[aria-labelledby=rear] .status').textContent !== ''")
			p.untouched()
		}
		p.expected("Failed to load resource")
	})
	t.Run("on the sheet", func(t *testing.T) {
		t.Parallel()
		p := newTab(t, phone)
		p.open(s.URL + "/sheet?" + encoded("units=in&upper=eye&lower=eye&suspension=solid_axle&readings=17 5/16&rank=1&lang=en&paper="+strings.ReplaceAll(hostile[0], ";", "")+"&reference="+hostile[1]))
		p.until("q('.stages')")
		p.untouched()
	})
	t.Run("in a drawing", func(t *testing.T) {
		t.Parallel()
		p := newTab(t, desktop)
		p.exposes("rebuild", "render")
		got := eval[string](p, "(render(rebuild("+jsonOf(t, `<svg xmlns="http://www.w3.org/2000/svg" xmlns:x="http://www.w3.org/1999/xhtml" viewBox="0 0 9 9" onload="window.ran=1" width="9">
			<title>a title</title><script>window.ran=1</script><style>*{display:none}</style><a href="javascript:window.ran=1"><text>link</text></a>
			<foreignObject><x:img src="x" onerror="window.ran=1"/></foreignObject><image href="https://other.example/x.png"/><use href="#y"/>
			<path d="M0 0" onclick="window.ran=1" style="color:red" fill="url(https://other.example/#x)" stroke="currentColor"/><text>&lt;b&gt;</text></svg>`)+"), document.body), document.body.innerHTML)")
		want := `<svg viewBox="0 0 9 9" role="img" aria-label="a title"><path d="M0 0" stroke="currentColor"></path><text>&lt;b&gt;</text></svg>`
		if got = strings.Join(strings.Fields(got), " "); strings.ReplaceAll(got, "> <", "><") != want {
			t.Errorf("rebuilt is\n%s\nwant\n%s", got, want)
		}
		if eval[bool](p, "window.ran !== undefined || rebuild('<p>no drawing</p>') !== null || rebuild('<svg') !== null") {
			t.Error("something ran, or what is no drawing was taken for one")
		}
	})
}

// TestNoFigureInAnyPlace writes a text that is no figure into every field of figures that
// the counter page has, each with what makes the page ask for it. Fields that the page asks
// for together are tried together. The fault stands beside each, and nothing is answered.
func TestNoFigureInAnyPlace(t *testing.T) {
	t.Parallel()
	s := newService(t)
	raw, err := os.ReadFile("src/requestfields.json")
	if err != nil {
		t.Fatal(err)
	}
	type condition struct {
		Name   string
		Values []string
	}
	var fields []struct {
		Name, Kind string
		When       []condition
	}
	if err := json.Unmarshal(raw, &fields); err != nil {
		t.Fatal(err)
	}
	needs := map[string][]condition{}
	for _, f := range fields {
		needs[f.Name] = f.When
	}
	together := map[string][]string{} // fields by what else the page is told
	for _, f := range fields {
		if !slices.Contains([]string{"length", "number", "amount", "bolt", "whole"}, f.Kind) {
			continue
		}
		said := url.Values{"units": {"in"}, "lang": {"en"}}
		for _, c := range []condition{{"upper", []string{"eye"}}, {"lower", []string{"eye"}}, {"suspension", []string{"solid_axle"}}, {"tape", []string{"vertical"}}, {"motion_ratio", []string{"0.9"}}} {
			said.Set("rear."+c.Name, c.Values[0])
		}
		for todo := f.When; len(todo) > 0; todo = todo[1:] {
			said.Set("rear."+todo[0].Name, todo[0].Values[0])
			todo = append(todo, needs[todo[0].Name]...)
		}
		for _, end := range []string{"upper", "lower"} {
			for name, plane := range map[string]string{"plate": "frame_far_face", "bar_offset": "seat_face", "stud_length": "stud_tip"} {
				if f.Name == end+"_"+name && said.Get("rear."+end) != "eye" {
					said.Set("rear."+end+"_measured_to", plane)
				}
			}
		}
		together[said.Encode()] = append(together[said.Encode()], f.Name)
	}
	p := newTab(t, desktop)
	checked, pages := 0, 0
	// try gives the names of those that the page doesn't show.
	try := func(state string, names ...string) (hidden []string) {
		said, err := url.ParseQuery(state)
		if err != nil {
			t.Fatal(err)
		}
		for _, name := range names {
			said.Set("rear."+name, "no figure")
		}
		p.open(s.URL + "/#" + said.Encode())
		pages++
		p.until("q('[aria-labelledby=rear] [data-key=units], [aria-labelledby=rear] [data-key=upper]')?.value === " + fmt.Sprintf("%q", said.Get("rear.upper")))
		eval[bool](p, "(q('[aria-labelledby=rear] form').requestSubmit(), true)")
		for _, name := range names {
			input := fmt.Sprintf("[aria-labelledby=rear] input[data-key=%q], [aria-labelledby=rear] input[data-key=%q]", name, name+"/0")
			if !eval[bool](p, fmt.Sprintf("Boolean(q(%q))", input)) {
				hidden = append(hidden, name)
				continue
			}
			if got := eval[string](p, fmt.Sprintf("q(%q).closest('.field').querySelector('.fault').textContent", input)); got == "" {
				t.Errorf("beside %s nothing tells that it is no figure", name)
			}
			checked++
		}
		if eval[bool](p, "seen('[aria-labelledby=rear] .row[data-code]')") {
			t.Errorf("it is answered though %s is no figure", names)
		}
		return hidden
	}
	for _, state := range slices.Sorted(maps.Keys(together)) {
		for _, name := range try(state, together[state]...) { // one hides another
			try(state, name)
		}
	}
	// Fields that only other pages have, and the coordinates of points, which have a test of their own, are left out.
	if t.Logf("%d fields on %d pages", checked, pages); checked < 100 {
		t.Errorf("only %d fields were tried", checked)
	}
	p.expected("422")
}

// TestNothingAtAll asks an empty catalogue.
func TestNothingAtAll(t *testing.T) {
	t.Parallel()
	s := newServiceOn(t, catalog.Contents{Currency: "USD"}, func(*httpapi.Config) {})
	p := newTab(t, phone)
	p.open(newShop(t, s, `units="in" preset="upper=eye&amp;lower=eye&amp;suspension=solid_axle&amp;readings_left=17 5/16"`))
	p.through()
	p.until("seen('[data-outcome=no_fit]')")
	if said := p.text(".reasons"); !strings.Contains(said, "would have to be") {
		t.Errorf("what is told is %q", said)
	}
	p.whole()
	p.accessible()
	p.shot("widget_nothing")
}

// TestOutsideTheMethod chooses a strut: the widget says at once what to do instead,
// and doesn't go on.
func TestOutsideTheMethod(t *testing.T) {
	t.Parallel()
	s := newService(t)
	p := newTab(t, phone)
	p.open(newShop(t, s, ""))
	p.click("[data-style=stud]")
	p.click("[data-style=spindle_strut]")
	p.until("seen('[data-step=lower] .warning')")
	if eval[bool](p, "seen('[data-go=next]') || seen('[data-step=measure]')") {
		t.Error("one can go on though the method doesn't serve")
	}
	p.accessible()
	p.whole()
	p.shot("widget_outside")
}
