package wire

import (
	"net/url"

	"midstroke/internal/enum"
	"midstroke/internal/fault"
	"midstroke/internal/fit"
	"midstroke/internal/form"
)

// Format is how an answer is written.
type Format uint8

// The formats. Unstated leaves it to the caller's other wishes.
const (
	Unstated Format = iota
	JSON
	CSV
	Text // one bare value
	SVG  // a picture of the damping
)

var formatNames = enum.Names[Format]{Unstated: "", JSON: "json", CSV: "csv", Text: "text", SVG: "svg"}

// Picture is what a picture of the damping shows.
type Picture uint8

// The pictures. Forces is the default.
const (
	Forces Picture = iota
	Response
	Frequencies
)

// Pictures names the pictures in queries.
var Pictures = enum.Names[Picture]{Forces: "forces", Response: "response", Frequencies: "frequencies"}

// PictureWidth is how wide a picture is drawn.
type PictureWidth uint8

// The widths. Wide is the default.
const (
	Wide PictureWidth = iota
	Narrow
)

// PictureWidths names the widths in queries.
var PictureWidths = enum.Names[PictureWidth]{Wide: "wide", Narrow: "narrow"}

// Show is how the query of a request wants its answer to be shown.
type Show struct {
	Format Format
	// Pick is the dotted path of a value within a fit, and Rank says of which;
	// of Format Text alone. Ranked says that Rank was given; of Text and of SVG,
	// which without it shows the best fits together.
	Pick   string
	Rank   int
	Ranked bool
	// Picture and its Width are of Format SVG.
	Picture Picture
	Width   PictureWidth
	// ErrorsAsText asks for problems as one line of text under 200, which a
	// spreadsheet's cell can show.
	ErrorsAsText bool
}

const mostPick = 100 // characters

// showTable is the parameters that say how an answer is shown.
var showTable = form.NewRecord(
	form.Field("format", form.Named(formatNames), func(s *Show) *Format { return &s.Format }),
	form.Field("pick", form.Text(1, mostPick), func(s *Show) *string { return &s.Pick }),
	form.Field("rank", form.Whole(1, fit.MostListed), func(s *Show) *int { return &s.Rank }),
	form.Field("drawing", form.Named(Pictures), func(s *Show) *Picture { return &s.Picture }),
	form.Field("drawing_width", form.Named(PictureWidths), func(s *Show) *PictureWidth { return &s.Width }),
	form.Field("errors", form.As(form.NameOf([]string{"text"}), func(string) bool { return true }), func(s *Show) *bool { return &s.ErrorsAsText }),
	// The language is chosen beside Accept-Language.
	form.Field("lang", form.Text(1, mostPick), func(*Show) *string { return new(string) }),
).Settle(func(v form.Value, s *Show) {
	pick, rank, picture, width := v.Member("pick"), v.Member("rank"), v.Member("drawing"), v.Member("drawing_width")
	if (picture.Given() || width.Given()) && s.Format == Unstated {
		s.Format = SVG
	}
	s.Ranked = rank.Given()
	switch {
	case pick.Given() && s.Format != Text:
		pick.Fail(pickAlone)
	case !pick.Given() && s.Format == Text:
		v.FailMember("pick", pickMissing)
	}
	if rank.Given() && !pick.Given() && s.Format != SVG {
		rank.Fail(rankAlone)
	}
	if picture.Given() && s.Format != SVG {
		picture.Fail(pictureAlone)
	}
	if width.Given() && s.Format != SVG {
		width.Fail(widthAlone)
	}
})

var showNames = form.NamesOf(showTable)

// ReadShow takes the parameters that say how an answer is shown out of values.
// What remains is returned; the caller's values stay as they are. As much as
// could be read is returned with faults, too, so that these can be told as
// ErrorsAsText asks.
func ReadShow(values url.Values) (Show, url.Values, fault.List) {
	if len(values) == 0 {
		return Show{Rank: 1}, values, nil
	}
	own, rest := make(url.Values, len(showNames.All())), make(url.Values, len(values))
	for name, all := range values {
		if showNames.Has(name) {
			own[name] = all
		} else {
			rest[name] = all
		}
	}
	flat := showNames.Read(own)
	show := Show{Rank: 1}
	faults := form.Read(&flat.Form, showTable, &show, nil)
	return show, rest, flat.All(faults)
}
