package drawing_test

import (
	"bytes"
	"encoding/json"
	"os"
	"testing"

	"midstroke/internal/drawing"
	"midstroke/internal/mount"
)

// TestPagesHaveTheFittings checks that the pages' file is as the drawings are.
func TestPagesHaveTheFittings(t *testing.T) {
	const path = "../widget/src/fittings.json"
	got := drawing.FittingsFile()
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
		t.Errorf("%s isn't what the drawings are; run go generate ./internal/drawing", path)
	}
}

// TestFittingsHaveEveryPlaneAndPiece checks the file against the styles' own tables.
func TestFittingsHaveEveryPlaneAndPiece(t *testing.T) {
	var file map[string]struct {
		Reach, Joint float64
		Frame        [2]float64
		Planes       map[string]float64
		Pieces       map[string]map[string]string
	}
	if err := json.Unmarshal(drawing.FittingsFile(), &file); err != nil {
		t.Fatal(err)
	}
	for _, style := range mount.BoltedStyles() {
		f, drawn := file[style.String()]
		if !drawn {
			t.Errorf("%s isn't drawn", style)
		}
		for _, plane := range style.Planes() {
			v, marked := f.Planes[plane.String()]
			if !marked || v > f.Reach {
				t.Errorf("%s: the plane %s is at %g, known: %t", style, plane, v, marked)
			}
		}
		for _, piece := range []string{"damper", "bracket", "bolt"} {
			if f.Pieces[piece]["outline"] == "" {
				t.Errorf("%s: the %s has no outline", style, piece)
			}
		}
		if f.Joint >= 0 || f.Frame[0] <= 0 || f.Frame[1] <= f.Frame[0] {
			t.Errorf("%s: joint %g, frame %v", style, f.Joint, f.Frame)
		}
	}
}
