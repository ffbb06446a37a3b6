package demo

import (
	"fmt"

	"midstroke/internal/mount"
	"midstroke/internal/unit"
)

// sleeves makes n sleeves: first those that an everyday counter needs, as far
// as n goes, then drawn ones.
//
// The everyday ones reduce each bushing bore of the demo's eyes to the bolts
// that it may meet: outer at the bore or a twentieth of a millimetre under it,
// bore a fifth of a millimetre or 1/64 in over the bolt, so that both gaps lie
// within the limits of common practice. Some are listed by the bolt alone, as
// real lists do it.
func sleeves(seed int64, n int) []mount.Sleeve {
	d := newDraw(seed, 2)
	list := everydaySleeves()
	for len(list) < n {
		// An odd size: any outer from 12 to 24 mm with a wall of 1.2 to 4 mm.
		outer := unit.Length(120+d.below(121)) * 100 * um
		wall := unit.Length(12+d.below(29)) * 100 * um
		list = append(list, mount.Sleeve{
			Outer: outer, Bore: max(outer-2*wall, 6500*um),
			Length: unit.Length(24+d.below(30)) * mm,
		})
	}
	list = list[:n]
	for i := range list {
		s := &list[i]
		s.Code = fmt.Sprintf("demo-sleeve-%02d", i+1)
		s.Description = "invented demo sleeve"
		s.InStock = d.chance(85)
		s.Price = mount.Price(180 + 10*d.below(60))
	}
	return list
}

func everydaySleeves() []mount.Sleeve {
	// bushing is one bore and the sleeves that reduce it, in each length.
	type bushing struct {
		outer, metricOuter unit.Length
		lengths            []unit.Length
		nominal            []unit.Length // named by the bolt
		actual             []unit.Length // true bores
	}
	const free = 200 * um // of a metric bore over its bolt
	bushings := []bushing{
		{ // 3/4 in, the common one: 7/16, 1/2, 5/8 in, M10, M12, M14
			outer: inches(0, 48), metricOuter: 19 * mm,
			lengths: []unit.Length{inches(1, 16), inches(1, 24), inches(1, 32)},
			nominal: []unit.Length{inches(0, 28), inches(0, 32)},
			actual:  []unit.Length{inches(0, 29), inches(0, 33), inches(0, 41), 10*mm + free, 12*mm + free, 14*mm + free},
		},
		{ // 5/8 in: 7/16, 1/2 in, M10, M12
			outer: inches(0, 40), metricOuter: 15800 * um,
			lengths: []unit.Length{inches(1, 16), inches(1, 32)},
			nominal: []unit.Length{inches(0, 28)},
			actual:  []unit.Length{inches(0, 33), 10*mm + free, 12*mm + free},
		},
		{ // 16 mm: 7/16 in, 1/2 in, M10, M12
			outer: 15950 * um, metricOuter: 15900 * um,
			lengths: []unit.Length{32 * mm, 36 * mm, 40 * mm},
			nominal: []unit.Length{12 * mm},
			actual:  []unit.Length{inches(0, 29), inches(0, 33), 10*mm + free, 12*mm + free},
		},
		{ // 20 mm: 1/2, 5/8 in, M12, M14, M16
			outer: 19950 * um, metricOuter: 19900 * um,
			lengths: []unit.Length{40 * mm, 46 * mm},
			nominal: []unit.Length{14 * mm},
			actual:  []unit.Length{inches(0, 33), inches(0, 41), 12*mm + free, 14*mm + free, 16*mm + free},
		},
	}
	var list []mount.Sleeve
	for _, b := range bushings {
		for _, length := range b.lengths {
			for _, bolt := range b.nominal {
				list = append(list, mount.Sleeve{Outer: b.outer, Bore: bolt, BoreIs: mount.Nominal, Length: length})
			}
			for _, bore := range b.actual {
				outer := b.outer
				if bore%in64 != 0 {
					outer = b.metricOuter
				}
				list = append(list, mount.Sleeve{Outer: outer, Bore: bore, Length: length})
			}
		}
	}
	// Sleeves that go into another sleeve or a bushing for a bolt of its own
	// size, and from one common bushing to the next smaller.
	return append(list,
		mount.Sleeve{Outer: 19950 * um, Bore: 16 * mm, Length: 40 * mm},
		mount.Sleeve{Outer: 19950 * um, Bore: inches(0, 48), Length: 40 * mm},
		mount.Sleeve{Outer: inches(0, 48), Bore: inches(0, 40), Length: inches(1, 32)},
		mount.Sleeve{Outer: 14 * mm, Bore: 12200 * um, Length: 40 * mm},
		mount.Sleeve{Outer: 12100 * um, Bore: 10200 * um, Length: 36 * mm},
		mount.Sleeve{Outer: 12100 * um, Bore: 10200 * um, Length: 40 * mm},
		mount.Sleeve{Outer: 10100 * um, Bore: 8200 * um, Length: 32 * mm},
		mount.Sleeve{Outer: inches(0, 41), Bore: inches(0, 33), Length: inches(1, 32)},
	)
}

