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
	return appendPage(dst, &p, dampers, (*writer).listedDamper)
}

// AppendSleeves appends a page of sleeves as JSON.
func AppendSleeves(dst []byte, p Page, sleeves []*mount.Sleeve) []byte {
	return appendPage(dst, &p, sleeves, (*writer).listedSleeve)
}

// AppendSpacers appends a page of spacers as JSON.
func AppendSpacers(dst []byte, p Page, spacers []*mount.Spacer) []byte {
	return appendPage(dst, &p, spacers, (*writer).listedSpacer)
}

// AppendAdapters appends a page of adapters as JSON.
func AppendAdapters(dst []byte, p Page, adapters []*mount.Adapter) []byte {
	return appendPage(dst, &p, adapters, (*writer).listedAdapter)
}

// AppendDamper appends one damper as JSON, as it stands in a list.
func AppendDamper(dst []byte, p Page, d *catalog.Damper) []byte {
	w := writer{b: dst, units: p.Units}
	w.open()
	w.text("units", p.Units.String())
	w.edition(&p.From)
	w.listedDamper(d, &p.From)
	w.close()
	return append(w.b, '\n')
}

func appendPage[P any](dst []byte, p *Page, parts []*P, write func(*writer, *P, *Edition)) []byte {
	w := writer{b: dst, units: p.Units}
	w.open()
	w.text("units", p.Units.String())
	w.edition(&p.From)
	w.key("items")
	w.openList()
	for _, part := range parts {
		w.open()
		write(&w, part, &p.From)
		w.close()
	}
	w.closeList()
	w.textOrNull("next_cursor", p.Next)
	w.close()
	return append(w.b, '\n')
}

func (w *writer) listedDamper(d *catalog.Damper, from *Edition) {
	w.damper(d)
	w.length("length_tolerance", d.LengthTolerance)
	w.end("upper", &d.Upper)
	w.end("lower", &d.Lower)
	w.flag("invertible", d.Invertible)
	w.stock(d.InStock, d.Price, from)
}

func (w *writer) listedSleeve(s *mount.Sleeve, from *Edition) {
	w.text("code", s.Code)
	w.text("description", s.Description)
	w.length("outer", s.Outer)
	w.length("bore", s.Bore)
	w.text("bore_is", s.BoreIs.String())
	w.length("length", s.Length)
	w.stock(s.InStock, s.Price, from)
}

func (w *writer) listedSpacer(s *mount.Spacer, from *Edition) {
	w.text("code", s.Code)
	w.text("description", s.Description)
	w.length("bore", s.Bore)
	w.length("thickness", s.Thickness)
	w.stock(s.InStock, s.Price, from)
}

func (w *writer) listedAdapter(a *mount.Adapter, from *Edition) {
	w.adapter(a)
	w.stock(a.InStock, a.Price, from)
}

// adapter writes an adapter's measures.
func (w *writer) adapter(a *mount.Adapter) {
	w.text("code", a.Code)
	w.text("description", a.Description)
	w.text("from_style", a.From.Style.String())
	w.text("to_style", a.To.Style.String())
	w.length("adds_length", a.AddsLength)
	w.end("from", &a.From)
	w.end("to", &a.To)
}

func (w *writer) stock(inStock bool, p mount.Price, from *Edition) {
	w.flag("in_stock", inStock)
	w.price("price", p, from.Currency)
}
