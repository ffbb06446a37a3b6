package note_test

import (
	"math"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"midstroke/internal/note"
	_ "midstroke/internal/seeded"
	"midstroke/internal/unit"
)

var systems = []unit.System{unit.Millimetres, unit.Inches}

// printed reads a length as a step prints it, in whole millionths of its unit.
func printed(t *rapid.T, v note.Value, s unit.System) float64 {
	text := v.Words(s)
	figure, _, _ := strings.Cut(text, " ")
	if n, err := strconv.ParseFloat(figure, 64); err == nil && !strings.Contains(text, "/") {
		return math.Round(n * 1e6)
	}
	l, err := unit.Parse(text, s)
	if err != nil {
		t.Fatal(err)
	}
	return math.Round(l.In(s) * 1e6)
}

// TestFollow: who subtracts the printed parts and rounds up as a need is rounded comes to
// the printed need, which is never less than the need.
func TestFollow(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		length := func(name string, from, to unit.Length) note.Value {
			return note.Len(name, unit.Length(rapid.Int64Range(int64(from), int64(to)).Draw(t, name)))
		}
		short, ride, long := length("short", 200*unit.Millimetre, 300*unit.Millimetre), length("ride", 300*unit.Millimetre, 400*unit.Millimetre), length("long", 400*unit.Millimetre, 500*unit.Millimetre)
		c, e := note.AtLeast("c", ride.Length-short.Length), note.AtLeast("e", long.Length-ride.Length)
		note.Follow(note.Difference(c, &ride, &short), note.Difference(e, &long, &ride))
		for _, s := range systems {
			step := float64(unit.SizeStep(s).Millionths(s))
			for _, line := range [][3]note.Value{{c, ride, short}, {e, long, ride}} {
				need, difference := printed(t, line[0], s), printed(t, line[1], s)-printed(t, line[2], s)
				// Where the sixth decimal of an inch is rounded the last one may differ.
				if got := math.Ceil(difference/step) * step; got != need && math.Abs(difference-need) > 1 && math.Abs(difference-(need-step)) > 1 {
					t.Errorf("%s less %s isn't %s", line[1].Words(s), line[2].Words(s), line[0].Words(s))
				}
				if need < float64(line[0].Length.Millionths(s)) {
					t.Errorf("%s is less than %d", line[0].Words(s), line[0].Length)
				}
			}
		}
	})
}

// TestFollowKeepsPartsShort: parts have no more decimals than are needed. By hand: 445.47
// less 399.31 is 46.16; 445.4744 less 399.3095 is 46.1649 and rounded up 46.17, which
// 445.474 less 399.31 is and 445.47 less 399.31 isn't.
func TestFollowKeepsPartsShort(t *testing.T) {
	for _, c := range []struct{ ride, short, want string }{
		{"445.47", "399.31", "445.47 mm - 399.31 mm = 46.16 mm"},
		{"445.4744", "399.3095", "445.474 mm - 399.31 mm = 46.17 mm"},
	} {
		ride, short := parsed(t, c.ride), parsed(t, c.short)
		from, less := note.Len("ride", ride), note.Len("short", short)
		need := note.AtLeast("need", ride-short)
		note.Follow(note.Difference(need, &from, &less))
		if got := from.Words(unit.Millimetres) + " - " + less.Words(unit.Millimetres) + " = " + need.Words(unit.Millimetres); got != c.want {
			t.Errorf("reads %q, want %q", got, c.want)
		}
	}
}

// TestColumn: each result is the one above it, as printed, and the change. By hand:
// 412.3333 and 5.55625 are 417.88955; 412.33 and 5.55625 are 417.88625, so that both are
// told as 417.89. 412.3349 and 5.5549 are 417.8898, and 412.33 and 5.5549 are 417.8849, told
// as 417.88: with a third decimal 412.335 and 5.5549 are 417.8899, told as 417.890.
func TestColumn(t *testing.T) {
	for _, c := range []struct{ first, change, want string }{
		{"412.3333", "5.55625", "412.33 mm, 417.89 mm"},
		{"412.3349", "5.5549", "412.335 mm, 417.89 mm"},
	} {
		first, change := parsed(t, c.first), parsed(t, c.change)
		one, two := note.Len("", first), note.Len("", first+change)
		note.Column([]note.ColumnLine{{Result: &one}, {Result: &two, Of: func(above []float64, s unit.System) float64 { return above[0] + change.In(s) }}})
		if got := one.Words(unit.Millimetres) + ", " + two.Words(unit.Millimetres); got != c.want {
			t.Errorf("reads %q, want %q", got, c.want)
		}
	}
}

// TestGivenInFull: what the caller gave comes back as it was given, and a need that was
// given in the other system of units is rounded up.
func TestGivenInFull(t *testing.T) {
	for _, c := range []struct {
		v        note.Value
		mm, inch string
	}{
		{v: note.Given("", parsed(t, "60.3253")), mm: "60.3253 mm", inch: "2.375012 in"},
		{v: note.Given("", 3*unit.Inch/8), mm: "9.525 mm", inch: "3/8 in"},
		{v: note.GivenAtLeast("", 60*unit.Millimetre), mm: "60 mm", inch: "2.363 in"},
		{v: note.GivenAtLeast("", 19*unit.Inch/8), mm: "60.325 mm", inch: "2 3/8 in"},
		{v: note.AtLeast("", parsed(t, "59.33468")), mm: "59.34 mm", inch: "2.337 in"}, // 2.336011 in
		{v: note.AtMost("", parsed(t, "59.33968")), mm: "59.33 mm", inch: "2.336 in"},  // 2.336208 in
		{v: note.GivenNum("", 0.69565, ""), mm: "0.69565", inch: "0.69565"},
		{v: note.Figure("", 0.0395831, "m/s"), mm: "0.03958 m/s", inch: "1.558 in/s"},
		{v: note.FigureTo("", 3220.4567, "N", 6), mm: "3220.46 N", inch: "723.987 lbf"}, // 4.448222 N each
	} {
		if mm, inch := c.v.Words(unit.Millimetres), c.v.Words(unit.Inches); mm != c.mm || inch != c.inch {
			t.Errorf("reads %q and %q, want %q and %q", mm, inch, c.mm, c.inch)
		}
	}
}

func parsed(t *testing.T, mm string) unit.Length {
	t.Helper()
	l, err := unit.Parse(mm, unit.Millimetres)
	if err != nil {
		t.Fatal(err)
	}
	return l
}
