package main

import (
	"fmt"

	"midstroke/internal/shop"
)

// readName checks the name of a shop or a catalogue that a flag gives.
func readName(flag string, name *string) (err error) {
	if *name, err = shop.ParseName(*name); err != nil {
		return fmt.Errorf("%s: %w", flag, err)
	}
	return nil
}
