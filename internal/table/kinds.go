package table

import (
	"strings"

	"midstroke/internal/catalog"
	"midstroke/internal/mount"
	"midstroke/internal/unit"
)

// A kind is what the rows of one table are.
type kind[T any] struct {
	file    string // its name among the files of a catalogue
	one     string // what a row of it is
	columns []column[T]
	// blank gives a row with none of its cells filled.
	blank func() T
	// code gives a row's code, which is unique in its file; nil where rows
	// have none.
	code func(*T) string
	// priced says whether a row has a price; nil where rows have none.
	priced func(*T) bool
	// check finds what only the whole of a row shows. Fields that are 0 were
	// not given, or not readable.
	check func(*T, complain)
}

// table gives the name of the kind's table, "dampers".
func (k *kind[T]) table() string { return strings.TrimSuffix(k.file, ".csv") }

// complain reports what is wrong with a row at one of its columns.
type complain func(column, code, detail, cure string)

// The names of the files of a catalogue.
const (
	SettingsFile = "catalog.csv"
	DampersFile  = "dampers.csv"
	SleevesFile  = "sleeves.csv"
	SpacersFile  = "spacers.csv"
	AdaptersFile = "adapters.csv"
)

func dampersKind() kind[catalog.Damper] {
	type T = catalog.Damper
	columns := []column[T]{
		codeColumn(func(d *T) *string { return &d.Code }),
		descriptionColumn(func(d *T) *string { return &d.Description }),
		{
			name: "construction", needed: true,
			read: func(d *T, c cell) *trouble {
				var ok bool
				if d.Construction, ok = termed(c.text, catalog.ParseConstruction); !ok {
					return &trouble{"construction", "there is no such construction", "write twin_tube or monotube"}
				}
				return nil
			},
			write: func(d *T, _ unit.System) string { return d.Construction.String() },
		},
		yesColumn("gas", func(d *T) *bool { return &d.Gas }),
		{
			name: "adjusters", form: list,
			read: func(d *T, c cell) *trouble {
				for item := range strings.SplitSeq(c.text, "|") {
					one, ok := termed(strings.TrimSpace(item), catalog.ParseAdjuster)
					if !ok {
						return &trouble{"adjusters", "this names something that isn't adjusted on a damper",
							"write " + strings.Join(catalog.AdjusterNames(), ", ") + " or several of them parted by |"}
					}
					d.Adjusters |= one
				}
				return nil
			},
			write: func(d *T, _ unit.System) string { return strings.Join(d.Adjusters.Names(), "|") },
		},
		neededLength("compressed", func(d *T) *unit.Length { return &d.Compressed }),
		neededLength("extended", func(d *T) *unit.Length { return &d.Extended }),
		lengthOrNought("length_tolerance", true, func(d *T) *unit.Length { return &d.LengthTolerance }),
		neededLength("body_diameter", func(d *T) *unit.Length { return &d.BodyDiameter }),
	}
	columns = append(columns, endColumns("upper", func(d *T) *mount.End { return &d.Upper })...)
	columns = append(columns, endColumns("lower", func(d *T) *mount.End { return &d.Lower })...)
	columns = append(columns,
		yesColumn("invertible", func(d *T) *bool { return &d.Invertible }),
		yesColumn("in_stock", func(d *T) *bool { return &d.InStock }),
		priceColumn(func(d *T) *mount.Price { return &d.Price }),
	)
	return kind[T]{
		file: DampersFile, one: "damper", columns: columns, check: checkDamper,
		blank:  func() T { return T{Price: mount.NoPrice} },
		code:   func(d *T) string { return d.Code },
		priced: func(d *T) bool { return d.Price != mount.NoPrice },
	}
}

func sleevesKind() kind[mount.Sleeve] {
	type T = mount.Sleeve
	return kind[T]{
		file: SleevesFile, one: "sleeve", check: checkSleeve,
		columns: []column[T]{
			codeColumn(func(s *T) *string { return &s.Code }),
			descriptionColumn(func(s *T) *string { return &s.Description }),
			neededLength("outer", func(s *T) *unit.Length { return &s.Outer }),
			neededLength("bore", func(s *T) *unit.Length { return &s.Bore }),
			boreIsColumn("bore_is", func(s *T) *mount.BoreIs { return &s.BoreIs }, func(*T) bool { return true }),
			neededLength("length", func(s *T) *unit.Length { return &s.Length }),
			yesColumn("in_stock", func(s *T) *bool { return &s.InStock }),
			priceColumn(func(s *T) *mount.Price { return &s.Price }),
		},
		blank:  func() T { return T{Price: mount.NoPrice} },
		code:   func(s *T) string { return s.Code },
		priced: func(s *T) bool { return s.Price != mount.NoPrice },
	}
}

