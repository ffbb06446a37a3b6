package wire_test

import (
	"net/url"
	"strings"
	"testing"

	"midstroke/internal/wire"
)

func TestReadShow(t *testing.T) {
	for _, test := range []struct {
		query string
		want  wire.Show
		rest  string
		bad   []place
	}{
		{"", wire.Show{Rank: 1}, "", nil},
		{"units=in&format=&rank=", wire.Show{Rank: 1}, "units=in", nil},
		{"format=csv", wire.Show{Format: wire.CSV, Rank: 1}, "", nil},
		{"format=json&errors=text", wire.Show{Format: wire.JSON, Rank: 1, ErrorsAsText: true}, "", nil},
		{"format=text&pick=damper.code&rank=3&upper=eye", wire.Show{Format: wire.Text, Pick: "damper.code", Rank: 3, Ranked: true}, "upper=eye", nil},
		{"format=xml&errors=text", wire.Show{Rank: 1, ErrorsAsText: true}, "", []place{{"format", "not_allowed"}}},
		{"format=text", wire.Show{Format: wire.Text, Rank: 1}, "", []place{{"pick", "missing"}}},
		{"pick=rank", wire.Show{Pick: "rank", Rank: 1}, "", []place{{"pick", "not_together"}}},
		{"rank=2", wire.Show{Rank: 2, Ranked: true}, "", []place{{"rank", "not_together"}}},
		{"format=text&pick=rank&rank=51", wire.Show{Format: wire.Text, Pick: "rank", Rank: 1, Ranked: true}, "", []place{{"rank", "out_of_range"}}},
		{"format=svg&drawing=response&rank=2", wire.Show{Format: wire.SVG, Rank: 2, Ranked: true, Picture: wire.Response}, "", nil},
		{"drawing=frequencies", wire.Show{Format: wire.SVG, Rank: 1, Picture: wire.Frequencies}, "", nil},
		{"drawing_width=narrow", wire.Show{Format: wire.SVG, Rank: 1, Width: wire.Narrow}, "", nil},
		{"drawing=response&drawing_width=narrower", wire.Show{Format: wire.SVG, Rank: 1, Picture: wire.Response}, "", []place{{"drawing_width", "not_allowed"}}},
		{"format=csv&drawing_width=wide", wire.Show{Format: wire.CSV, Rank: 1}, "", []place{{"drawing_width", "not_together"}}},
		{"format=csv&drawing=forces", wire.Show{Format: wire.CSV, Rank: 1}, "", []place{{"drawing", "not_together"}}},
		{"format=json&format=csv", wire.Show{Format: wire.JSON, Rank: 1}, "", []place{{"format", "duplicate_field"}}},
		{"format=text&pick=" + strings.Repeat("a", 101), wire.Show{Format: wire.Text, Rank: 1}, "", []place{{"pick", "text_too_long"}}},
	} {
		values, err := url.ParseQuery(test.query)
		if err != nil {
			t.Fatal(err)
		}
		got, rest, faults := wire.ReadShow(values)
		if got != test.want || rest.Encode() != test.rest {
			t.Errorf("%s: got %+v and %s", test.query, got, rest.Encode())
		}
		sameFaults(t, faults.Err(), test.bad)
	}
}
