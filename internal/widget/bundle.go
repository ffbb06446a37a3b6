package widget

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io/fs"
	"maps"
	"path"
	"regexp"
	"slices"
	"strings"
)

// The forms that an import may have.
var (
	importNames  = regexp.MustCompile(`^import \{ ([\w, ]+) \} from "\./([\w-]+\.js)";$`)
	importStyles = regexp.MustCompile(`^import (\w+) from "\./([\w-]+\.css)" with \{ type: "css" \};$`)
	importJSON   = regexp.MustCompile(`^import (\w+) from "\./([\w-]+\.json)" with \{ type: "json" \};$`)
	declaration  = regexp.MustCompile(`^(?:export )?(?:async )?(?:function\*?|class|const|let) (\w+)`)
)

// bundler joins the modules of one entry.
type bundler struct {
	files fs.FS
	// part says whether a message goes into this script.
	part func(key string) bool

	out      bytes.Buffer
	modules  map[string]bool   // read, or being read
	declared map[string]string // top-level name: the file that has it
	exported map[string]string // the same of those that may be imported
}

// bundle gives the module entry of files and all that it imports as one
// classic script, each module once and after those that it imports. Comments
// that have lines to themselves and indentation are left out. Of messages only
// those that part wants go in.
func bundle(files fs.FS, entry string, part func(key string) bool) ([]byte, error) {
	b := &bundler{files: files, part: part, modules: map[string]bool{}, declared: map[string]string{}, exported: map[string]string{}}
	b.out.WriteString("(() => {\n\"use strict\";\n")
	if err := b.module(entry); err != nil {
		return nil, err
	}
	b.out.WriteString("})();\n")
	return b.out.Bytes(), nil
}

func (b *bundler) module(name string) error {
	if b.modules[name] {
		return nil
	}
	b.modules[name] = true
	text, err := fs.ReadFile(b.files, name)
	if err != nil {
		return err
	}
	var body bytes.Buffer
	inComment := false
	for i, line := range strings.Split(string(text), "\n") {
		fail := func(format string, args ...any) error {
			return fmt.Errorf("%s:%d: %s", name, i+1, fmt.Sprintf(format, args...))
		}
		trimmed := strings.TrimSpace(line)
		switch {
		case inComment:
			inComment = !strings.HasSuffix(trimmed, "*/")
			continue
		case strings.HasPrefix(trimmed, "/*"):
			if inner, _, closed := strings.Cut(trimmed, "*/"); closed && len(inner)+len("*/") < len(trimmed) {
				return fail("nothing may follow a comment that begins its line")
			}
			inComment = !strings.HasSuffix(trimmed, "*/")
			continue
		case trimmed == "" || strings.HasPrefix(trimmed, "//"):
			continue
		case strings.Count(line, "`")%2 != 0:
			return fail("a template may not go over several lines")
		case strings.HasPrefix(line, "import "):
			if err := b.imported(line); err != nil {
				return fail("%v", err)
			}
			continue
		}
		if m := declaration.FindStringSubmatch(line); m != nil {
			if err := b.declare(m[1], name); err != nil {
				return fail("%v", err)
			}
			if unmarked, ok := strings.CutPrefix(trimmed, "export "); ok {
				b.exported[m[1]], trimmed = name, unmarked
			}
		} else if strings.HasPrefix(line, "export ") {
			return fail("only declarations may be exported")
		}
		body.WriteString(trimmed)
		body.WriteByte('\n')
	}
	b.out.Write(body.Bytes())
	return nil
}

// imported brings in what a line imports.
func (b *bundler) imported(line string) error {
	if m := importNames.FindStringSubmatch(line); m != nil {
		if err := b.module(m[2]); err != nil {
			return err
		}
		for name := range strings.SplitSeq(m[1], ", ") {
			if b.exported[name] != m[2] {
				return fmt.Errorf("%s exports no %s", m[2], name)
			}
		}
		return nil
	}
	if m := importStyles.FindStringSubmatch(line); m != nil {
		return b.once(m[1], m[2], func(text []byte) error {
			fmt.Fprintf(&b.out, "const %[1]s = new CSSStyleSheet();\n%[1]s.replaceSync(%[2]s);\n", m[1], literal(compactStyles(text)))
			return nil
		})
	}
	if m := importJSON.FindStringSubmatch(line); m != nil {
		return b.once(m[1], m[2], func(text []byte) error {
			words, err := b.messages(text)
			if err != nil {
				return err
			}
			fmt.Fprintf(&b.out, "const %s = %s;\n", m[1], words)
			return nil
		})
	}
	return fmt.Errorf("an import of a form that the build doesn't know: %s", line)
}

// once brings in a file that isn't a module, under the one name that it may
// have everywhere.
func (b *bundler) once(name, file string, write func(text []byte) error) error {
	if b.modules[file] {
		if b.declared[name] != file {
			return fmt.Errorf("%s is imported under two names", file)
		}
		return nil
	}
	b.modules[file] = true
	if err := b.declare(name, file); err != nil {
		return err
	}
	text, err := fs.ReadFile(b.files, file)
	if err != nil {
		return err
	}
	return write(text)
}

func (b *bundler) declare(name, file string) error {
	if other, taken := b.declared[name]; taken {
		return fmt.Errorf("%s is declared in %s too", name, other)
	}
	b.declared[name] = file
	return nil
}

// messages gives the part of a message file that this script needs, in the
// order of its keys.
func (b *bundler) messages(text []byte) ([]byte, error) {
	var words map[string]map[string]string
	if err := json.Unmarshal(text, &words); err != nil {
		return nil, err
	}
	for _, language := range words {
		maps.DeleteFunc(language, func(key, _ string) bool { return !b.part(key) })
	}
	var out bytes.Buffer
	enc := json.NewEncoder(&out)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(words); err != nil {
		return nil, err
	}
	return bytes.TrimSpace(out.Bytes()), nil
}

// literal writes text as a string of JavaScript.
func literal(text []byte) []byte {
	// Text is always encodable.
	quoted, _ := json.Marshal(string(text))
	return quoted
}

var styleComment = regexp.MustCompile(`(?s)/\*.*?\*/`)

// compactStyles leaves comments, indentation and empty lines out.
func compactStyles(text []byte) []byte {
	lines := strings.Split(styleComment.ReplaceAllString(string(text), ""), "\n")
	for i := range lines {
		lines[i] = strings.TrimSpace(lines[i])
	}
	lines = slices.DeleteFunc(lines, func(line string) bool { return line == "" })
	return []byte(strings.Join(lines, "\n"))
}

// joinStyles gives the style sheets of a page as one.
func joinStyles(files fs.FS, names ...string) ([]byte, error) {
	var out bytes.Buffer
	for _, name := range names {
		text, err := fs.ReadFile(files, path.Clean(name))
		if err != nil {
			return nil, err
		}
		out.Write(compactStyles(text))
		out.WriteByte('\n')
	}
	return out.Bytes(), nil
}
