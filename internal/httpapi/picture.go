package httpapi

import (
	"bytes"

	"midstroke/internal/damping"
	"midstroke/internal/drawing"
	"midstroke/internal/fault"
	"midstroke/internal/fit"
	"midstroke/internal/wire"
)

// pictureNeedsCorner is the code of the fault of a picture without anything to show.
const pictureNeedsCorner fault.Code = "missing.corner_of_picture"

// appendPicture appends a picture of the damping of fits: of the one whose rank is
// asked for, else of the best ones whose force tables are known.
func appendPicture(dst []byte, answer *fit.Answer, request *wire.FitsRequest, show wire.Show, language string) ([]byte, error) {
	if answer.Damping == nil {
		return dst, request.Place(fault.List{fault.New("/corner", pictureNeedsCorner)})
	}
	d := drawing.Damping{Rater: answer.Damping, Units: request.Units, Lang: language, Narrow: show.Width == wire.Narrow}
	for i := range answer.Fits {
		f := &answer.Fits[i]
		if f.Damping == nil || show.Ranked && i != show.Rank-1 {
			continue
		}
		table := f.Damper.ForceTable()
		if rating, ok := answer.Damping.Rate(&table); ok {
			d.Candidates = append(d.Candidates, damping.Candidate{Name: f.Damper.Code, Table: &table, Rating: &rating})
		}
	}
	return appendDrawing(dst, show.Picture, d)
}

// appendDrawing appends a picture of the damping.
func appendDrawing(dst []byte, picture wire.Picture, d drawing.Damping) ([]byte, error) {
	draw := drawing.Forces
	switch picture {
	case wire.Forces:
	case wire.Response:
		draw = drawing.Response
	case wire.Frequencies:
		draw = drawing.Frequencies
	}
	b := bytes.NewBuffer(dst)
	err := draw(b, d)
	return b.Bytes(), err
}
