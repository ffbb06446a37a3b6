package httpapi

import (
	"net/http"
	"strconv"
	"strings"
)

// The media types that are answered in.
const (
	typeJSON    = "application/json"
	typeProblem = "application/problem+json"
	typeYAML    = "application/yaml" // RFC 9512
	typeCSV     = "text/csv"         // RFC 4180
	typeText    = "text/plain"
	typeHTML    = "text/html"
	typeSVG     = "image/svg+xml"
	typeScript  = "text/javascript" // RFC 9239
)

// negotiate picks, of the media types offered, the one that an Accept field
// wants most, as RFC 9110 section 12.5.1 ranks them; between equals the one
// offered first. "" says that none is acceptable. No field, and one that
// can't be read at all, accepts anything.
func negotiate(accept, first string, others ...string) string {
	if accept == "" || accept == "*/*" || accept == first {
		return first
	}
	ranges := acceptRanges(accept)
	if len(ranges) == 0 {
		return first
	}
	best, quality := "", 0.0
	if q := qualityOf(first, ranges); q > 0 {
		best, quality = first, q
	}
	for _, offer := range others {
		if q := qualityOf(offer, ranges); q > quality {
			best, quality = offer, q
		}
	}
	return best
}

// weighted is one element of an Accept or Accept-Language field.
type weighted struct {
	value   string // in lower case, without parameters
	quality float64
}

// acceptRanges reads the elements of a field such as
// "text/csv, application/*;q=0.5". Parameters other than q are passed over:
// no type offered here has one that a caller could choose by.
func acceptRanges(field string) []weighted {
	var ranges []weighted
	for element := range strings.SplitSeq(field, ",") {
		value, params, _ := strings.Cut(element, ";")
		value = strings.ToLower(strings.TrimSpace(value))
		if value == "" {
			continue
		}
		ranges = append(ranges, weighted{value, qualityParam(params)})
	}
	return ranges
}

// qualityParam finds the weight among the parameters of an element: 1 where
// there is none, 0 where it can't be read.
func qualityParam(params string) float64 {
	for param := range strings.SplitSeq(params, ";") {
		name, value, ok := strings.Cut(strings.TrimSpace(param), "=")
		if !ok || !strings.EqualFold(name, "q") {
			continue
		}
		q, err := strconv.ParseFloat(value, 64)
		if err != nil || !(q >= 0 && q <= 1) {
			return 0
		}
		return q
	}
	return 1
}

// qualityOf gives the weight of a media type by the most specific range that
// holds it, 0 where none does.
func qualityOf(media string, ranges []weighted) float64 {
	kind, _, _ := strings.Cut(media, "/")
	quality, specific := 0.0, -1
	for _, r := range ranges {
		at := -1
		switch {
		case r.value == media:
			at = 2
		case strings.HasSuffix(r.value, "/*") && strings.TrimSuffix(r.value, "/*") == kind:
			at = 1
		case r.value == "*/*":
			at = 0
		}
		if at > specific {
			quality, specific = r.quality, at
		}
	}
	return quality
}

// languageParameter is the parameter that names a language where a caller can't
// send a header. It goes before the header.
const languageParameter = "lang"

// language is that of the texts which a request is answered in.
func (h *Handler) language(r *http.Request) string {
	if strings.Contains(r.URL.RawQuery, languageParameter+"=") {
		if wanted := r.URL.Query().Get(languageParameter); wanted != "" {
			return chooseLanguage(wanted, h.languages)
		}
	}
	return chooseLanguage(r.Header.Get("Accept-Language"), h.languages)
}

// chooseLanguage picks, of the languages that there are words in, the one
// that an Accept-Language field wants most, by the lookup of RFC 4647 section
// 3.4: "de-AT" is served by "de". The first of have is the one that answers
// fall back to, for a text in some language is better than none.
func chooseLanguage(accept string, have []string) string {
	if accept == "" || len(have) == 1 {
		return have[0]
	}
	best, quality := have[0], 0.0
	for _, wanted := range acceptRanges(accept) {
		if wanted.quality <= quality {
			continue
		}
		if found := lookupLanguage(wanted.value, have); found != "" {
			best, quality = found, wanted.quality
		}
	}
	return best
}

// lookupLanguage shortens a language tag from its end until one is had.
func lookupLanguage(tag string, have []string) string {
	for tag != "" && tag != "*" {
		for _, language := range have {
			if strings.EqualFold(language, tag) {
				return language
			}
		}
		cut := strings.LastIndexByte(tag, '-')
		if cut < 0 {
			return ""
		}
		tag = tag[:cut]
		// A single letter left at the end introduces what was cut off.
		if len(tag) > 1 && tag[len(tag)-2] == '-' {
			tag = tag[:len(tag)-2]
		}
	}
	if tag == "*" {
		return have[0]
	}
	return ""
}
