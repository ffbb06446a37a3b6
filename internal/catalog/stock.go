package catalog

import (
	"slices"
	"sync"

	"midstroke/internal/mount"
)

// stockedShelf is the shelf of the parts that are in stock, made when it is first
// asked for.
type stockedShelf struct {
	once  sync.Once
	shelf *mount.Shelf
}

// shelfOf gives the hardware: all of it, or what is in stock.
func (s *Snapshot) shelfOf(inStock bool) *mount.Shelf {
	if !inStock {
		return s.shelf
	}
	s.stocked.once.Do(func() {
		c := &s.contents
		s.stocked.shelf = mount.NewShelf(
			stocked(c.Sleeves, func(p *mount.Sleeve) bool { return s.InStock(p.Code, p.InStock, 1) }),
			stocked(c.Spacers, func(p *mount.Spacer) bool { return s.InStock(p.Code, p.InStock, 1) }),
			stocked(c.Adapters, func(p *mount.Adapter) bool { return s.InStock(p.Code, p.InStock, 1) }), c.Limits)
	})
	return s.stocked.shelf
}

func stocked[P any](parts []P, inStock func(*P) bool) []P {
	return slices.DeleteFunc(slices.Clone(parts), func(p P) bool { return !inStock(&p) })
}
