package main

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// byteSize is a setting such as 512MiB.
type byteSize struct{ bytes int64 }

var byteUnits = map[string]float64{
	"": 1, "B": 1,
	"KB": 1e3, "MB": 1e6, "GB": 1e9, "TB": 1e12,
	"KIB": 1 << 10, "MIB": 1 << 20, "GIB": 1 << 30, "TIB": 1 << 40,
}

// UnmarshalText implements encoding.TextUnmarshaler.
func (s *byteSize) UnmarshalText(text []byte) error {
	written := strings.TrimSpace(string(text))
	end := strings.LastIndexAny(written, "0123456789.") + 1
	n, err := strconv.ParseFloat(written[:end], 64)
	factor, ok := byteUnits[strings.ToUpper(strings.TrimSpace(written[end:]))]
	if err != nil || !ok || n < 0 || n*factor > math.MaxInt64/2 {
		return fmt.Errorf("%q is no size: write a number with B, KB, MB, GB, KiB, MiB or GiB, such as 512MiB", written)
	}
	s.bytes = int64(n * factor)
	return nil
}

// String gives the size in bytes.
func (s byteSize) String() string { return strconv.FormatInt(s.bytes, 10) }
