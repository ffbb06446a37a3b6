package enum_test

import (
	"fmt"

	"midstroke/internal/enum"
)

type colour uint8

const (
	red colour = iota + 1
	green
)

var colours = enum.Names[colour]{"", red: "red", green: "green"}

func Example() {
	fmt.Println(colours.All(), colours[green])
	fmt.Println(colours.Parse("red"))
	fmt.Println(colours.Parse(""))
	fmt.Println(colours.Parse("Red"))
	// Output:
	// [red green] green
	// 1 true
	// 0 false
	// 0 false
}
