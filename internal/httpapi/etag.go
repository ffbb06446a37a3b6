package httpapi

import (
	"encoding/hex"
	"strings"

	"github.com/cespare/xxhash/v2"
)

// entityTag gives the strong validator of a representation (RFC 9110 section
// 8.8.3): equal bytes have equal tags on every instance and after every
// restart. 64 bits are plenty, since a tag only ever tells apart the
// representations that one caller has seen of one resource.
func entityTag(representation []byte) string {
	var sum [8]byte
	digest := xxhash.Sum64(representation)
	for i := range sum {
		sum[i] = byte(digest >> (56 - 8*i))
	}
	var tag [18]byte
	tag[0], tag[17] = '"', '"'
	hex.Encode(tag[1:17], sum[:])
	return string(tag[:])
}

// match says whether an If-Match field names the tag, by the strong comparison
// that RFC 9110 section 13.1.1 asks for.
func match(field, tag string) bool {
	if strings.TrimSpace(field) == "*" {
		return true
	}
	for candidate := range strings.SplitSeq(field, ",") {
		if strings.TrimSpace(candidate) == tag {
			return true
		}
	}
	return false
}

// noneMatch says whether an If-None-Match field names the tag, by the weak
// comparison that RFC 9110 section 13.1.2 asks for.
func noneMatch(field, tag string) bool {
	if field == "" {
		return false
	}
	if strings.TrimSpace(field) == "*" {
		return true
	}
	for candidate := range strings.SplitSeq(field, ",") {
		candidate = strings.TrimPrefix(strings.TrimSpace(candidate), "W/")
		if candidate == tag {
			return true
		}
	}
	return false
}