func spacersKind() kind[mount.Spacer] {
	type T = mount.Spacer
	return kind[T]{
		file: SpacersFile, one: "spacer", check: checkSpacer,
		columns: []column[T]{
			codeColumn(func(s *T) *string { return &s.Code }),
			descriptionColumn(func(s *T) *string { return &s.Description }),
			neededLength("bore", func(s *T) *unit.Length { return &s.Bore }),
			neededLength("thickness", func(s *T) *unit.Length { return &s.Thickness }),
			yesColumn("in_stock", func(s *T) *bool { return &s.InStock }),
			priceColumn(func(s *T) *mount.Price { return &s.Price }),
		},
		blank:  func() T { return T{Price: mount.NoPrice} },
		code:   func(s *T) string { return s.Code },
		priced: func(s *T) bool { return s.Price != mount.NoPrice },
	}
}

func adaptersKind() kind[mount.Adapter] {
	type T = mount.Adapter
	columns := []column[T]{
		codeColumn(func(a *T) *string { return &a.Code }),
		descriptionColumn(func(a *T) *string { return &a.Description }),
	}
	columns = append(columns, endColumns("from", func(a *T) *mount.End { return &a.From })...)
	columns = append(columns, endColumns("to", func(a *T) *mount.End { return &a.To })...)
	columns = append(columns,
		column[T]{
			name: "adds_length", form: amount, needed: true, length: true, bare: true,
			read: func(a *T, c cell) (t *trouble) {
				a.AddsLength, t = c.length()
				return t
			},
			write: func(a *T, _ unit.System) string { return exactMm(a.AddsLength) },
		},
		yesColumn("in_stock", func(a *T) *bool { return &a.InStock }),
		priceColumn(func(a *T) *mount.Price { return &a.Price }),
	)
	return kind[T]{
		file: AdaptersFile, one: "adapter", columns: columns, check: checkAdapter,
		blank:  func() T { return T{Price: mount.NoPrice} },
		code:   func(a *T) string { return a.Code },
		priced: func(a *T) bool { return a.Price != mount.NoPrice },
	}
}

// Settings are what one catalogue sets for all of its parts.
type Settings struct {
	Currency string // ISO 4217, "" where no part has a price
	Limits   mount.Limits
}

func settingsKind() kind[Settings] {
	type T = Settings
	return kind[T]{
		file: SettingsFile, one: "catalog", check: checkSettings,
		columns: []column[T]{
			{
				name: "currency",
				read: func(s *T, c cell) *trouble {
					s.Currency = strings.Clone(c.text)
					return nil
				},
				write: func(s *T, _ unit.System) string { return s.Currency },
			},
			lengthOrNought("sleeve_gap_least", false, func(s *T) *unit.Length { return &s.Limits.SleeveGapLeast }),
			lengthOrNought("sleeve_gap_most", false, func(s *T) *unit.Length { return &s.Limits.SleeveGapMost }),
			lengthOrNought("bolt_gap_least", false, func(s *T) *unit.Length { return &s.Limits.BoltGapLeast }),
			lengthOrNought("bolt_gap_most", false, func(s *T) *unit.Length { return &s.Limits.BoltGapMost }),
			lengthOrNought("left_over_most", false, func(s *T) *unit.Length { return &s.Limits.LeftOverMost }),
		},
		blank: func() T { return T{Limits: mount.UsualLimits()} },
	}
}

// endColumns are the columns of one end, their names beginning with prefix.
func endColumns[T any](prefix string, end func(*T) *mount.End) []column[T] {
	at := func(name string, field func(*mount.End) *unit.Length) column[T] {
		return knownLength(prefix+"_"+name, func(t *T) *unit.Length { return field(end(t)) })
	}
	columns := []column[T]{
		{
			name: prefix + "_style", needed: true,
			read: func(t *T, c cell) *trouble {
				style, ok := termed(c.text, mount.ParseStyle)
				switch {
				case !ok:
					return &trouble{"style", "there is no such style of end", "write eye, stud or bar_pin"}
				case len(style.Planes()) == 0:
					return &trouble{"style_outside_method", "an end of this style is outside the method", "leave the part out; only ends of style eye, stud and bar_pin can be matched"}
				}
				end(t).Style = style
				return nil
			},
			write: func(t *T, _ unit.System) string { return end(t).Style.String() },
		},
		at("bore", func(e *mount.End) *unit.Length { return &e.Bore }),
		boreIsColumn(prefix+"_bore_is", func(t *T) *mount.BoreIs { return &end(t).BoreIs }, func(t *T) bool { return end(t).Bore != 0 }),
		at("width", func(e *mount.End) *unit.Length { return &e.Width }),
		{
			name: prefix + "_thread",
			read: func(t *T, c cell) (bad *trouble) {
				end(t).Thread, bad = c.thread()
				return bad
			},
			write: func(t *T, _ unit.System) string { return end(t).Thread.String() },
		},
		at("usable_length", func(e *mount.End) *unit.Length { return &e.UsableLength }),
		at("spigot", func(e *mount.End) *unit.Length { return &e.Spigot }),
		at("hole_spacing", func(e *mount.End) *unit.Length { return &e.HoleSpacing }),
		at("slot", func(e *mount.End) *unit.Length { return &e.Slot }),
		at("hole", func(e *mount.End) *unit.Length { return &e.Hole }),
	}
	for i := range columns {
		columns[i].group = prefix
	}
	return columns
}

