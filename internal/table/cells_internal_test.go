package table

import "testing"

func TestCellsAreCountedInWords(t *testing.T) {
	if one, two := cellsOf(1), cellsOf(2); one != "1 cell" || two != "2 cells" {
		t.Errorf("%q, %q", one, two)
	}
}
