package httpapi

import (
	"slices"
	"strings"

	"midstroke/internal/catalog"
	"midstroke/internal/form"
)

// A test says whether a part passes one parameter of a list's filter.
type test[T any] func(*T) bool

// readFilter reads the parameters by which a kind of part is filtered, and gives
// the test that a part must pass, nil where none is given.
func readFilter[T any](q *query, kind *catalog.Table[T]) test[T] {
	var tests []test[T]
	var searched []func(*T) *string
	for i := range kind.Fields {
		f := &kind.Fields[i]
		if f.Searched {
			searched = append(searched, f.Text)
		}
		if f.Filter == "" {
			continue
		}
		if t := readTest(q, f); t != nil {
			tests = append(tests, t)
		}
	}
	if words := strings.Fields(strings.ToLower(q.text("q"))); len(words) > 0 {
		tests = append(tests, func(part *T) bool { return hasWords(words, searched, part) })
	}
	if len(tests) == 0 {
		return nil
	}
	return func(part *T) bool {
		for _, passes := range tests {
			if !passes(part) {
				return false
			}
		}
		return true
	}
}

// readTest reads the parameters of one field, nil where none is given.
func readTest[T any](q *query, f *catalog.Field[T]) test[T] {
	switch f.Kind {
	case catalog.KindLength:
		if l := q.between(f.Filter); l.hasLeast || l.hasMost {
			return func(part *T) bool { return l.holds(f.LengthOf(part)) }
		}
	case catalog.KindYesNo:
		if wanted := q.flag(f.Filter); wanted != nil {
			return func(part *T) bool { return *f.YesNo(part) == *wanted }
		}
	case catalog.KindOneOf:
		if word, ok := form.Param(q.Query, f.Filter, form.NameOf(f.Choices())); ok {
			return func(part *T) bool { return f.Words[*f.Choice(part)] == word }
		}
	case catalog.KindListOf:
		var wanted T
		words, _ := form.Param(q.Query, f.Filter, form.ListOf(form.NameOf(f.Choices()), 0, mostPage))
		for _, word := range words {
			f.Include(&wanted, word)
		}
		if all := *f.Set(&wanted); all != 0 {
			return func(part *T) bool { return *f.Set(part)&all == all }
		}
	case catalog.KindForces:
		if wanted := q.flag(f.Filter); wanted != nil {
			return func(part *T) bool { return (f.Forces(part).Text() != "") == *wanted }
		}
	case catalog.KindText, catalog.KindSigned, catalog.KindMoney, catalog.KindThread, catalog.KindNumber:
		// Lists aren't filtered by these.
	}
	return nil
}

// hasWords says whether each of the words, which are in lower case, stands in one
// of a part's texts.
func hasWords[T any](words []string, texts []func(*T) *string, part *T) bool {
	for _, word := range words {
		if !slices.ContainsFunc(texts, func(text func(*T) *string) bool { return strings.Contains(strings.ToLower(*text(part)), word) }) {
			return false
		}
	}
	return true
}
