package httpapi_test

import (
	"testing"

	"midstroke/testdata/examples"
)

// BenchmarkSizes reports how long a day's answers are, plain and in each coding.
// It measures no time.
func BenchmarkSizes(b *testing.B) {
	s := newService(b)
	read := func(file string) string {
		body, err := examples.Requests.ReadFile(file)
		if err != nil {
			b.Fatal(err)
		}
		return string(body)
	}
	for _, one := range []struct{ name, method, target, body string }{
		{"ten fits", "POST", "/v1/fits", read("rear-axle.json")},
		{"ten fits as CSV", "POST", "/v1/fits?format=csv", read("rear-axle.json")},
		{"no fit", "POST", "/v1/fits", read("near-miss.json")},
		{"by its points", "POST", "/v1/fits", read("front-by-its-points.json")},
		{"a guide", "GET", "/v1/guide?units=in&upper=stud&lower=eye", ""},
		{"100 dampers", "GET", "/v1/dampers?units=mm", ""},
		{"the web component", "GET", "/widget/midstroke.js", ""},
		{"the contract", "GET", "/openapi.yaml", ""},
		{"the page of the contract", "GET", "/docs", ""},
	} {
		b.Run(one.name, func(b *testing.B) {
			for range b.N {
				for _, coding := range []string{"identity", "gzip", "zstd"} {
					a := s.unchecked(one.method, one.target, one.body, "Accept-Encoding", coding)
					if a.status != 200 {
						b.Fatalf("%d: %.300s", a.status, a.body)
					}
					b.ReportMetric(float64(len(a.body)), coding+"-bytes")
				}
			}
			b.ReportMetric(0, "ns/op")
		})
	}
}
