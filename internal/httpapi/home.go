package httpapi

import (
	"bytes"
	_ "embed"
	"html/template"

	"github.com/labstack/echo/v4"
)

//go:embed pages/home.html
var homeHTML string

// homePage is parsed once and only read afterwards.
var homePage = template.Must(template.New("home").Parse(homeHTML))

// home says what this is and gives something to paste.
func (h *Handler) home(c echo.Context) error {
	r := c.Request()
	base := "http://" + r.Host
	if r.TLS != nil {
		base = "https://" + r.Host
	}
	var b bytes.Buffer
	err := homePage.Execute(&b, struct{ Link, Post string }{CurlLink(base), CurlPost(base)})
	if err != nil {
		return err
	}
	return page(c, cspPlain, b.Bytes())
}

// CurlLink is a command to paste that asks the service at base for fits by
// GET.
func CurlLink(base string) string {
	return "curl '" + base + "/v1/fits?units=in&readings=18+3/4&upper=eye&lower=eye&suspension=solid_axle&top=3'"
}

// CurlPost is a command to paste that asks the service at base for fits by
// POST.
func CurlPost(base string) string {
	return "curl '" + base + `/v1/fits' -H 'Content-Type: application/json' -d '{
  "units": "in",
  "upper": {"style": "stud", "measured_to": "frame_face", "bushing_thickness": "3/8", "washer_thickness": "1/16"},
  "lower": {"style": "eye", "bolt": "M12", "opening": "1 1/2"},
  "readings": ["16 5/8", "16 11/16"],
  "suspension": "solid_axle",
  "top": 3
}'`
}
