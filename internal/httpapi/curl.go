package httpapi

// CurlLink is a command to paste that asks the service at base for fits by
// GET.
func CurlLink(base string) string {
	return "curl '" + base + "/v1/fits?units=in&readings=17+5/16&upper=eye&lower=eye&suspension=solid_axle&top=3'"
}
