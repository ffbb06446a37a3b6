package widget

import (
	"bytes"
	"fmt"
	"io/fs"
	"strings"
)

// Bundle is bundle with all messages, for modules that a test makes up.
func Bundle(files fs.FS, entry string) ([]byte, error) {
	return bundle(files, entry, func(string) bool { return true })
}

// Source is what the scripts, pages and style sheets are made of.
func Source() fs.FS {
	src, err := fs.Sub(source, "src")
	if err != nil {
		panic(err) // the folder is embedded by that name
	}
	return src
}

// Exposed gives a module and what it imports as a script that leaves some of
// its names on the page, for tests to call.
func Exposed(module string, names ...string) (string, error) {
	script, err := Bundle(Source(), module)
	if err != nil {
		return "", err
	}
	inside, found := bytes.CutSuffix(script, []byte("})();\n"))
	if !found {
		return "", fmt.Errorf("%s: the script doesn't end as it should", module)
	}
	return string(inside) + "Object.assign(globalThis, { " + strings.Join(names, ", ") + " });\n})();\n", nil
}
