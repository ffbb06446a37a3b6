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

// AppendDamper appends one damper as JSON, as it stands in a list.
func AppendDamper(dst []byte, p Page, d *catalog.Damper) []byte {
	return appendAnswer(p.writer(dst), members[catalog.Damper]{
		unitsMember[catalog.Damper](),
		anObject("catalog", editionMembers, func(*catalog.Damper) *Edition { return &p.From }),
		among(listedDamper, itself),
	}, d)
}

func (p *Page) writer(dst []byte) writer {
	return writer{b: dst, units: p.Units, currency: p.From.Currency}
}

// AppendDampers appends a page of dampers as JSON.
func AppendDampers(dst []byte, p Page, dampers []*catalog.Damper) []byte {
	return appendPage(dst, &p, dampers, listedDamper)
}

// AppendSleeves appends a page of sleeves as JSON.
func AppendSleeves(dst []byte, p Page, sleeves []*mount.Sleeve) []byte {
	return appendPage(dst, &p, sleeves, listedSleeve)
}

// AppendSpacers appends a page of spacers as JSON.
func AppendSpacers(dst []byte, p Page, spacers []*mount.Spacer) []byte {
	return appendPage(dst, &p, spacers, listedSpacer)
}

// AppendAdapters appends a page of adapters as JSON.
func AppendAdapters(dst []byte, p Page, adapters []*mount.Adapter) []byte {
	return appendPage(dst, &p, adapters, listedAdapter)
}

func appendPage[P any](dst []byte, p *Page, parts []*P, of members[P]) []byte {
	return appendAnswer(p.writer(dst), members[Page]{
		unitsMember[Page](),
		anObject("catalog", editionMembers, func(p *Page) *Edition { return &p.From }),
		aList("items", members[*P]{among(of, func(part **P) *P { return *part })}, func(*Page) []*P { return parts }),
		aTextOrNull("next_cursor", func(p *Page) string { return p.Next }),
	}, p)
}
