package catalog_test

import (
	"testing"

	"midstroke/internal/catalog"
	"midstroke/testdata/demo"
)

// What a stock is seen with is made once for each kind of caller, also where they
// ask in turns.
func TestViewsOfAStockAreMadeOnce(t *testing.T) {
	s := catalog.NewSnapshot("demo", 1, demo.Generate(1, 20))
	code := s.Dampers()[0].Code
	stock := catalog.NewStock(1, []catalog.StockLine{{Code: code, Level: catalog.Level{Location: "north", Quantity: 3}}})
	told, untold := s.WithStock(stock, true), s.WithStock(stock, false)
	if told == untold || len(told.Levels(code)) != 1 || len(untold.Levels(code)) != 0 || !untold.InStock(code, false, 3) || untold.InStock(code, false, 4) {
		t.Errorf("levels %v and %v", told.Levels(code), untold.Levels(code))
	}
	if s.WithStock(stock, true) != told || s.WithStock(stock, false) != untold {
		t.Error("a view was made again")
	}
	if sold := s.WithStock(stock.With(2, []catalog.StockLine{{Code: code, Level: catalog.Level{Location: "north"}}}), true); sold == told || sold.InStock(code, true, 1) {
		t.Error("what is sold is still in stock")
	}
}
