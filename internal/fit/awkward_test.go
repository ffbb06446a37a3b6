package fit_test

import (
	"fmt"
	"slices"

	"midstroke/internal/catalog"
	"midstroke/internal/mount"
	"midstroke/internal/unit"
	"midstroke/testdata/demo"
)

// awkward are catalogues that a search by bounds may stumble over: so large that most
// of it is never opened, and everything is alike, or one damper is unlike all others, or
// there are more ends than a node of the index can tell apart.
func awkward() []*catalog.Snapshot {
	grow := func(name string, n int, change func(i int, d *catalog.Damper)) *catalog.Snapshot {
		c := demo.Generate(700+int64(n), n)
		for i := range c.Dampers {
			change(i, &c.Dampers[i])
		}
		return catalog.NewSnapshot(name, 1, c)
	}
	of := func(i int) *catalog.Damper { return &shapes[i%len(shapes)] }
	as := func(d *catalog.Damper, shape *catalog.Damper) {
		code, price := d.Code, d.Price
		*d = *shape
		d.Code, d.Price = code, price
	}
	return []*catalog.Snapshot{
		grow("all equal", 3000, func(_ int, d *catalog.Damper) { as(d, of(0)); d.Price = 9000 }),
		grow("equal but for the ends", 3001, func(i int, d *catalog.Damper) {
			d.Compressed, d.Extended, d.LengthTolerance, d.Price = 330*mm, 520*mm, unit.Millimetre, 9000
			d.InStock = i%3 > 0
		}),
		grow("ten shapes", 3002, func(i int, d *catalog.Damper) { as(d, of(i)) }),
		grow("lengths and prices in large steps", 3003, func(i int, d *catalog.Damper) {
			sixteenth := unit.Inch / 16
			d.Compressed, d.Extended = d.Compressed/(4*sixteenth)*4*sixteenth, d.Extended/(4*sixteenth)*4*sixteenth
			d.LengthTolerance, d.Price = unit.Length(i%3)*sixteenth, mount.Price(i%4)*3000
		}),
		grow("all short, one giant", 3004, func(i int, d *catalog.Damper) {
			d.Extended = d.Compressed + 70*mm
			if i == 137 {
				d.Extended = d.Compressed + 2000*mm
			}
		}),
		grow("prices equal", 3005, func(_ int, d *catalog.Damper) { d.Price = 9000 }),
		grow("nothing changed", 5000, func(int, *catalog.Damper) {}),
		grow("equal strokes, lengths in no order", 2000, func(i int, d *catalog.Damper) {
			as(d, of(0))
			stroke := d.Stroke()
			d.Compressed += unit.Length(i*7919%101) * 50 * unit.Micrometre
			d.Extended, d.Price = d.Compressed+stroke, 9000
		}),
		grow("some hundred ends a style", 3006, func(i int, d *catalog.Damper) {
			for _, e := range []*mount.End{&d.Upper, &d.Lower} {
				switch e.Style {
				case mount.Eye:
					e.Bore, e.Width = 11*mm+unit.Length(i%11)*500*unit.Micrometre, 28*mm+unit.Length(i%9)*500*unit.Micrometre
				case mount.Stud:
					e.UsableLength = 20*mm + unit.Length(i%97)*200*unit.Micrometre
				case mount.NoStyle, mount.BarPin, mount.Fork, mount.SpindleStrut:
				}
			}
		}),
	}
}

// shapes are ten dampers of the trees that most requests ask about.
var shapes = func() []catalog.Damper {
	all := demo.Generate(700, 400).Dampers
	all = slices.DeleteFunc(all, func(d catalog.Damper) bool {
		return d.Upper.Style != mount.Eye && d.Upper.Style != mount.Stud || d.Lower.Style != mount.Eye
	})
	if len(all) < 10 {
		panic(fmt.Sprint("only ", len(all), " such dampers"))
	}
	return all[:10]
}()
