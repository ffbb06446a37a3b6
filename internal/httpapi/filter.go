package httpapi

import (
	"strings"

	"midstroke/internal/catalog"
	"midstroke/internal/mount"
)

// The filters of the lists. Each reads its parameters and gives the test that
// a part must pass; parameters that are not given let every part pass.

func dampersFilter(q *query) func(*catalog.Damper) bool {
	upper, byUpper := choice(q, "upper", catalogStyles(), parseCatalogStyle)
	lower, byLower := choice(q, "lower", catalogStyles(), parseCatalogStyle)
	construction, byConstruction := choice(q, "construction",
		[]string{catalog.TwinTube.String(), catalog.Monotube.String()}, catalog.ParseConstruction)
	var adjusters catalog.Adjusters
	for _, name := range q.all("adjusters") {
		a, ok := catalog.ParseAdjuster(name)
		if !ok {
			q.fail("adjusters", "not_allowed", "must be one of %s", strings.Join(catalog.AdjusterNames(), ", "))
		}
		adjusters |= a
	}
	gas, invertible, inStock := q.flag("gas"), q.flag("invertible"), q.flag("in_stock")
	compressed, extended, stroke := q.between("compressed"), q.between("extended"), q.between("stroke")
	body := q.between("body_diameter")
	search := parseWords(q.text("q"))
	return func(d *catalog.Damper) bool {
		return (!byUpper || d.Upper.Style == upper) && (!byLower || d.Lower.Style == lower) &&
			(!byConstruction || d.Construction == construction) && d.Adjusters.Has(adjusters) &&
			is(gas, d.Gas) && is(invertible, d.Invertible) && is(inStock, d.InStock) &&
			compressed.holds(d.Compressed) && extended.holds(d.Extended) && stroke.holds(d.Stroke()) &&
			body.holds(d.BodyDiameter) && search.in(d.Code, d.Description)
	}
}

func sleevesFilter(q *query) func(*mount.Sleeve) bool {
	boreIs, byBoreIs := choice(q, "bore_is", []string{mount.Actual.String(), mount.Nominal.String()}, mount.ParseBoreIs)
	outer, bore, length := q.between("outer"), q.between("bore"), q.between("length")
	inStock := q.flag("in_stock")
	search := parseWords(q.text("q"))
	return func(s *mount.Sleeve) bool {
		return (!byBoreIs || s.BoreIs == boreIs) && outer.holds(s.Outer) && bore.holds(s.Bore) && length.holds(s.Length) &&
			is(inStock, s.InStock) && search.in(s.Code, s.Description)
	}
}

func spacersFilter(q *query) func(*mount.Spacer) bool {
	bore, thickness := q.between("bore"), q.between("thickness")
	inStock := q.flag("in_stock")
	search := parseWords(q.text("q"))
	return func(s *mount.Spacer) bool {
		return bore.holds(s.Bore) && thickness.holds(s.Thickness) &&
			is(inStock, s.InStock) && search.in(s.Code, s.Description)
	}
}

func adaptersFilter(q *query) func(*mount.Adapter) bool {
	from, byFrom := choice(q, "from_style", catalogStyles(), parseCatalogStyle)
	to, byTo := choice(q, "to_style", catalogStyles(), parseCatalogStyle)
	inStock := q.flag("in_stock")
	search := parseWords(q.text("q"))
	return func(a *mount.Adapter) bool {
		return (!byFrom || a.From.Style == from) && (!byTo || a.To.Style == to) &&
			is(inStock, a.InStock) && search.in(a.Code, a.Description)
	}
}

// catalogStyles lists the styles that ends in a catalogue have: those that
// the method has planes for.
func catalogStyles() []string {
	var names []string
	for _, name := range mount.Styles() {
		if _, ok := parseCatalogStyle(name); ok {
			names = append(names, name)
		}
	}
	return names
}

func parseCatalogStyle(name string) (mount.Style, bool) {
	style, ok := mount.ParseStyle(name)
	return style, ok && len(style.Planes()) > 0
}
