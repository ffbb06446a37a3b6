package main

import (
	"testing"
	"time"
)

func TestProgressLine(t *testing.T) {
	for _, c := range []struct {
		name               string
		taken              time.Duration
		rows, bytes, total int64
		want               string // by hand
	}{
		{"nothing yet", 0, 0, 0, 100, "checked 0 rows"},
		{"a quarter in two seconds leaves six", 2 * time.Second, 5000, 25, 100, "checked 5000 rows, 2500 per second, 25 %, 6s left"},
		{"all", time.Second, 10, 100, 100, "checked 10 rows, 10 per second, 100 %, 0s left"},
		{"an empty file", time.Second, 0, 0, 0, "checked 0 rows, 0 per second"},
	} {
		if got := progressLine(c.taken, c.rows, c.bytes, c.total); got != c.want {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
	}
}
