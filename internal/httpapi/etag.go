package httpapi

import (
	"fmt"
	"strings"

	"github.com/cespare/xxhash/v2"
)

// entityTag gives the strong validator of a representation (RFC 9110 section
// 8.8.3): equal bytes have equal tags on every instance and after every
// restart. 64 bits are plenty, since a tag only ever tells apart the
// representations that one caller has seen of one resource.
func entityTag(representation []byte) string {
	return fmt.Sprintf(`"%016x"`, xxhash.Sum64(representation))
}

// codedTag gives the tag of a coded representation from that of the plain one.
// Each has its own, since their bytes differ (RFC 9110 section 8.8.3.3).
func codedTag(tag string, in coding) string {
	if in == identity {
		return tag
	}
	return tag[:len(tag)-1] + "-" + codingNames[in] + `"`
}

// match says whether an If-Match field names the tag of the plain representation
// or of a coded one, by the strong comparison that RFC 9110 section 13.1.1 asks
// for: whichever the caller read, it read the same.
func match(field, tag string) bool {
	if strings.TrimSpace(field) == "*" {
		return true
	}
	for candidate := range strings.SplitSeq(field, ",") {
		if _, ok := codingOf(strings.TrimSpace(candidate), tag); ok {
			return true
		}
	}
	return false
}

// codingOf says of which coding a tag is, given that of the plain representation.
func codingOf(candidate, tag string) (in coding, ok bool) {
	for in := range codingNames {
		if candidate == codedTag(tag, coding(in)) {
			return coding(in), true
		}
	}
	return identity, false
}

// heldTag gives the tag of a copy that an If-None-Match field names, by the weak
// comparison that RFC 9110 section 13.1.2 asks for, "" for none that will do. A
// copy in another coding than the one selected is as good if the caller accepts
// that: a cache between may hold one that this caller doesn't.
func heldTag(field, tag, acceptEncoding string, selected coding) string {
	if field == "" {
		return ""
	}
	if strings.TrimSpace(field) == "*" {
		return codedTag(tag, selected)
	}
	for candidate := range strings.SplitSeq(field, ",") {
		candidate = strings.TrimPrefix(strings.TrimSpace(candidate), "W/")
		if in, ok := codingOf(candidate, tag); ok && (in == selected || codingQuality(in, acceptRanges(acceptEncoding)) > 0) {
			return candidate
		}
	}
	return ""
}
