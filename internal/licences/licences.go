// Package licences has the terms of everything that is built into the program.
//
//go:generate go run ./generate
package licences

import (
	"bytes"
	"compress/gzip"
	_ "embed"
	"io"
)

// notices are made by the generator: what each module of the program is licensed
// under, in its own words.
//
//go:embed notices.txt.gz
var notices []byte

// Write writes the notices.
func Write(w io.Writer) error {
	text, err := gzip.NewReader(bytes.NewReader(notices))
	if err != nil {
		return err
	}
	_, err = io.Copy(w, text)
	return err
}
