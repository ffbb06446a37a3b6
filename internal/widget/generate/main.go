// Command generate writes the bundles into the folder dist of the one that it
// is run in.
package main

import (
	"log"
	"os"
	"path/filepath"

	"midstroke/internal/widget/bundle"
)

func main() {
	files, err := bundle.Files(".")
	if err != nil {
		log.Fatal(err)
	}
	for name, text := range files {
		if err := os.WriteFile(filepath.Join("dist", name), text, 0o644); err != nil {
			log.Fatal(err)
		}
	}
}
