package catalog

import (
	"slices"

	"midstroke/internal/mount"
	"midstroke/internal/note"
	"midstroke/internal/unit"
)

// The tables of a catalogue. They never change.

// DamperTable describes dampers.
func DamperTable() *Table[Damper] { return &damperTable }

// SleeveTable describes sleeves.
func SleeveTable() *Table[mount.Sleeve] { return &sleeveTable }

// SpacerTable describes spacers.
func SpacerTable() *Table[mount.Spacer] { return &spacerTable }

// AdapterTable describes adapters.
func AdapterTable() *Table[mount.Adapter] { return &adapterTable }

// SettingsTable describes the settings of a catalogue.
func SettingsTable() *Table[Settings] { return &settingsTable }

var sleeveTable = Table[mount.Sleeve]{
	Name: "sleeves", Item: "sleeve", Blank: mount.Sleeve{Price: mount.NoPrice},
	Code:   func(s *mount.Sleeve) *string { return &s.Code },
	Price:  func(s *mount.Sleeve) *mount.Price { return &s.Price },
	Faults: (*mount.Sleeve).Faults,
	Fields: slices.Concat(
		identity(func(s *mount.Sleeve) *string { return &s.Code }, func(s *mount.Sleeve) *string { return &s.Description }),
		[]Field[mount.Sleeve]{
			length("outer", "field_outer", func(s *mount.Sleeve) *unit.Length { return &s.Outer }),
			length("bore", "field_own_bore", func(s *mount.Sleeve) *unit.Length { return &s.Bore }),
			{
				Name: "bore_is", Kind: KindOneOf, Words: mount.BoreIsNames.All(), WrongWord: "bore_is", Filter: "bore_is",
				Choice: func(s *mount.Sleeve) *uint8 { return (*uint8)(&s.BoreIs) },
				About:  "field_bore_is",
			},
			length("length", "field_length", func(s *mount.Sleeve) *unit.Length { return &s.Length }),
		},
		stock(func(s *mount.Sleeve) *bool { return &s.InStock }, func(s *mount.Sleeve) *mount.Price { return &s.Price }),
	),
}

var spacerTable = Table[mount.Spacer]{
	Name: "spacers", Item: "spacer", Blank: mount.Spacer{Price: mount.NoPrice},
	Code:   func(s *mount.Spacer) *string { return &s.Code },
	Price:  func(s *mount.Spacer) *mount.Price { return &s.Price },
	Faults: (*mount.Spacer).Faults,
	Fields: slices.Concat(
		identity(func(s *mount.Spacer) *string { return &s.Code }, func(s *mount.Spacer) *string { return &s.Description }),
		[]Field[mount.Spacer]{
			length("bore", "field_own_bore", func(s *mount.Spacer) *unit.Length { return &s.Bore }),
			length("thickness", "field_thickness", func(s *mount.Spacer) *unit.Length { return &s.Thickness }),
		},
		stock(func(s *mount.Spacer) *bool { return &s.InStock }, func(s *mount.Spacer) *mount.Price { return &s.Price }),
	),
}

var adapterTable = Table[mount.Adapter]{
	Name: "adapters", Item: "adapter", Blank: mount.Adapter{Price: mount.NoPrice},
	Code:   func(a *mount.Adapter) *string { return &a.Code },
	Price:  func(a *mount.Adapter) *mount.Price { return &a.Price },
	Faults: (*mount.Adapter).Faults,
	Fields: slices.Concat(
		identity(func(a *mount.Adapter) *string { return &a.Code }, func(a *mount.Adapter) *string { return &a.Description }),
		end("from", "from_style", true, func(a *mount.Adapter) *mount.End { return &a.From }),
		end("to", "to_style", true, func(a *mount.Adapter) *mount.End { return &a.To }),
		[]Field[mount.Adapter]{{
			Name: "adds_length", Kind: KindSigned, Needed: true, Zero: ZeroCounts,
			Length: func(a *mount.Adapter) *unit.Length { return &a.AddsLength },
			About:  "field_adds_length",
		}},
		stock(func(a *mount.Adapter) *bool { return &a.InStock }, func(a *mount.Adapter) *mount.Price { return &a.Price }),
	),
}

// identity are the fields that name a part.
func identity[T any](code, description func(*T) *string) []Field[T] {
	return []Field[T]{
		{Name: "code", Kind: KindText, Needed: true, Unique: true, Searched: true, Text: code, About: "field_code"},
		{Name: "description", Kind: KindText, Searched: true, Text: description, About: "field_description"},
	}
}

// stock are the fields for a part's availability and price.
func stock[T any](inStock func(*T) *bool, price func(*T) *mount.Price) []Field[T] {
	return []Field[T]{
		{Name: "in_stock", Kind: KindYesNo, Stock: true, Filter: "in_stock", YesNo: inStock, About: "field_in_stock"},
		{Name: "price", Kind: KindMoney, Stock: true, Price: price, About: "field_price"},
	}
}

// length is a length that every part has and that lists are filtered by.
func length[T any](name string, about note.Code, field func(*T) *unit.Length) Field[T] {
	return Field[T]{Name: name, Kind: KindLength, Needed: true, Filter: name, Length: field, About: about}
}

// yesNo is a yes or no that lists are filtered by.
func yesNo[T any](name string, about note.Code, field func(*T) *bool) Field[T] {
	return Field[T]{Name: name, Kind: KindYesNo, Filter: name, YesNo: field, About: about}
}

// end are the fields of one end of a part: its style, by which lists are
// filtered, and the measures of all styles.
func end[T any](group, filter string, beside bool, of func(*T) *mount.End) []Field[T] {
	fields := []Field[T]{{
		Name: group + "_style", Kind: KindOneOf, Needed: true, Words: mount.Styles, Offered: mount.BoltedStyleNames(), WrongWord: "style", Filter: filter, Beside: beside,
		Choice: func(t *T) *uint8 { return (*uint8)(&of(t).Style) },
		About:  "field_style",
	}}
	for _, m := range mount.Measures() {
		f := Field[T]{
			Name: group + "_" + m.Name, About: m.About,
			Has: func(t *T) bool { return of(t).Style == m.Style },
		}
		switch {
		case m.Length != nil:
			f.Kind, f.Length = KindLength, func(t *T) *unit.Length { return m.Length(of(t)) }
			if m.ZeroIsNone {
				f.Zero = ZeroNone
			}
		case m.Thread != nil:
			f.Kind, f.Thread = KindThread, func(t *T) *mount.Thread { return m.Thread(of(t)) }
		default:
			f.Kind, f.Words, f.WrongWord = KindOneOf, mount.BoreIsNames.All(), "bore_is"
			f.Choice = func(t *T) *uint8 { return (*uint8)(m.BoreIs(of(t))) }
			f.Known = func(t *T) bool { return of(t).Bore != 0 }
		}
		fields = append(fields, f)
	}
	for i := range fields {
		fields[i].Group = group
	}
	return fields
}
