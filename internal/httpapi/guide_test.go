package httpapi_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"midstroke/internal/mount"
)

type guideAnswer struct {
	Units, Language string
	Upper, Lower    struct {
		Style      string
		MeasuredTo *string `json:"measured_to"`
	}
	Steps []struct {
		Code, Text string
		Values     map[string]any
		Fields     []string
	}
	Cautions []struct{ Code, Text string }
	Outside  *struct {
		Text    string
		Reasons []struct{ Code, Text string }
	} `json:"outside_method"`
}

// TestGuideOfEveryPair asks for each pair of styles with each plane of the
// upper one, as JSON and as a drawing; the harness holds the answers against
// the contract.
func TestGuideOfEveryPair(t *testing.T) {
	s := newService(t)
	for _, upper := range mount.Styles.All() {
		style, _ := mount.Styles.Parse(upper)
		for _, lower := range mount.Styles.All() {
			for _, plane := range append([]mount.Plane{mount.StylesOwn}, style.Planes()...) {
				query := url.Values{"units": {"in"}, "upper": {upper}, "lower": {lower}}
				if plane != mount.StylesOwn {
					query.Set("upper_measured_to", plane.String())
				}
				target := "/v1/guide?" + query.Encode()
				g := decode[guideAnswer](t, s.get(t, target), http.StatusOK)
				lowerStyle, _ := mount.Styles.Parse(lower)
				outside := len(style.Planes()) == 0 || len(lowerStyle.Planes()) == 0
				if (g.Outside != nil) != outside || len(g.Steps) == 0 || len(g.Cautions) == 0 {
					t.Errorf("%s: %+v", target, g)
				}
				want := plane.Or(style).String()
				if got := g.Upper.MeasuredTo; (got == nil) != (want == "") || got != nil && *got != want {
					t.Errorf("%s is held to %v, want %q", target, got, want)
				}
				a := s.get(t, target+"&labels=numbered", "Accept", "image/svg+xml")
				if a.status != http.StatusOK || a.header.Get("Content-Type") != "image/svg+xml" || !strings.HasPrefix(string(a.body), "<svg ") {
					t.Errorf("%s as a drawing: %d %.80s", target, a.status, a.body)
				}
			}
		}
	}
}

func TestGuideInSpanish(t *testing.T) {
	s := newService(t)
	const target = "/v1/guide?units=mm&upper=stud&upper_measured_to=frame_face&lower=eye"
	a := s.get(t, target, "Accept-Language", "es-MX, es;q=0.9, en;q=0.5")
	g := decode[guideAnswer](t, a, http.StatusOK)
	if a.header.Get("Content-Language") != "es" || g.Language != "es" {
		t.Errorf("Content-Language %q, language %q", a.header.Get("Content-Language"), g.Language)
	}
	for _, step := range g.Steps {
		if step.Code == "guide_need_stack" && !strings.Contains(step.Text, "se suponen 12,7 mm") {
			t.Errorf("reads %q", step.Text)
		}
	}
	drawn := s.get(t, target, "Accept-Language", "es", "Accept", "image/svg+xml")
	if !strings.Contains(string(drawn.body), "cara del bastidor") {
		t.Errorf("the drawing isn't in Spanish: %.300s", drawn.body)
	}
}

// TestGuideLabels: words beside the parts unless numbers are asked for.
func TestGuideLabels(t *testing.T) {
	s := newService(t)
	const target = "/v1/guide?units=in&upper=stud&lower=eye"
	plain, beside, numbered := s.get(t, target, "Accept", "image/svg+xml"), s.get(t, target+"&labels=beside", "Accept", "image/svg+xml"),
		s.get(t, target+"&labels=numbered", "Accept", "image/svg+xml")
	if string(plain.body) != string(beside.body) || !strings.Contains(string(numbered.body), ">1</text>") || strings.Contains(string(plain.body), ">1</text>") {
		t.Errorf("the labels are\n%s\nand numbered\n%s", plain.body, numbered.body)
	}
}

