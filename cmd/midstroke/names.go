package main

import (
	"fmt"

	"midstroke/internal/shop"
)

// readName reads the name of a shop or of a catalogue that a flag says.
func readName(flag string, name *string) (err error) {
	if *name, err = shop.ParseName(*name); err != nil {
		return fmt.Errorf("%s: %w", flag, err)
	}
	return nil
}
