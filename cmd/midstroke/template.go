package main

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"midstroke/internal/catalog"
	"midstroke/internal/mount"
	"midstroke/internal/shop"
	"midstroke/internal/table"
	"midstroke/testdata/demo"
)

// exampleRows is how many rows of each kind a template has as examples.
const exampleRows = 2

type templateCommand struct {
	To string `required:"" placeholder:"FILE" help:"Workbook to write, such as catalogue.xlsx. A file that exists is left as it is."`
}

// Run writes the workbook.
func (t *templateCommand) Run(c console) error {
	if !strings.EqualFold(filepath.Ext(t.To), ".xlsx") {
		fmt.Fprintf(c.err, "midstroke: --to: %q isn't the name of a workbook, which ends in .xlsx\n", t.To)
		return exitError(exitWrong)
	}
	var book bytes.Buffer
	if err := table.Template(&book, examples(demo.Contents())); err != nil {
		return err
	}
	file, err := os.OpenFile(t.To, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
	if errors.Is(err, fs.ErrExist) {
		return fmt.Errorf("--to: %s exists already, and nothing was written", t.To)
	}
	if err != nil {
		return err
	}
	if _, err := book.WriteTo(file); err != nil {
		return errors.Join(err, file.Close(), os.Remove(t.To))
	}
	if err := file.Close(); err != nil {
		return err
	}
	_, err = fmt.Fprintf(c.out, "Wrote %s. Each sheet has %d examples: put your parts in their place, and leave out the sheets that you don't need.\n"+
		"Then: midstroke check %s\n", t.To, exampleRows, t.To)
	return err
}

// examples gives the first parts of each kind, dampers and adapters with different
// ends where there are such.
func examples(c catalog.Contents) catalog.Contents {
	c.Dampers = firstUnlike(c.Dampers, func(d *catalog.Damper) any { return [2]mount.Style{d.Upper.Style, d.Lower.Style} })
	c.Sleeves = firstUnlike(c.Sleeves, func(s *mount.Sleeve) any { return s.Code })
	c.Spacers = firstUnlike(c.Spacers, func(s *mount.Spacer) any { return s.Code })
	c.Adapters = firstUnlike(c.Adapters, func(a *mount.Adapter) any { return [2]mount.Style{a.From.Style, a.To.Style} })
	return c
}

// firstUnlike gives the first rows that differ in their kind.
func firstUnlike[T any](all []T, kind func(*T) any) (some []T) {
	seen := map[any]bool{}
	for i := range all {
		if k := kind(&all[i]); !seen[k] && len(some) < exampleRows {
			seen[k] = true
			some = append(some, all[i])
		}
	}
	return some
}

type checkCommand struct {
	From catalogFiles `embed:""`
}

// Run reads the files and says what is wrong with them.
func (k *checkCommand) Run(c console) error {
	return k.From.read(c, func(_ shop.Parts, n shop.Counts) error {
		_, err := fmt.Fprintf(c.out, "Nothing is wrong with these %s. To publish them: midstroke import --catalog NAME %s\n",
			inWords(n), strings.Join(k.From.Files, " "))
		return err
	})
}
