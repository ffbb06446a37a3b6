// Command generate writes the licences of all modules that the program is made of, on
// any system, to notices.txt.gz.
package main

import (
	"bytes"
	"compress/gzip"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"maps"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
)

// systems are those that releases are made for.
var systems = []string{"linux", "darwin", "windows"}

// module is a module with its folder.
type module struct {
	Path, Version, Dir string
	Main               bool
}

func main() {
	if err := generate(); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}

func generate() error {
	modules, err := used()
	if err != nil {
		return err
	}
	var text bytes.Buffer
	fmt.Fprintf(&text, "midstroke is licensed under Apache-2.0. It is built from the following, under their own terms.\n")
	root, err := exec.Command("go", "env", "GOROOT").Output()
	if err != nil {
		return err
	}
	if err := appendLicences(&text, "The Go programming language and its standard library", strings.TrimSpace(string(root))); err != nil {
		return err
	}
	pages, err := filepath.Glob("../widget/third_party/*/LICENSE")
	if err != nil {
		return err
	}
	for _, path := range pages {
		dir := filepath.Dir(path)
		if err := appendLicences(&text, filepath.Base(dir)+", in the pages", dir); err != nil {
			return err
		}
	}
	for _, path := range slices.Sorted(maps.Keys(modules)) {
		m := modules[path]
		if err := appendLicences(&text, m.Path+" "+m.Version, m.Dir); err != nil {
			return err
		}
	}
	var packed bytes.Buffer
	w, err := gzip.NewWriterLevel(&packed, gzip.BestCompression)
	if err != nil {
		return err
	}
	_, err = text.WriteTo(w)
	if err := errors.Join(err, w.Close()); err != nil {
		return err
	}
	return os.WriteFile("notices.txt.gz", packed.Bytes(), 0o644)
}

// used gives the modules that packages of the program come from.
func used() (map[string]module, error) {
	all := map[string]module{}
	for _, system := range systems {
		list := exec.Command("go", "list", "-deps", "-json=Module", "../../cmd/midstroke")
		list.Env = append(os.Environ(), "GOOS="+system, "CGO_ENABLED=0")
		list.Stderr = os.Stderr
		out, err := list.Output()
		if err != nil {
			return nil, err
		}
		for packages := json.NewDecoder(bytes.NewReader(out)); ; {
			var p struct{ Module *module }
			if err := packages.Decode(&p); errors.Is(err, io.EOF) {
				break
			} else if err != nil {
				return nil, err
			}
			if p.Module != nil && !p.Module.Main {
				all[p.Module.Path] = *p.Module
			}
		}
	}
	return all, nil
}

// appendLicences adds the files of a folder that give the terms.
func appendLicences(text *bytes.Buffer, name, dir string) error {
	files, err := os.ReadDir(dir)
	if err != nil {
		return err
	}
	fmt.Fprintf(text, "\n%s\n%s\n", strings.Repeat("=", 80), name)
	found := false
	for _, f := range files {
		stem, _, _ := strings.Cut(strings.ToUpper(f.Name()), ".")
		if f.IsDir() || stem != "LICENSE" && stem != "LICENCE" && stem != "COPYING" && stem != "NOTICE" && !strings.HasPrefix(stem, "LICENSE-") {
			continue
		}
		raw, err := os.ReadFile(filepath.Join(dir, f.Name()))
		if err != nil {
			return err
		}
		found = true
		fmt.Fprintf(text, "\n%s\n", strings.TrimSpace(strings.ReplaceAll(string(raw), "\r\n", "\n")))
	}
	if !found {
		return fmt.Errorf("%s has no licence in %s", name, dir)
	}
	return nil
}
