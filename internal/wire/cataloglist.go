package wire

import "midstroke/internal/shop"

// Catalog is a catalogue as a list of catalogues tells of it.
type Catalog struct {
	Name string
	// Revision is the one that is answered from, 0 where nothing is published.
	Revision int
	Counts   shop.Counts
	// Drafts are the numbers of the drafts; nil for a caller that may not know.
	Drafts []int
}

var catalogMembers = members[Catalog]{
	aText("name", func(c *Catalog) string { return c.Name }),
	orNull("revision", wholeKind, func(c *Catalog) int { return c.Revision }, (*writer).appendWhole),
	anObjectOrNull("counts", members[shop.Counts]{
		aWhole("dampers", func(n *shop.Counts) int { return n.Dampers }),
		aWhole("sleeves", func(n *shop.Counts) int { return n.Sleeves }),
		aWhole("spacers", func(n *shop.Counts) int { return n.Spacers }),
		aWhole("adapters", func(n *shop.Counts) int { return n.Adapters }),
	}, func(c *Catalog) *shop.Counts {
		if c.Revision == 0 {
			return nil
		}
		return &c.Counts
	}),
	when(aListOf("drafts", wholeKind, func(c *Catalog) []int { return c.Drafts }, (*writer).appendWhole), func(c *Catalog) bool { return c.Drafts != nil }),
}

var catalogColumns = columnsOf(catalogMembers)

// catalogPage is a page of catalogues, with the cursor of the next one.
type catalogPage struct {
	catalogs []Catalog
	next     string
}

// AppendCatalogs appends a page of catalogues as JSON; next is the cursor of the
// next page, "" on the last one.
func AppendCatalogs(dst []byte, catalogs []Catalog, next string) []byte {
	return appendAnswer(writer{b: dst}, members[catalogPage]{
		aList("items", catalogMembers, func(p *catalogPage) []Catalog { return p.catalogs }),
		aTextOrNull("next_cursor", func(p *catalogPage) string { return p.next }),
	}, &catalogPage{catalogs, next})
}

// AppendCatalogsCSV appends catalogues by RFC 4180: a header line and one line a
// catalogue.
func AppendCatalogsCSV(dst []byte, catalogs []Catalog) []byte {
	w := writer{b: appendHeader(dst, catalogColumns), bare: true}
	for i := range catalogs {
		appendLine(&w, catalogColumns, &catalogs[i])
	}
	return w.b
}
