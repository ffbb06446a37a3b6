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
	end.Add("/bolt", "missing", "measured to the bolt's edge, its diameter is needed")
	all.AddUnder("/lower", end)
	fmt.Println(all.Err())
	// Output: /lower/bolt: measured to the bolt's edge, its diameter is needed
}
