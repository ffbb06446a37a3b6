package wire

import (
	"slices"

	"midstroke/internal/catalog"
	"midstroke/internal/damping"
	"midstroke/internal/mount"
	"midstroke/internal/unit"
)

// The members of parts follow from the fields of catalog's tables.
var (
	// damperMembers are what an answer says of a damper, and adapterMembers of an
	// adapter, whose price and stock stand in the pick list.
	damperMembers  = fieldMembers(pick(catalog.DamperTable(), func(f *catalog.Field[catalog.Damper]) bool { return f.Group == "" && !f.ListOnly && !f.Stock }))
	adapterMembers = fieldMembers(pick(catalog.AdapterTable(), func(f *catalog.Field[mount.Adapter]) bool { return !f.Stock }))

	// The members of parts in lists.
	listedDamper  = fieldMembers(catalog.DamperTable().Fields)
	listedSleeve  = fieldMembers(catalog.SleeveTable().Fields)
	listedSpacer  = fieldMembers(catalog.SpacerTable().Fields)
	listedAdapter = fieldMembers(catalog.AdapterTable().Fields)
)

// curveMembers are the forces at one position of the adjusters.
var curveMembers = members[damping.Curve]{
	aTextOrNull("position", func(c *damping.Curve) string { return c.Position }),
	pointFigures("velocity_m_s", func(p *damping.Point) float64 { return p.Velocity }),
	pointFigures("compression_n", func(p *damping.Point) float64 { return p.Compression }),
	pointFigures("rebound_n", func(p *damping.Point) float64 { return p.Rebound }),
}

// pointFigures lists one figure of each point of a curve.
func pointFigures(name string, get func(*damping.Point) float64) member[damping.Curve] {
	return aListOf(name, numberKind, func(c *damping.Curve) []damping.Point { return c.Points }, func(w *writer, p damping.Point) {
		w.appendFigure(get(&p), decimals)
	})
}

// pick gives the fields of a table for which wanted holds.
func pick[T any](t *catalog.Table[T], wanted func(*catalog.Field[T]) bool) []catalog.Field[T] {
	return slices.DeleteFunc(slices.Clone(t.Fields), func(f catalog.Field[T]) bool { return !wanted(&f) })
}

// fieldMembers are the members of fields: one for each field of the part itself,
// and one object for each end.
func fieldMembers[T any](fields []catalog.Field[T]) members[T] {
	var of members[T]
	for len(fields) > 0 {
		f := &fields[0]
		if f.Group == "" {
			of, fields = append(of, fieldMember(f, f.Name)), fields[1:]
			continue
		}
		n := slices.IndexFunc(fields, func(other catalog.Field[T]) bool { return other.Group != f.Group })
		if n < 0 {
			n = len(fields)
		}
		var end members[T]
		for i := range fields[:n] {
			g := &fields[i]
			if g.Beside {
				of = append(of, fieldMember(g, g.Name))
			}
			end = append(end, fieldMember(g, g.Member()))
		}
		of, fields = append(of, anObject(f.Group, end, itself)), fields[n:]
	}
	return of
}

// fieldMember is the member of one field, under a name.
func fieldMember[T any](f *catalog.Field[T], name string) member[T] {
	m := fieldValue(f, name)
	if f.Has != nil {
		m = when(m, f.Has)
	}
	return m
}

func fieldValue[T any](f *catalog.Field[T], name string) member[T] {
	switch f.Kind {
	case catalog.KindText:
		return aText(name, func(t *T) string { return *f.Text(t) })
	case catalog.KindLength, catalog.KindSigned:
		if f.Stored() && !f.Needed && f.Zero == catalog.ZeroUnknown {
			return aLengthOrNull(name, func(t *T) unit.Length { return *f.Length(t) })
		}
		return aLength(name, f.LengthOf)
	case catalog.KindMoney:
		return aPrice(f.Price)
	case catalog.KindYesNo:
		return aFlag(name, func(t *T) bool { return *f.YesNo(t) })
	case catalog.KindOneOf:
		if f.Words[0] == "" && !f.Needed {
			return aTextOrNull(name, func(t *T) string { return f.Words[*f.Choice(t)] })
		}
		return aText(name, func(t *T) string { return f.Words[*f.Choice(t)] })
	case catalog.KindListOf:
		lists := make([][]string, 1<<len(f.Words)) // by the set, so that an answer makes none
		for set := range lists {
			for i, word := range f.Words {
				if set&(1<<i) != 0 {
					lists[set] = append(lists[set], word)
				}
			}
		}
		return aListOf(name, textKind, func(t *T) []string { return lists[*f.Set(t)] }, (*writer).appendText)
	case catalog.KindThread:
		return aTextOrNull(name, func(t *T) string { return f.Thread(t).String() })
	case catalog.KindNumber:
		return plainValue(name, shape{kind: numberKind, null: true}, func(w *writer, t *T) {
			if n, known := f.Number(t); known {
				w.appendFigure(n, decimals)
			} else {
				w.appendNull()
			}
		})
	case catalog.KindForces:
		return inCells(name, curveMembers, func(t *T) []damping.Curve { return f.Forces(t).Curves() }, func(w *writer, c *damping.Curve) {
			w.b = damping.AppendCurve(w.b, c)
		})
	}
	panic("wire: no member for the field " + f.Name)
}
