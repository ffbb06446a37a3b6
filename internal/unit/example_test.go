package unit_test

import (
	"errors"
	"fmt"

	"midstroke/internal/unit"
)

func ExampleParse() {
	for _, text := range []string{`1'-5 1/4"`, "17¼ in", "43.815 cm", "17 1/4"} {
		l, err := unit.Parse(text, unit.Inches)
		fmt.Println(l.Text(unit.Inches), "=", l.Text(unit.Millimetres), err)
	}
	_, err := unit.Parse("450", unit.Unset)
	fmt.Println(err)
	// Output:
	// 17 1/4 in = 438.15 mm <nil>
	// 17 1/4 in = 438.15 mm <nil>
	// 17 1/4 in = 438.15 mm <nil>
	// 17 1/4 in = 438.15 mm <nil>
	// "450" is no length: unit_missing
}

func ExampleParseNumber() {
	l, _ := unit.ParseNumber("1.65e1", unit.Inches)
	fmt.Println(l.Text(unit.Inches))
	// Output: 16 1/2 in
}

func ExampleSyntaxError() {
	_, err := unit.Parse("17,25 in", unit.Inches)
	var syntax *unit.SyntaxError
	if errors.As(err, &syntax) {
		fmt.Println(syntax.Code)
	}
	// Output: comma
}

func ExampleLength_Text() {
	l := 16*unit.Inch + 21*unit.Inch/32
	fmt.Println(l.Text(unit.Inches), "is", l.In(unit.Inches), "in or", l.Text(unit.Millimetres))
	// Output: 16 21/32 in is 16.65625 in or 423.069 mm
}