func codeColumn[T any](field func(*T) *string) column[T] {
	return column[T]{
		name: "code", form: free, needed: true,
		// The text of a row is one allocation: what is kept is cut out of it.
		read: func(t *T, c cell) *trouble {
			*field(t) = strings.Clone(c.text)
			return codeTrouble(c.text)
		},
		write: func(t *T, _ unit.System) string { return *field(t) },
	}
}

func descriptionColumn[T any](field func(*T) *string) column[T] {
	return column[T]{
		name: "description", form: free,
		read: func(t *T, c cell) *trouble {
			*field(t) = strings.Clone(c.text)
			return descriptionTrouble(c.text)
		},
		write: func(t *T, _ unit.System) string { return *field(t) },
	}
}

func yesColumn[T any](name string, field func(*T) *bool) column[T] {
	return column[T]{
		name: name, form: yesNo,
		read: func(t *T, c cell) (bad *trouble) {
			*field(t), bad = c.yesOrNo()
			return bad
		},
		write: func(t *T, _ unit.System) string { return yesOrNoText(*field(t)) },
	}
}

func priceColumn[T any](field func(*T) *mount.Price) column[T] {
	return column[T]{
		name: "price", form: amount,
		read: func(t *T, c cell) (bad *trouble) {
			*field(t), bad = c.price()
			return bad
		},
		write: func(t *T, _ unit.System) string { return priceText(*field(t)) },
	}
}

// boreIsColumn is written only where there is a bore.
func boreIsColumn[T any](name string, field func(*T) *mount.BoreIs, hasBore func(*T) bool) column[T] {
	return column[T]{
		name: name,
		read: func(t *T, c cell) *trouble {
			is, ok := termed(c.text, mount.ParseBoreIs)
			if !ok {
				return &trouble{"bore_is", "this doesn't say how the bore is given", "write actual for its true size or nominal for the bolt that it is for"}
			}
			*field(t) = is
			return nil
		},
		write: func(t *T, _ unit.System) string {
			if !hasBore(t) {
				return ""
			}
			return field(t).String()
		},
	}
}

// neededLength is a length above zero that must be given.
func neededLength[T any](name string, field func(*T) *unit.Length) column[T] {
	c := knownLength(name, field)
	c.needed = true
	return c
}

// knownLength is a length above zero, 0 in a row where it isn't known.
func knownLength[T any](name string, field func(*T) *unit.Length) column[T] {
	return column[T]{
		name: name, length: true,
		read: func(t *T, c cell) (bad *trouble) {
			*field(t), bad = c.atLeast(unit.Nanometre)
			return bad
		},
		write: func(t *T, units unit.System) string {
			if *field(t) == 0 {
				return ""
			}
			return exactText(*field(t), units)
		},
	}
}

// lengthOrNought is a length that may be nought, which is written out since an
// empty cell says something else.
func lengthOrNought[T any](name string, needed bool, field func(*T) *unit.Length) column[T] {
	return column[T]{
		name: name, needed: needed, length: true,
		read: func(t *T, c cell) (bad *trouble) {
			*field(t), bad = c.atLeast(0)
			return bad
		},
		write: func(t *T, units unit.System) string { return exactText(*field(t), units) },
	}
}

// termed reads a word as it is settled or in the looser form that people
// write: "Bar pin" is bar_pin.
func termed[V any](text string, parse func(string) (V, bool)) (V, bool) {
	if v, ok := parse(text); ok {
		return v, true
	}
	return parse(strings.ToLower(strings.Map(func(r rune) rune {
		if r == ' ' || r == '-' {
			return '_'
		}
		return r
	}, text)))
}
