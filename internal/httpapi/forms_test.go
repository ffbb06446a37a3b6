package httpapi_test

import (
	"encoding/csv"
	"fmt"
	"net/http"
	"slices"
	"strings"
	"testing"
)

// flatEyeToEye asks by GET what eyeToEye asks by POST.
const flatEyeToEye = "/v1/fits?units=in&readings=17+5/16&upper=eye&lower=eye&suspension=solid_axle"

func TestFormsOfAnAnswer(t *testing.T) {
	s := newService(t)
	type best struct {
		Fits []struct{ Damper struct{ Code string } }
	}
	code := decode[best](t, s.get(t, flatEyeToEye), 200).Fits[0].Damper.Code

	for name, a := range map[string]*answer{
		"by Accept":        s.get(t, flatEyeToEye, "Accept", "text/csv"),
		"by format":        s.get(t, flatEyeToEye+"&format=csv", "Accept", "application/json"),
		"by format, POST":  s.post(t, "/v1/fits?format=csv", eyeToEye),
		"by weight":        s.get(t, flatEyeToEye, "Accept", "application/json;q=0.5, text/csv"),
		"by Accept's kind": s.get(t, flatEyeToEye, "Accept", "text/*"),
	} {
		rows, err := csv.NewReader(strings.NewReader(string(a.body))).ReadAll()
		if err != nil || a.status != http.StatusOK || len(rows) != 11 {
			t.Errorf("CSV %s: %d, %d rows, %v", name, a.status, len(rows), err)
			continue
		}
		if got := a.header.Get("Content-Type"); got != "text/csv; charset=utf-8; header=present" {
			t.Errorf("CSV %s came as %q", name, got)
		}
		if !strings.Contains(strings.Join(rows[1], ","), code) {
			t.Errorf("CSV %s has %q first, want %s", name, rows[1], code)
		}
	}
	if a := s.get(t, flatEyeToEye+"&format=text&pick=damper.code"); string(a.body) != code || !strings.HasPrefix(a.header.Get("Content-Type"), "text/plain") {
		t.Errorf("one value: %q as %q, want %q", a.body, a.header.Get("Content-Type"), code)
	}
}

func TestErrorsAsTextForSheets(t *testing.T) {
	s := newService(t)
	for name, c := range map[string]struct{ target, says string }{
		"a fault in a field": {strings.Replace(flatEyeToEye, "17+5/16", "17,31", 1) + "&errors=text", "error: readings: "},
		"an unknown name":    {flatEyeToEye + "&colour=red&errors=text", "error: colour: "},
		"no such damper":     {"/v1/dampers/none?units=in&errors=text", "error: "},
		"not to be had":      {"/v1/dampers?units=in&revision=1&errors=text", "error: revision: "},
	} {
		a := s.get(t, c.target)
		if a.status != http.StatusOK || !strings.HasPrefix(string(a.body), c.says) || !strings.HasPrefix(a.header.Get("Content-Type"), "text/plain") {
			t.Errorf("%s: %d as %s: %q", name, a.status, a.header.Get("Content-Type"), a.body)
		}
		if a.header.Get("Cache-Control") != "no-store" {
			t.Errorf("%s may be kept by a cache", name)
		}
	}
	if a := s.post(t, "/v1/hardware?errors=text", "{}"); a.status != http.StatusOK || !strings.HasPrefix(string(a.body), "error: /") {
		t.Errorf("POST: %d: %q", a.status, a.body)
	}
	if a := s.get(t, flatEyeToEye+"&errors=text"); a.header.Get("Content-Type") != "application/json" {
		t.Errorf("without a fault it came as %s", a.header.Get("Content-Type"))
	}
}

