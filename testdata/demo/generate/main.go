// Command generate writes the demo catalogue's files into the folder that it
// is run in.
package main

import (
	"log"

	"midstroke/internal/unit"
	"midstroke/testdata/demo"
)

func main() {
	if err := demo.WriteFiles(".", demo.Contents(), unit.Inches); err != nil {
		log.Fatal(err)
	}
}
