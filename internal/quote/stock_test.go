package quote_test

import (
	"errors"
	"reflect"
	"testing"

	"midstroke/internal/catalog"
	"midstroke/internal/quote"
)

func line(code, location string, quantity int) catalog.StockLine {
	return catalog.StockLine{Code: code, Level: catalog.Level{Location: location, Quantity: quantity}}
}

// The expected figures are worked out by hand.
func TestTake(t *testing.T) {
	lines := []catalog.StockLine{line("d", "main", 3), line("d", "van", 2), line("s", "main", 0)}
	for name, c := range map[string]struct {
		needs []quote.Need
		at    string
		want  []quote.Taken
		short []quote.Short
	}{
		"from the first location":       {[]quote.Need{{"d", 2}}, "", []quote.Taken{{"d", "main", 2}}, nil},
		"from two":                      {[]quote.Need{{"d", 5}}, "", []quote.Taken{{"d", "main", 3}, {"d", "van", 2}}, nil},
		"from the one that is named":    {[]quote.Need{{"d", 2}}, "van", []quote.Taken{{"d", "van", 2}}, nil},
		"one more than there is":        {[]quote.Need{{"d", 6}}, "", nil, []quote.Short{{"d", "", 6, 5}}},
		"more than the one has":         {[]quote.Need{{"d", 3}}, "van", nil, []quote.Short{{"d", "van", 3, 2}}},
		"a location without the part":   {[]quote.Need{{"d", 1}}, "attic", nil, []quote.Short{{"d", "attic", 1, 0}}},
		"all that lack":                 {[]quote.Need{{"d", 9}, {"s", 1}}, "", nil, []quote.Short{{"d", "", 9, 5}, {"s", "", 1, 0}}},
		"a part that nobody counts":     {[]quote.Need{{"x", 9}}, "", nil, nil},
		"that, and one that is counted": {[]quote.Need{{"x", 9}, {"d", 1}}, "", []quote.Taken{{"d", "main", 1}}, nil},
	} {
		got, err := quote.Take(c.needs, lines, c.at)
		var short *quote.ShortError
		if errors.As(err, &short) != (c.short != nil) || c.short != nil && !reflect.DeepEqual(short.Short, c.short) || !reflect.DeepEqual(got, c.want) {
			t.Errorf("%s: %v, %v", name, got, err)
		}
	}
}

func TestNeedsAddUpByCode(t *testing.T) {
	got := quote.NeedsOf([]quote.Line{{Code: "s", Quantity: 4}, {Code: "d", Quantity: 2}, {Text: "hexagon bolt", Quantity: 4}, {Code: "d", Quantity: 2}})
	if want := []quote.Need{{"d", 4}, {"s", 4}}; !reflect.DeepEqual(got, want) {
		t.Errorf("%v", got)
	}
}

// The contract's list of what may follow what.
func TestStatesFollow(t *testing.T) {
	may := map[[2]quote.State]bool{
		{quote.Kept, quote.Ordered}: true, {quote.Kept, quote.Cancelled}: true, {quote.Ordered, quote.Fitted}: true, {quote.Ordered, quote.Cancelled}: true,
	}
	all := []quote.State{quote.Kept, quote.Ordered, quote.Fitted, quote.Cancelled}
	for _, before := range all {
		for _, after := range all {
			if err := after.Follows(before); (err == nil) != may[[2]quote.State{before, after}] {
				t.Errorf("%v after %v: %v", after, before, err)
			}
		}
	}
}
