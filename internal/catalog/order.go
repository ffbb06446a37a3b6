package catalog

import (
	"cmp"
	"slices"
	"strings"
)

// Order sorts the parts of a list by one field. Parts with the same value go by
// code. Parts whose value isn't known go last in either direction.
type Order[T any] struct {
	field      *Field[T]
	code       func(*T) *string
	descending bool
}

// Place is where a part stands in an Order. It outlives the part, so that a list
// can go on from it in another revision of the catalogue.
type Place struct {
	Code string
	// Value is the length in nanometres or the price in hundredths that is sorted
	// by; 0 where that is the code.
	Value int64
	// Unknown says that the part has no value.
	Unknown bool
}

// Sorts says whether parts can be sorted by the field: by the code, or by a length
// or a price of the part itself.
func (f *Field[T]) Sorts() bool {
	switch f.Kind {
	case KindLength, KindSigned, KindMoney:
		return f.Group == ""
	case KindText:
		return f.Unique
	case KindYesNo, KindOneOf, KindListOf, KindThread, KindNumber, KindForces:
	}
	return false
}

// SortNames lists the names of the fields that parts can be sorted by.
func (t *Table[T]) SortNames() []string {
	var names []string
	for i := range t.Fields {
		if t.Fields[i].Sorts() {
			names = append(names, t.Fields[i].Name)
		}
	}
	return names
}

// Order reads what to sort by: the name of a field, with "-" in front for the
// greatest value first. ok is false where there is no such field.
func (t *Table[T]) Order(by string) (o Order[T], ok bool) {
	name, descending := strings.CutPrefix(by, "-")
	f := t.Field(name)
	if f == nil || !f.Sorts() {
		return o, false
	}
	return Order[T]{f, t.Code, descending}, true
}

// PlaceOf gives a part's place.
func (o Order[T]) PlaceOf(t *T) Place {
	p := Place{Code: *o.code(t)}
	switch o.field.Kind {
	case KindText:
	case KindMoney:
		p.Value = int64(*o.field.Price(t))
		p.Unknown = p.Value < 0
	default:
		p.Value = int64(o.field.LengthOf(t))
	}
	return p
}

// Compare is less than zero where a stands before b.
func (o Order[T]) Compare(a, b Place) int {
	byCode := strings.Compare(a.Code, b.Code)
	switch {
	case a.Unknown && b.Unknown:
		return byCode
	case a.Unknown:
		return 1
	case b.Unknown:
		return -1
	case o.field.Kind == KindText && o.descending:
		return -byCode
	case o.descending:
		a, b = b, a
	}
	return cmp.Or(cmp.Compare(a.Value, b.Value), byCode)
}

// Leading gives the first n of the parts that pass and stand behind a place, nil
// for the beginning. It keeps at most twice as many at a time, so a page of a
// long list costs one pass over it.
func (o Order[T]) Leading(parts []T, after *Place, n int, passes func(*T) bool) []*T {
	type placed struct {
		part *T
		at   Place
	}
	inOrder := func(a, b placed) int { return o.Compare(a.at, b.at) }
	var best []placed
	full := false // the last of best is the n-th so far
	for i := range parts {
		p := placed{&parts[i], o.PlaceOf(&parts[i])}
		if after != nil && o.Compare(p.at, *after) <= 0 || full && inOrder(p, best[n-1]) > 0 || !passes(p.part) {
			continue
		}
		if best = append(best, p); len(best) == 2*n {
			slices.SortFunc(best, inOrder)
			best, full = best[:n], true
		}
	}
	slices.SortFunc(best, inOrder)
	best = best[:min(n, len(best))]
	leading := make([]*T, len(best))
	for i := range best {
		leading[i] = best[i].part
	}
	return leading
}