// spacers makes n spacers: first a set for everyday bolts, then drawn ones.
func spacers(seed int64, n int) []mount.Spacer {
	d := newDraw(seed, 3)
	var list []mount.Spacer
	for _, bore := range []unit.Length{10500 * um, 12500 * um, 14500 * um, 16500 * um} {
		for _, thickness := range []unit.Length{500 * um, 1 * mm, 2 * mm, 3 * mm} {
			list = append(list, mount.Spacer{Bore: bore, Thickness: thickness})
		}
	}
	for _, bore := range []unit.Length{inches(0, 29), inches(0, 33)} {
		for _, thickness := range []unit.Length{inches(0, 2), inches(0, 4), inches(0, 8), inches(0, 16)} {
			list = append(list, mount.Spacer{Bore: bore, Thickness: thickness})
		}
	}
	for len(list) < n {
		list = append(list, mount.Spacer{
			Bore:      unit.Length(8+d.below(17))*mm + 500*um,
			Thickness: unit.Length(1+d.below(60)) * 100 * um,
		})
	}
	list = list[:n]
	for i := range list {
		s := &list[i]
		s.Code = fmt.Sprintf("demo-spacer-%02d", i+1)
		s.Description = "invented demo spacer"
		s.InStock = d.chance(90)
		s.Price = mount.Price(40 + 5*d.below(30))
	}
	return list
}

// adapters makes n adapters: first one or more for every change of style,
// then drawn ones.
func adapters(seed int64, n int) []mount.Adapter {
	d := newDraw(seed, 4)
	inch, metric := inchSeries(), metricSeries()
	styled := func(style mount.Style) func(s *series, i int) mount.End {
		return func(s *series, i int) mount.End {
			e := s.ends[style][i]
			e.Style = style
			return e
		}
	}
	eye, stud, bar := styled(mount.Eye), styled(mount.Stud), styled(mount.BarPin)

	list := []mount.Adapter{
		{From: stud(inch, 0), To: eye(inch, 0), AddsLength: inches(1, 16)},
		{From: stud(inch, 3), To: eye(inch, 0), AddsLength: inches(1, 32)},
		{From: stud(metric, 0), To: eye(metric, 0), AddsLength: 30 * mm},
		{From: stud(metric, 2), To: eye(metric, 2), AddsLength: 34 * mm},
		{From: eye(inch, 0), To: stud(inch, 0), AddsLength: inches(0, 56)},
		{From: eye(metric, 0), To: stud(metric, 2), AddsLength: 25 * mm},
		{From: eye(inch, 0), To: bar(inch, 1), AddsLength: 0},
		{From: eye(metric, 0), To: bar(metric, 1), AddsLength: 0},
		{From: bar(inch, 1), To: eye(inch, 0), AddsLength: inches(0, 48)},
		{From: bar(metric, 1), To: eye(metric, 0), AddsLength: 20 * mm},
		{From: stud(inch, 0), To: bar(inch, 0), AddsLength: inches(1, 0)},
		{From: bar(metric, 2), To: stud(metric, 2), AddsLength: 28 * mm},
		// Longer or shorter without a change of style. One that shortens
		// carries the new bolt beside the old eye.
		{From: eye(inch, 0), To: eye(inch, 0), AddsLength: inches(1, 0)},
		{From: stud(metric, 2), To: stud(metric, 2), AddsLength: 25 * mm},
		{From: eye(inch, 0), To: eye(inch, 0), AddsLength: -inches(0, 48)},
		{From: eye(metric, 0), To: eye(metric, 0), AddsLength: -15 * mm},
	}
	once, _ := pairs()
	for len(list) < n {
		s := inch
		if d.chance(50) {
			s = metric
		}
		change := pick(d, once)
		list = append(list, mount.Adapter{
			From: s.end(d, change.upper), To: s.end(d, change.lower),
			AddsLength: unit.Length(d.below(56)-15) * mm,
		})
	}
	list = list[:n]
	for i := range list {
		a := &list[i]
		a.Code = fmt.Sprintf("demo-adapter-%02d", i+1)
		a.Description = "invented demo adapter, " + plain(a.From.Style) + " to " + plain(a.To.Style)
		a.InStock = d.chance(80)
		a.Price = mount.Price(900 + 25*d.below(80))
	}
	return list
}