// A query that can't be parsed whole is refused, with what is wrong with each
// parameter: nothing is answered for another text than was sent.
func TestQueriesThatAreNoText(t *testing.T) {
	s := newService(t)
	for query, want := range map[string][]string{
		"&reference=a%ffb":               {"reference not_utf8"},
		"&reference=a%00b":               {"reference not_text"},
		"&reference=%zz&catalog=%00":     {"reference bad_encoding", "catalog not_text"},
		"&reference=a;b":                 {"reference bad_encoding"},
		"&=1":                            {" no_name"},
		"&%ff=1&reference=%e2%82&x=%e2%": {"\ufffd not_utf8", "reference not_utf8", "x bad_encoding"},
		"&reference=%ff&reference=%fe":   {"reference not_utf8"},
	} {
		for _, target := range []string{flatEyeToEye + query, "/v1/dampers?units=in" + query, "/v1/guide?units=in" + query} {
			p := refused(t, s.get(t, target), 422)
			var got []string
			for _, e := range p.Errors {
				got = append(got, e.Parameter+" "+e.Code)
				if e.Pointer != nil {
					t.Errorf("%s: a pointer into a body that isn't there", target)
				}
			}
			if !slices.Equal(got, want) {
				t.Errorf("%s: %q, want %q", target, got, want)
			}
		}
	}
	if a := s.get(t, flatEyeToEye+"&reference=%E2%82%AC+%0A&&"); a.status != http.StatusOK {
		t.Errorf("text: %d: %s", a.status, a.body)
	}
}

func TestFaultsBeyondTheListAreCounted(t *testing.T) {
	s := newService(t)
	body := strings.TrimSuffix(eyeToEye, "}")
	for i := range 304 {
		body += fmt.Sprintf(`,"x%d":1`, i)
	}
	p := refused(t, s.post(t, "/v1/fits", body+"}"), 422)
	if len(p.Errors) != 200 || p.Unlisted != 104 || p.Detail != "304 things are wrong with the request; errors names the first 200" {
		t.Errorf("%d errors, %d unlisted: %s", len(p.Errors), p.Unlisted, p.Detail)
	}
}

func TestOneOfSeveralValuesIsNamed(t *testing.T) {
	s := newService(t)
	several := strings.Replace(flatEyeToEye, "readings=17+5/16", "readings=18&readings=0&readings=19,5", 1)
	p := refused(t, s.get(t, several), 422)
	if len(p.Errors) != 2 || p.Errors[0].Value != "0" || p.Errors[1].Value != "19,5" {
		t.Errorf("told %+v", p.Errors)
	}
	if a := s.get(t, several+"&errors=text"); !strings.Contains(string(a.body), `readings "0": `) || !strings.Contains(string(a.body), `; readings "19,5": `) {
		t.Errorf("as text: %s", a.body)
	}
}

func TestFaultsOfTheQueryAndTheBodyAreToldTogether(t *testing.T) {
	s := newService(t)
	p := refused(t, s.post(t, "/v1/fits?format=xml&colour=red", `{"units":"yd"}`), 422)
	places := map[string]bool{}
	for _, e := range p.Errors {
		if e.Pointer != nil {
			places[*e.Pointer] = true
		} else {
			places[e.Parameter] = true
		}
	}
	for _, want := range []string{"format", "colour", "/units", "/upper", "/lower", "/readings"} {
		if !places[want] {
			t.Errorf("nothing is said of %s: %+v", want, p.Errors)
		}
	}
}

// TestProblemsSpeakTheCallersLanguage: title, details and cures are Spanish where
// Spanish is asked for; codes, values and places stay what they are.
func TestProblemsSpeakTheCallersLanguage(t *testing.T) {
	s := newService(t)
	const target = "/v1/dampers?units=in&revision=8"
	english := refused(t, s.get(t, target), 404)
	a := s.get(t, target, "Accept-Language", "es-MX, en;q=0.5")
	spanish := refused(t, a, 404)
	if got := a.header.Get("Content-Language"); got != "es" {
		t.Errorf("Content-Language %q", got)
	}
	if spanish.Title != "No se encuentra" || spanish.Detail != "No hay ninguna revisión 8 publicada de «demo»; se responde con la revisión 7" {
		t.Errorf("told %q, %q", spanish.Title, spanish.Detail)
	}
	if spanish.Type != english.Type || spanish.Code != english.Code || fmt.Sprint(spanish.Values) != fmt.Sprint(english.Values) {
		t.Errorf("in Spanish %+v, in English %+v", spanish, english)
	}
	if len(spanish.Errors) != 1 || spanish.Errors[0].Detail != spanish.Detail || spanish.Errors[0].Code != english.Errors[0].Code {
		t.Errorf("errors %+v", spanish.Errors)
	}
	line := s.get(t, target+"&errors=text", "Accept-Language", "es")
	if want := "error: revision: " + spanish.Detail; string(line.body) != want || line.header.Get("Content-Language") != "es" {
		t.Errorf("one line: %s", line.body)
	}
}

