package postgres

import (
	"slices"

	"midstroke/internal/catalog"
	"midstroke/internal/mount"
	"midstroke/internal/unit"
)

func dampers() table[catalog.Damper] {
	type T = catalog.Damper
	return table[T]{"dampers", slices.Concat(
		[]column[T]{
			textColumn("code", func(d *T) *string { return &d.Code }),
			textColumn("description", func(d *T) *string { return &d.Description }),
			termColumn("construction",
				func(d *T) string { return d.Construction.String() },
				func(d *T, text string) (ok bool) {
					d.Construction, ok = catalog.ParseConstruction(text)
					return ok
				}),
			yesColumn("gas", func(d *T) *bool { return &d.Gas }),
			adjusterColumn("adjusts_compression", catalog.Compression),
			adjusterColumn("adjusts_rebound", catalog.Rebound),
			adjusterColumn("adjusts_ride_height", catalog.RideHeight),
			lengthColumn("compressed", func(d *T) *unit.Length { return &d.Compressed }),
			lengthColumn("extended", func(d *T) *unit.Length { return &d.Extended }),
			lengthColumn("length_tolerance", func(d *T) *unit.Length { return &d.LengthTolerance }),
			lengthColumn("body_diameter", func(d *T) *unit.Length { return &d.BodyDiameter }),
		},
		endColumns("upper_", func(d *T) *mount.End { return &d.Upper }),
		endColumns("lower_", func(d *T) *mount.End { return &d.Lower }),
		[]column[T]{
			yesColumn("invertible", func(d *T) *bool { return &d.Invertible }),
			yesColumn("in_stock", func(d *T) *bool { return &d.InStock }),
			priceColumn(func(d *T) *mount.Price { return &d.Price }),
		},
	)}
}

func sleeves() table[mount.Sleeve] {
	type T = mount.Sleeve
	return table[T]{"sleeves", []column[T]{
		textColumn("code", func(s *T) *string { return &s.Code }),
		textColumn("description", func(s *T) *string { return &s.Description }),
		lengthColumn("outer_diameter", func(s *T) *unit.Length { return &s.Outer }),
		lengthColumn("bore", func(s *T) *unit.Length { return &s.Bore }),
		termColumn("bore_is",
			func(s *T) string { return s.BoreIs.String() },
			func(s *T, text string) (ok bool) { s.BoreIs, ok = mount.ParseBoreIs(text); return ok }),
		lengthColumn("length", func(s *T) *unit.Length { return &s.Length }),
		yesColumn("in_stock", func(s *T) *bool { return &s.InStock }),
		priceColumn(func(s *T) *mount.Price { return &s.Price }),
	}}
}

func spacers() table[mount.Spacer] {
	type T = mount.Spacer
	return table[T]{"spacers", []column[T]{
		textColumn("code", func(s *T) *string { return &s.Code }),
		textColumn("description", func(s *T) *string { return &s.Description }),
		lengthColumn("bore", func(s *T) *unit.Length { return &s.Bore }),
		lengthColumn("thickness", func(s *T) *unit.Length { return &s.Thickness }),
		yesColumn("in_stock", func(s *T) *bool { return &s.InStock }),
		priceColumn(func(s *T) *mount.Price { return &s.Price }),
	}}
}

func adapters() table[mount.Adapter] {
	type T = mount.Adapter
	return table[T]{"adapters", slices.Concat(
		[]column[T]{
			textColumn("code", func(a *T) *string { return &a.Code }),
			textColumn("description", func(a *T) *string { return &a.Description }),
		},
		endColumns("from_", func(a *T) *mount.End { return &a.From }),
		endColumns("to_", func(a *T) *mount.End { return &a.To }),
		[]column[T]{
			lengthColumn("adds_length", func(a *T) *unit.Length { return &a.AddsLength }),
			yesColumn("in_stock", func(a *T) *bool { return &a.InStock }),
			priceColumn(func(a *T) *mount.Price { return &a.Price }),
		},
	)}
}
