package fault_test

import (
	"fmt"
	"strings"
	"testing"

	"midstroke/internal/fault"
)

func TestNearest(t *testing.T) {
	names := []string{"opening", "planned_change", "top", "units", "reading_tolerance"}
	for _, c := range []struct{ name, want string }{ // by hand
		{"opnening", "opening"},
		{"planed_change", "planned_change"},
		{"unit", "units"},
		{"tpo", ""}, // two letters of three: a wild guess
		{"tob", "top"},
		{"tolerance", "reading_tolerance"}, // a part of it
		{"foo", ""},
		{"wheels", ""},
		{"", ""},
		{strings.Repeat("o", 1000), ""},
	} {
		if got := fault.Nearest(c.name, names); got != c.want {
			t.Errorf("nearest to %.20q is %q, want %q", c.name, got, c.want)
		}
	}
}

func ExampleList_AddUnder() {
	var end, all fault.List
	end.Add("/bolt", "missing.bolt_of_edge")
	all.AddUnder("/lower", end)
	fmt.Println(all.Err())
	// Output: /lower/bolt: the reading is to the bolt's edge, so its diameter is needed to find its centre
}
