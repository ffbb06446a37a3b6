package catalog

import (
	"cmp"
	"slices"
	"strings"
	"sync/atomic"

	"midstroke/internal/mount"
)

// Snapshot is one revision of a catalogue, ready to be searched. It never
// changes once made and is safe for any number of readers.
type Snapshot struct {
	listed
	serial  uint64
	memo    atomic.Pointer[memo]
	stocked stockedShelf

	// view is the stock that the snapshot is seen with, and base the snapshot without
	// it. last are the views that were last made of this one: without and with what
	// answers tell of the stock, for the keys of one shop ask for both in turns.
	view view
	base *Snapshot
	last [2]atomic.Pointer[Snapshot]
}

// listed is what a revision lists, with what is made of it. Every view of a snapshot has
// all of it.
type listed struct {
	name     string
	revision int
	contents Contents
	shelf    *mount.Shelf
	index    *Index
	forces   *forceTables
	adapted  map[mount.Style][][]int32 // places of adapters, by style, then by end
}

// NewSnapshot makes a snapshot of contents, which it takes over and sorts by
// code, so that the order of rows never shows in an answer. Codes are unique
// within their kind.
func NewSnapshot(name string, revision int, contents Contents) *Snapshot {
	sortByCode(contents.Dampers, func(d *Damper) string { return d.Code })
	sortByCode(contents.Sleeves, func(s *mount.Sleeve) string { return s.Code })
	sortByCode(contents.Spacers, func(s *mount.Spacer) string { return s.Code })
	sortByCode(contents.Adapters, func(a *mount.Adapter) string { return a.Code })
	forces := gathered(contents.Dampers)
	s := &Snapshot{serial: serials.Add(1), listed: listed{
		name: name, revision: revision, contents: contents,
		shelf: mount.NewShelf(contents.Sleeves, contents.Spacers, contents.Adapters, contents.Limits),
		index: newIndex(contents.Dampers, forces), forces: forces, adapted: map[mount.Style][][]int32{},
	}}
	places := map[string]int32{}
	for i := range contents.Adapters {
		places[contents.Adapters[i].Code] = int32(i)
	}
	for _, style := range mount.BoltedStyles() {
		byEnd := make([][]int32, s.index.Ends())
		for end := range byEnd {
			for _, a := range s.shelf.Adapted(*s.index.End(int32(end)), style) {
				byEnd[end] = append(byEnd[end], places[a.Code])
			}
		}
		s.adapted[style] = byEnd
	}
	s.memo.Store(&memo{})
	return s
}

// sortByCode sorts parts. They are large, so their codes are sorted, and each part is
// moved once.
func sortByCode[T any](parts []T, code func(*T) string) {
	type place struct {
		code string
		from int32
	}
	sorted := true
	for i := 1; i < len(parts) && sorted; i++ {
		sorted = code(&parts[i-1]) <= code(&parts[i])
	}
	if sorted {
		return
	}
	order := make([]place, len(parts))
	for i := range parts {
		order[i] = place{code(&parts[i]), int32(i)}
	}
	slices.SortFunc(order, func(a, b place) int { return cmp.Compare(a.code, b.code) })
	// Along each cycle of the moves, the first part is put aside until its place is free.
	for start := range order {
		if order[start].from < 0 {
			continue
		}
		aside, at := parts[start], start
		for {
			from := int(order[at].from)
			order[at].from = -1
			if from == start {
				parts[at] = aside
				break
			}
			parts[at] = parts[from]
			at = from
		}
	}
}

// Name is the catalogue's.
func (s *Snapshot) Name() string { return s.name }

// Revision is the number of the revision.
func (s *Snapshot) Revision() int { return s.revision }

// Serial tells the snapshot from every other that this process has made.
func (s *Snapshot) Serial() uint64 { return s.serial }

// Currency is the ISO 4217 code of every price.
func (s *Snapshot) Currency() string { return s.contents.Currency }

// Limits are the clearances within which parts go together.
func (s *Snapshot) Limits() mount.Limits { return s.contents.Limits }

// Settings are what the catalogue sets for all of its parts.
func (s *Snapshot) Settings() Settings { return s.contents.Settings() }

// Dampers lists every damper by code. The caller changes nothing in it, nor
// in the lists below.
func (s *Snapshot) Dampers() []Damper { return s.contents.Dampers }

// Sleeves lists every sleeve by code.
func (s *Snapshot) Sleeves() []mount.Sleeve { return s.contents.Sleeves }

// Spacers lists every spacer by code.
func (s *Snapshot) Spacers() []mount.Spacer { return s.contents.Spacers }

// Adapters lists every adapter by code.
func (s *Snapshot) Adapters() []mount.Adapter { return s.contents.Adapters }

// Shelf is the hardware, ready to be matched with an end.
func (s *Snapshot) Shelf() *mount.Shelf { return s.shelf }

// Adapted lists by code the places in Adapters of those that make the end of that
// number, as Index counts them, into one of the style.
func (s *Snapshot) Adapted(end int32, style mount.Style) []int32 {
	if byEnd := s.adapted[style]; byEnd != nil {
		return byEnd[end]
	}
	return nil
}

// Index finds dampers by their lengths.
func (s *Snapshot) Index() *Index { return s.index }

// Place finds a damper's place in Dampers by its code.
func (s *Snapshot) Place(code string) (int32, bool) {
	i, ok := slices.BinarySearchFunc(s.contents.Dampers, code, func(d Damper, code string) int {
		return strings.Compare(d.Code, code)
	})
	return int32(i), ok
}

// Damper finds a damper by its code.
func (s *Snapshot) Damper(code string) (*Damper, bool) {
	i, ok := s.Place(code)
	if !ok {
		return nil, false
	}
	return &s.contents.Dampers[i], true
}
