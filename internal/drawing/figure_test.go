package drawing_test

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"midstroke/internal/drawing"
	"midstroke/internal/guide"
	"midstroke/internal/mount"
	"midstroke/internal/note"
)

// figuresOf are the figures that a pair of ends has.
func figuresOf(t *testing.T, style mount.Style) []guide.Figure {
	t.Helper()
	g, faults := guide.For(guide.End{Style: style}, guide.End{Style: style})
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	var all []guide.Figure
	for _, name := range guide.Figures() {
		if f, faults := g.FigureNamed(name); len(faults) == 0 {
			all = append(all, f)
		}
	}
	return all
}

func drawFigure(t *testing.T, f guide.Figure, lang string) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := drawing.Figure(&b, f, drawing.EndsOptions{Lang: lang}); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// TestFiguresGolden holds the drawings byte for byte. Each was rendered and looked at
// when it was written.
func TestFiguresGolden(t *testing.T) {
	for _, style := range mount.BoltedStyles() {
		for _, f := range figuresOf(t, style) {
			name := "figure_" + style.String() + "." + f.Name
			if f.End.Style == mount.NoStyle {
				name = "figure_" + f.Name
			}
			got, path := drawFigure(t, f, "en"), filepath.Join("testdata", name+".svg")
			if *update {
				if err := os.WriteFile(path, got, 0o644); err != nil {
					t.Fatal(err)
				}
			}
			want, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			if !bytes.Equal(got, want) {
				t.Errorf("differs from %s; look at it, and run with -update if it is right", path)
			}
		}
	}
}

// TestFiguresAreWholeAndTold: every stroke and every word lies on the sheet, each
// letter that the words explain stands in the drawing, and colours are the reader's.
func TestFiguresAreWholeAndTold(t *testing.T) {
	for _, lang := range note.Languages() {
		for _, style := range mount.BoltedStyles() {
			for _, f := range figuresOf(t, style) {
				name := fmt.Sprintf("%s %v %s", lang, style, f.Name)
				raw := drawFigure(t, f, lang)
				svg := parsed(t, raw)
				var wide, high float64
				if _, err := fmt.Sscanf(svg.attr("viewBox"), "0 0 %g %g", &wide, &high); err != nil {
					t.Fatal(err)
				}
				letters, words := map[string]bool{}, ""
				elements(&svg, func(e *element) {
					switch e.XMLName.Local {
					case "path":
						if reach := extentOf(e.attr("d")); reach.left < 0 || reach.top < 0 || reach.right > wide || reach.foot > high {
							t.Errorf("%s: a stroke reaches %+v on %g by %g", name, reach, wide, high)
						}
					case "text":
						if e.attr("font-weight") == "bold" {
							letters[e.Text] = true
						} else {
							words += " " + e.Text
						}
					}
				})
				for _, letter := range []string{"A", "B"} {
					if told := strings.Contains(words, letter+":"); told != letters[letter] {
						t.Errorf("%s: the letter %s is drawn: %t, told: %t", name, letter, letters[letter], told)
					}
				}
				for _, bad := range []string{"NaN", "Inf", "drawing_", "{", "=\"#", "<script"} {
					if strings.Contains(string(raw), bad) {
						t.Errorf("%s has %s in it", name, bad)
					}
				}
			}
		}
	}
}

func TestFigureWriterFails(t *testing.T) {
	if err := drawing.Figure(broken{}, guide.Figure{Name: "lean_deg", Of: "lean_deg"}, drawing.EndsOptions{}); !errors.Is(err, errBroken) {
		t.Errorf("got %v", err)
	}
}