// TestWhyABodyIsNotJSONIsToldInTheCallersLanguage, but the values are the same
// in every language.
func TestWhyABodyIsNotJSONIsToldInTheCallersLanguage(t *testing.T) {
	s := newService(t)
	english := refused(t, s.post(t, "/v1/fits", `{"units":`), 400)
	spanish := refused(t, s.post(t, "/v1/fits", `{"units":`, "Accept-Language", "es"), 400)
	if english.Detail != "At byte 9: the body ends in the middle of a value" || spanish.Detail != "En el byte 9: el cuerpo termina en medio de un valor" {
		t.Errorf("told %q and %q", english.Detail, spanish.Detail)
	}
	if fmt.Sprint(spanish.Values) != fmt.Sprint(english.Values) || spanish.Values["why"] != "the body ends in the middle of a value" {
		t.Errorf("values %v and %v", spanish.Values, english.Values)
	}
}

func TestTheLanguageOfAnAnswerIsNamed(t *testing.T) {
	s := newService(t)
	for _, accept := range []string{"", "de-AT, de;q=0.9", "*"} {
		if got := s.post(t, "/v1/fits", eyeToEye, "Accept-Language", accept).header.Get("Content-Language"); got != "en" {
			t.Errorf("Accept-Language %q: Content-Language %q", accept, got)
		}
	}
}

// TestLanguageInTheQuery: who can't send headers names the language in the query,
// which goes before the header.
func TestLanguageInTheQuery(t *testing.T) {
	s := newService(t)
	const sound = "/v1/fits?units=in&upper=eye&lower=eye&suspension=solid_axle"
	for query, want := range map[string]string{
		"&readings=17,5&lang=es": "es", "&readings=17,5&lang=es-MX": "es", "&readings=17,5&lang=": "en", "&readings=17,5&lang=xx": "en",
		"&readings=17.5&lang=es": "es",
	} {
		if got := s.get(t, sound+query).header.Get("Content-Language"); got != want {
			t.Errorf("%s is answered in %q, want %q", query, got, want)
		}
	}
	p := refused(t, s.get(t, sound+"&readings=17,5&lang=es"), 422)
	if len(p.Errors) != 1 || !strings.Contains(p.Errors[0].Detail, "escriba un punto") {
		t.Errorf("told %+v", p.Errors)
	}
	twice := refused(t, s.get(t, sound+"&readings=17.5&lang=es&lang=en"), 422)
	if len(twice.Errors) != 1 || twice.Errors[0].Parameter != "lang" || twice.Errors[0].Code != "duplicate_field" {
		t.Errorf("told %+v", twice.Errors)
	}
	refused(t, s.get(t, "/v1/dampers?units=in&lang=es&lang=en"), 422)
}

// TestListsAreRepeatedParameters: what a file's cell has as "17.5|17.6" a query
// has as two parameters, and is told so.
func TestListsAreRepeatedParameters(t *testing.T) {
	s := newService(t)
	p := refused(t, s.get(t, "/v1/fits?units=in&upper=eye&lower=eye&suspension=solid_axle&readings=17.5|17.6"), 422)
	if len(p.Errors) != 1 || p.Errors[0].Code != "not_repeated" || !strings.Contains(p.Errors[0].Detail, "readings=17.5&readings=17.6") {
		t.Errorf("told %+v", p.Errors)
	}
}

// TestRankAsksForEnoughFits: a rank beyond the ten that are usually told needs no
// top.
func TestRankAsksForEnoughFits(t *testing.T) {
	s := newService(t)
	const ask = "/v1/fits?units=in&upper=eye&lower=eye&suspension=solid_axle&readings=17+5/16&format=text&pick=rank&rank="
	for _, rank := range []string{"10", "11"} {
		if a := s.get(t, ask+rank); a.status != 200 || strings.TrimSpace(string(a.body)) != rank {
			t.Errorf("rank %s: %d %s", rank, a.status, a.body)
		}
	}
}
