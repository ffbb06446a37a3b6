package httpapi_test

import (
	"encoding/csv"
	"net/http"
	"strings"
	"testing"
)

// flatEyeToEye asks by GET what eyeToEye asks by POST.
const flatEyeToEye = "/v1/fits?units=in&readings=18+3/4&upper=eye&lower=eye&suspension=solid_axle"

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
		"a fault in a field": {strings.Replace(flatEyeToEye, "18+3/4", "18,75", 1) + "&errors=text", "error: readings: "},
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

func TestTheLanguageOfAnAnswerIsNamed(t *testing.T) {
	s := newService(t)
	for _, accept := range []string{"", "de-AT, de;q=0.9", "*"} {
		if got := s.post(t, "/v1/fits", eyeToEye, "Accept-Language", accept).header.Get("Content-Language"); got != "en" {
			t.Errorf("Accept-Language %q: Content-Language %q", accept, got)
		}
	}
}
