package library

import (
	"sync"

	"midstroke/internal/catalog"
)

// Stocks are the stocks of all shops in memory, beside their snapshots. The zero value
// has none and is ready for use. It is safe for any number of users.
type Stocks struct{ byShop sync.Map } // int64 → *catalog.Stock

// Replace puts a stock in the place of a shop's last one.
func (s *Stocks) Replace(shopID int64, stock *catalog.Stock) { s.byShop.Store(shopID, stock) }

// Of gives a shop's stock, nil where it has none.
func (s *Stocks) Of(shopID int64) *catalog.Stock {
	stock, _ := s.byShop.Load(shopID)
	found, _ := stock.(*catalog.Stock)
	return found
}
