package fit

import (
	"slices"

	"midstroke/internal/mount"
	"midstroke/internal/note"
)

// Hardware is how one end bolts up, which several fits may share.
type Hardware struct {
	End string // "upper" or "lower"
	*mount.Result
	// OwnCautions are those that the answer's cautions don't say in the same words.
	OwnCautions []note.Note
}

// End is one end of a fit.
type End struct {
	// Result may be shared between answers: nobody changes it.
	*mount.Result
	// Place is where it stands in the answer's Hardware.
	Place int
}

// listHardware lists each different hardware of the fits once.
func (a *Answer) listHardware(arithmetic bool) {
	place := func(name string, e *End) {
		for i := range a.Hardware {
			if h := &a.Hardware[i]; h.End == name && (h.Result == e.Result || h.Alike(e.Result, arithmetic)) {
				e.Place = i
				return
			}
		}
		e.Place = len(a.Hardware)
		a.Hardware = append(a.Hardware, Hardware{End: name, Result: e.Result})
	}
	for i := range a.Fits {
		place("upper", &a.Fits[i].Upper)
		place("lower", &a.Fits[i].Lower)
	}
}

// sortCautions leaves each hardware the cautions that the answer doesn't say.
func (a *Answer) sortCautions() {
	for i := range a.Hardware {
		h := &a.Hardware[i]
		for _, c := range h.Cautions {
			if !slices.ContainsFunc(a.Cautions, c.Equal) {
				h.OwnCautions = append(h.OwnCautions, c)
			}
		}
	}
}

// AskNext is the one figure to measure next.
type AskNext struct {
	Field string // its pointer in the request
	Note  note.Note
}

// askNext finds the bracket's figure without which most of the fits listed stay
// incomplete; of equal ones that of the upper end, then the first to ask for at
// that end. It is nil where no figure is lacking.
func (a *Answer) askNext() *AskNext {
	most := 0
	var field, at string
	for _, end := range [...]string{"upper", "lower"} {
		for i := range a.Hardware {
			if a.Hardware[i].End != end {
				continue
			}
			for _, lacks := range a.Hardware[i].Lacks {
				if n := a.lacking(end, lacks); n > most {
					most, field, at = n, lacks, end
				}
			}
		}
	}
	if most == 0 {
		return nil
	}
	return &AskNext{Field: "/" + at + "/" + field, Note: note.New("ask_next",
		note.Word("field", field), note.Word("end", at), note.Num("count", float64(most), ""), note.Num("of", float64(len(a.Fits)), ""))}
}

// lacking counts the fits whose end of that name lacks a figure.
func (a *Answer) lacking(end, field string) int {
	n := 0
	for i := range a.Fits {
		of := &a.Fits[i].Upper
		if end == "lower" {
			of = &a.Fits[i].Lower
		}
		if slices.Contains(of.Lacks, field) {
			n++
		}
	}
	return n
}
