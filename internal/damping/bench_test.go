package damping_test

import (
	"testing"

	"midstroke/internal/damping"
)

// BenchmarkJudge judges a damper with two positions of four points, as a search
// does once for each damper.
func BenchmarkJudge(b *testing.B) {
	r, faults := damping.NewRater(&damping.Question{Corner: van().Corner})
	if len(faults) > 0 {
		b.Fatal(faults)
	}
	u := digressive()
	b.ReportAllocs()
	for b.Loop() {
		if r.Judge(&u).Verdict == 0 {
			b.Fatal("not judged")
		}
	}
}

// BenchmarkVerdict asks for the verdict alone.
func BenchmarkVerdict(b *testing.B) {
	r, faults := damping.NewRater(&damping.Question{Corner: van().Corner})
	if len(faults) > 0 {
		b.Fatal(faults)
	}
	u := digressive()
	b.ReportAllocs()
	for b.Loop() {
		if r.Verdict(&u, nil) == 0 {
			b.Fatal("not judged")
		}
	}
}
