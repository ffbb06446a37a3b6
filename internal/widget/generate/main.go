// Command generate writes the bundles into the folder that it is run in, and the
// list of sums by which tests see that they are fresh.
package main

import (
	"log"
	"os"
	"path/filepath"

	"midstroke/internal/widget/bundle"
	"midstroke/internal/widget/sums"
)

func main() {
	files, err := bundle.Files(".")
	if err != nil {
		log.Fatal(err)
	}
	for name, text := range files {
		if err := os.WriteFile(filepath.FromSlash(name), text, 0o644); err != nil {
			log.Fatal(err)
		}
	}
	list, err := sums.Of(".")
	if err != nil {
		log.Fatal(err)
	}
	if err := os.WriteFile(sums.Name, list, 0o644); err != nil {
		log.Fatal(err)
	}
}
