package wire

import (
	"midstroke/internal/catalog"
	"midstroke/internal/mount"
	"midstroke/internal/unit"
)

// Page says how a page of a list is written.
type Page struct {
	Units unit.System
	From  Edition
	// Next is the cursor of the next page, "" on the last one.
	Next string
}

// PartList writes the parts of one kind, as lists and single answers have them.
type PartList[T any] struct {
	members members[T]
	columns []csvColumn[listRow[T]]
}

// listRow is what a line of a list's CSV form is made from.
type listRow[T any] struct {
	part *T
	page *Page
}

// The kinds of parts. They never change.
var (
	dampers  = partListOf(listedDamper)
	sleeves  = partListOf(listedSleeve)
	spacers  = partListOf(listedSpacer)
	adapters = partListOf(listedAdapter)
)

// Dampers writes dampers.
func Dampers() *PartList[catalog.Damper] { return &dampers }

// Sleeves writes sleeves.
func Sleeves() *PartList[mount.Sleeve] { return &sleeves }

// Spacers writes spacers.
func Spacers() *PartList[mount.Spacer] { return &spacers }

// Adapters writes adapters.
func Adapters() *PartList[mount.Adapter] { return &adapters }

func partListOf[T any](of members[T]) PartList[T] {
	return PartList[T]{of, columnsOf(members[listRow[T]]{
		allOf(of, func(r *listRow[T]) *T { return r.part }),
		unitsMember[listRow[T]](),
		anObject("catalog", editionMembers, func(r *listRow[T]) *Edition { return &r.page.From }),
	})}
}

func (p *Page) writer(dst []byte) writer {
	return writer{b: dst, units: p.Units, currency: p.From.Currency}
}

// AppendOne appends one part as JSON, as it stands in a list.
func (k *PartList[T]) AppendOne(dst []byte, p Page, part *T) []byte {
	return appendAnswer(p.writer(dst), members[T]{
		unitsMember[T](),
		anObject("catalog", editionMembers, func(*T) *Edition { return &p.From }),
		allOf(k.members, itself),
	}, part)
}

// AppendPage appends a page of parts as JSON.
func (k *PartList[T]) AppendPage(dst []byte, p Page, parts []*T) []byte {
	return appendAnswer(p.writer(dst), members[Page]{
		unitsMember[Page](),
		anObject("catalog", editionMembers, func(p *Page) *Edition { return &p.From }),
		aList("items", members[*T]{allOf(k.members, func(part **T) *T { return *part })}, func(*Page) []*T { return parts }),
		aTextOrNull("next_cursor", func(p *Page) string { return p.Next }),
	}, &p)
}

// AppendPageCSV appends a page of parts by RFC 4180: a header line and one line a
// part. Each line has the units and the catalogue.
func (k *PartList[T]) AppendPageCSV(dst []byte, p Page, parts []*T) []byte {
	w := p.writer(dst)
	w.bare = true
	w.b = appendHeader(w.b, k.columns)
	for _, part := range parts {
		appendLine(&w, k.columns, &listRow[T]{part, &p})
	}
	return w.b
}
