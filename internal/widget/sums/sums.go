// Package sums tells whether the bundles were made from the sources as they are.
//
// To make them again takes a bundler, which is large. So its command lists the
// SHA-256 of everything that a bundle depends on and of every bundle, and tests
// compare that list with the files.
package sums

import (
	"bufio"
	"bytes"
	"crypto/sha256"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
)

// Name is that of the list, in the folder that holds the sources and the bundles.
const Name = "bundles.sha256"

// bundler is the module that joins the sources. Its version is in go.mod.
const bundler = "github.com/evanw/esbuild"

// listed are files and folders with what bundles are made from, by, and to.
var listed = []string{
	"src", "third_party", "package.json", "package-lock.json", "tsconfig.json",
	"bundle", "generate", "testdata/exposed.ts", "testdata/exposed.js", "dist",
}

// Of lists what is in a folder now: a sum and a path in each line.
func Of(folder string) ([]byte, error) {
	lines, err := bundlerLine(folder)
	if err != nil {
		return nil, err
	}
	for _, name := range listed {
		err := filepath.WalkDir(filepath.Join(folder, name), func(path string, d fs.DirEntry, err error) error {
			if err != nil || d.IsDir() || strings.HasPrefix(d.Name(), ".") || strings.HasSuffix(path, "_test.go") {
				return err
			}
			text, err := os.ReadFile(path)
			if err != nil {
				return err
			}
			within, err := filepath.Rel(folder, path)
			lines = append(lines, line(text, filepath.ToSlash(within)))
			return err
		})
		if err != nil {
			return nil, err
		}
	}
	return []byte(strings.Join(lines, "")), nil
}

func line(text []byte, name string) string { return fmt.Sprintf("%x  %s\n", sha256.Sum256(text), name) }

// bundlerLine is the line for what go.mod and go.sum say of the bundler.
func bundlerLine(folder string) ([]string, error) {
	var said []byte
	for _, name := range []string{"go.mod", "go.sum"} {
		text, err := os.ReadFile(filepath.Join(folder, "..", "..", name))
		if err != nil {
			return nil, err
		}
		for l := range bytes.Lines(text) {
			if bytes.Contains(l, []byte(bundler)) {
				said = append(said, l...)
			}
		}
	}
	return []string{line(said, bundler)}, nil
}

// Changed gives the paths whose sums differ between two lists, or that only one has.
func Changed(a, b []byte) []string {
	first, second := read(a), read(b)
	var names []string
	for name, sum := range first {
		if second[name] != sum {
			names = append(names, name)
		}
	}
	for name := range second {
		if _, ok := first[name]; !ok {
			names = append(names, name)
		}
	}
	slices.Sort(names)
	return names
}

func read(list []byte) map[string]string {
	sums := map[string]string{}
	for s := bufio.NewScanner(bytes.NewReader(list)); s.Scan(); {
		sum, name, _ := strings.Cut(s.Text(), "  ")
		sums[name] = sum
	}
	return sums
}
