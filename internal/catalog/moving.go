package catalog

import (
	"cmp"
	"maps"
	"slices"
)

// Stock is how many of each part are where. It is apart from the revisions of a
// catalogue and moves with every sale; a Stock itself never changes. A part is known
// by its code alone. Nil is no stock: the catalogue's own word counts.
type Stock struct {
	version   int64
	levels    map[string][]Level
	locations map[string]bool
}

// Level is how many of a part are at a location.
type Level struct {
	Location string
	Quantity int
}

// StockLine is a level of a part.
type StockLine struct {
	Code string
	Level
}

// NewStock makes a stock of lines, each of another code or location. version tells it
// from other states of the same stock; later ones are greater.
func NewStock(version int64, lines []StockLine) *Stock {
	return (*Stock)(nil).With(version, lines)
}

// With gives the stock with some lines in place of those of the same code and location.
func (s *Stock) With(version int64, lines []StockLine) *Stock {
	next := &Stock{version: version, levels: map[string][]Level{}, locations: map[string]bool{}}
	if s != nil {
		next.levels, next.locations = maps.Clone(s.levels), maps.Clone(s.locations)
	}
	for _, l := range lines {
		levels := slices.DeleteFunc(slices.Clone(next.levels[l.Code]), func(old Level) bool { return old.Location == l.Location })
		at, _ := slices.BinarySearchFunc(levels, l.Location, func(old Level, location string) int { return cmp.Compare(old.Location, location) })
		next.levels[l.Code] = slices.Insert(levels, at, l.Level)
		next.locations[l.Location] = true
	}
	return next
}

// Version tells the stock from other states of it.
func (s *Stock) Version() int64 {
	if s == nil {
		return 0
	}
	return s.version
}

// Empty says that it has no lines.
func (s *Stock) Empty() bool { return s == nil || len(s.levels) == 0 }

// Levels lists how many of a part are where, by location; none for a part without
// lines.
func (s *Stock) Levels(code string) []Level {
	if s == nil {
		return nil
	}
	return s.levels[code]
}

// HasLocation says whether any part has a line at a location.
func (s *Stock) HasLocation(location string) bool { return s != nil && s.locations[location] }

// view is a stock as answers of one kind see it.
type view struct {
	stock *Stock
	at    string // where parts must be, "" for anywhere
	shown bool   // answers tell how many there are
}

// WithStock gives the snapshot as it is with a stock. shown says whether answers tell how
// many there are.
func (s *Snapshot) WithStock(stock *Stock, shown bool) *Snapshot {
	if stock.Empty() {
		return s
	}
	return s.seenAs(view{stock, "", shown})
}

// At gives the snapshot as it is where only what is at a location of its stock is in
// stock. "" is anywhere.
func (s *Snapshot) At(location string) *Snapshot {
	if location == "" || !s.StockMoves() {
		return s
	}
	return s.seenAs(view{s.view.stock, location, s.view.shown})
}

func (s *Snapshot) seenAs(wanted view) *Snapshot {
	last := &s.last[0]
	if wanted.shown {
		last = &s.last[1]
	}
	if known := last.Load(); known != nil && known.view == wanted {
		return known
	}
	viewed := &Snapshot{listed: s.listed, serial: serials.Add(1), view: wanted, base: s}
	viewed.memo.Store(&memo{})
	last.Store(viewed)
	return viewed
}

// StockMoves says whether the snapshot has a stock beside what its catalogue says.
func (s *Snapshot) StockMoves() bool { return s.view.stock != nil }

// StockVersion is that of the stock, 0 for none.
func (s *Snapshot) StockVersion() int64 { return s.view.stock.Version() }

// HasLocation says whether the stock has a location.
func (s *Snapshot) HasLocation(location string) bool { return s.view.stock.HasLocation(location) }

// InStock says whether so many of a part can be had: by its lines of the stock, of all
// locations together unless the view has one, and by the catalogue's own word where it
// has none.
func (s *Snapshot) InStock(code string, listed bool, quantity int) bool {
	levels := s.view.stock.Levels(code)
	if len(levels) == 0 {
		return listed && s.view.at == ""
	}
	for _, l := range levels {
		if s.view.at == "" || l.Location == s.view.at {
			quantity -= l.Quantity
		}
	}
	return quantity <= 0
}

// Levels lists how many of a part are where, none where that isn't told.
func (s *Snapshot) Levels(code string) []Level {
	if !s.view.shown {
		return nil
	}
	return s.view.stock.Levels(code)
}
