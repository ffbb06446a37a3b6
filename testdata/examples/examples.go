// Package examples holds requests to POST /v1/fits about one invented vehicle,
// with what the demo catalogue's answer to each must be.
package examples

import "embed"

// Requests are the bodies, one a file.
//
//go:embed *.json
var Requests embed.FS

// Example is one request and what is known of its answer beforehand.
type Example struct {
	// File is the request's name in Requests.
	File string
	// Outcome is the answer's.
	Outcome string
	// WorkingLength is the answer's, as a JSON number in the request's units;
	// "" where there is none to hold it against.
	WorkingLength string
}

// All lists every example.
func All() []Example {
	return []Example{
		// (16 5/8 + 16 11/16)/2 - 3/8 - 1/16
		{"rear-axle.json", "fits", "16.21875"},
		// As read: 17 5/16
		{"rear-axle-two-eyes.json", "fits", "17.3125"},
		{"rear-axle-taped-at-the-stops.json", "fits", "16.21875"},
		// The mean of the sides' means, 413 and 414.
		{"front-wishbones.json", "fits", "413.5"},
		// 498 - 0.91 × (452 - 421)
		{"front-on-blocks.json", "fits", "469.79"},
		// 400 + 12 from the seat's face to the bar's axis
		{"tag-axle.json", "fits", "412"},
		// The readings are those of front-wishbones.json and rear-axle.json.
		{"front-by-its-points.json", "fits", "413.5"},
		{"rear-axle-by-its-points.json", "no_fit", "16.21875"},
		{"rear-axle-on-a-road.json", "fits", "16.21875"},
		{"rear-axle-on-a-corner.json", "fits", "16.21875"},
		{"near-miss.json", "no_fit", "16.25"},
		{"bent-bracket.json", "measure_again", ""},
		{"tag-axle-fork.json", "outside_method", ""},
	}
}
