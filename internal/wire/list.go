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

func appendPage[P any](dst []byte, p *Page, parts []*P, of members[P]) []byte {
	return appendAnswer(p.writer(dst), members[Page]{
		unitsMember[Page](),
		anObject("catalog", editionMembers, func(p *Page) *Edition { return &p.From }),
		aList("items", members[*P]{among(of, func(part **P) *P { return *part })}, func(*Page) []*P { return parts }),
		aTextOrNull("next_cursor", func(p *Page) string { return p.Next }),
	}, p)
}

var listedDamper = members[catalog.Damper]{
	among(damperMembers, itself),
	aLength("length_tolerance", func(d *catalog.Damper) unit.Length { return d.LengthTolerance }),
	anObject("upper", endMembers, func(d *catalog.Damper) *mount.End { return &d.Upper }),
	anObject("lower", endMembers, func(d *catalog.Damper) *mount.End { return &d.Lower }),
	aFlag("invertible", func(d *catalog.Damper) bool { return d.Invertible }),
	aFlag("in_stock", func(d *catalog.Damper) bool { return d.InStock }),
	aPrice(func(d *catalog.Damper) *mount.Price { return &d.Price }),
}

var listedSleeve = members[mount.Sleeve]{
	aText("code", func(s *mount.Sleeve) string { return s.Code }),
	aText("description", func(s *mount.Sleeve) string { return s.Description }),
	aLength("outer", func(s *mount.Sleeve) unit.Length { return s.Outer }),
	aLength("bore", func(s *mount.Sleeve) unit.Length { return s.Bore }),
	aText("bore_is", func(s *mount.Sleeve) string { return s.BoreIs.String() }),
	aLength("length", func(s *mount.Sleeve) unit.Length { return s.Length }),
	aFlag("in_stock", func(s *mount.Sleeve) bool { return s.InStock }),
	aPrice(func(s *mount.Sleeve) *mount.Price { return &s.Price }),
}

var listedSpacer = members[mount.Spacer]{
	aText("code", func(s *mount.Spacer) string { return s.Code }),
	aText("description", func(s *mount.Spacer) string { return s.Description }),
	aLength("bore", func(s *mount.Spacer) unit.Length { return s.Bore }),
	aLength("thickness", func(s *mount.Spacer) unit.Length { return s.Thickness }),
	aFlag("in_stock", func(s *mount.Spacer) bool { return s.InStock }),
	aPrice(func(s *mount.Spacer) *mount.Price { return &s.Price }),
}

var listedAdapter = members[mount.Adapter]{
	among(adapterMembers, itself),
	aFlag("in_stock", func(a *mount.Adapter) bool { return a.InStock }),
	aPrice(func(a *mount.Adapter) *mount.Price { return &a.Price }),
}