// TestGuideFigures draws how single figures are measured, in either language, and
// leaves the steps as they are.
func TestGuideFigures(t *testing.T) {
	s := newService(t)
	const target = "/v1/guide?units=in&upper=stud&lower=eye"
	for figure, words := range map[string]string{
		"upper_stud_length": "tip of the stud", "lower_opening": "inside width", "motion_ratio": "B divided by A", "condition_arch_gap": "edge of the",
	} {
		drawn := s.get(t, target+"&figure="+figure, "Accept", "image/svg+xml")
		if drawn.status != http.StatusOK || !strings.Contains(string(drawn.body), words) {
			t.Errorf("%s: %d %.400s", figure, drawn.status, drawn.body)
		}
	}
	if drawn := s.get(t, target+"&figure=lean_deg&lang=es", "Accept", "image/svg+xml"); !strings.Contains(string(drawn.body), "vertical") {
		t.Errorf("the drawing isn't in Spanish: %.400s", drawn.body)
	}
	if plain, drawn := s.get(t, target), s.get(t, target+"&figure=lean_deg"); string(plain.body) != string(drawn.body) {
		t.Error("the steps are other ones with a figure")
	}
}

// TestGuideIsKeptByItsTag: the same question has the same answer, which needn't
// be sent twice; a drawing isn't taken for the steps.
func TestGuideIsKeptByItsTag(t *testing.T) {
	s := newService(t)
	const target = "/v1/guide?units=in&upper=stud&lower=eye"
	first := s.get(t, target)
	if a := s.get(t, target, "If-None-Match", first.header.Get("ETag")); a.status != http.StatusNotModified {
		t.Errorf("asked again: %d", a.status)
	}
	if a := s.get(t, target, "If-None-Match", first.header.Get("ETag"), "Accept", "image/svg+xml"); a.status != http.StatusOK {
		t.Errorf("asked for the drawing: %d", a.status)
	}
	if a := s.get(t, target, "Accept", "text/csv"); a.status != http.StatusNotAcceptable {
		t.Errorf("as CSV: %d", a.status)
	}
}

func TestGuideFaults(t *testing.T) {
	s := newService(t)
	for query, want := range map[string]map[string]string{
		"":                                     {"units": "missing", "upper": "missing", "lower": "missing"},
		"units=in&upper=stud&lower=":           {"lower": "missing"},
		"units=ft&upper=loop&lower=eye":        {"units": "not_allowed", "upper": "not_allowed"},
		"units=in&upper=eye&upper=eye&lower=a": {"upper": "duplicate_field", "lower": "not_allowed"},
		"units=in&upper=eye&upper_measured_to=stud_tip&lower=fork&lower_measured_to=bolt_centre": {
			"upper_measured_to": "wrong_plane", "lower_measured_to": "wrong_plane",
		},
		"units=in&upper=eye&lower=eye&lower_measured_to=%3Cscript%3E": {"lower_measured_to": "not_allowed"},
		"units=in&upper=eye&lower=eye&labels=none":                    {"labels": "not_allowed"},
		"units=in&upper=eye&lower=eye&figure=width":                   {"figure": "not_allowed"},
		"units=in&upper=eye&lower=fork&figure=upper_stud_length":      {"figure": "not_of_this_style"},
		"units=in&upper=eye&lower=fork&figure=lower_opening":          {"figure": "not_of_this_style"},
		"units=in&upper=eye&lower=eye&colour=red":                     {"colour": "unknown_field"},
	} {
		p := refused(t, s.get(t, "/v1/guide?"+query), http.StatusUnprocessableEntity)
		got := map[string]string{}
		for _, e := range p.Errors {
			if _, twice := got[e.Parameter]; twice {
				t.Errorf("%s: %s is told of twice", query, e.Parameter)
			}
			got[e.Parameter] = e.Code
		}
		for name, code := range want {
			if got[name] != code {
				t.Errorf("%s: %s has the code %q, want %q", query, name, got[name], code)
			}
		}
		if len(got) != len(want) {
			t.Errorf("%s: %v, want %v", query, got, want)
		}
	}
	if a := s.get(t, "/v1/guide?errors=text"); a.status != http.StatusOK || !strings.HasPrefix(string(a.body), "error: ") {
		t.Errorf("errors=text: %d %q", a.status, a.body)
	}
}
