package drawing

import (
	"bytes"
	"encoding/json"

	"midstroke/internal/mount"
)

// The pages draw ends with the same line work; a test writes it for them.
//go:generate go test -run TestPagesHaveTheFittings . -update

// penNames are what the pages call the pens.
var penNames = [len(penStyles)]string{
	tint: "tint", hatch: "hatch", thin: "thin", outline: "outline", centre: "centre", hidden: "hidden", extension: "extension", solid: "solid",
}

// fittingFile is a fitting as the pages have it: in its own measures, with its
// reference point at 0,0 and the damper above it.
type fittingFile struct {
	Reach  float64            `json:"reach"`
	Half   float64            `json:"half"`
	Joint  float64            `json:"joint"`
	Frame  [2]float64         `json:"frame"`
	Planes map[string]float64 `json:"planes"`
	// Pieces are path data, by what they belong to and by pen.
	Pieces map[string]map[string]string `json:"pieces"`
}

// FittingsFile is the line work of every style that bolts up, as JSON, for the
// pages that draw a damper in its place. It is the same line work as that of
// [Ends].
func FittingsFile() []byte {
	all := map[string]fittingFile{}
	for _, style := range mount.BoltedStyles() {
		f := fittingOf(style, bodyHalf)
		file := fittingFile{Reach: f.reach, Half: f.half, Joint: f.joint, Frame: f.frame, Planes: map[string]float64{}, Pieces: map[string]map[string]string{}}
		for plane, v := range f.planes {
			file.Planes[plane.String()] = v
		}
		for _, p := range f.pieces {
			var s strokes
			p.draw(view{&s, 0, 0, 1})
			paths := map[string]string{}
			for pen := range s {
				if path := s[pen].String(); path != "" {
					paths[penNames[pen]] = path
				}
			}
			file.Pieces[p.of] = paths
		}
		all[style.String()] = file
	}
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetIndent("", " ")
	// The error is the buffer's, which has none.
	_ = e.Encode(all)
	return b.Bytes()
}
