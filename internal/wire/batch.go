package wire

import (
	"errors"
	"slices"
	"strings"

	"midstroke/internal/fault"
	"midstroke/internal/fit"
	"midstroke/internal/form"
	"midstroke/internal/note"
)

// FlatForm gives the names of the flat form of POST /v1/fits: those of the parameters
// of a query and of the columns of a file.
func FlatForm() *form.Names { return flatNames }

// PickKind is what a column of picked values holds.
type PickKind uint8

// The kinds.
const (
	PickText PickKind = iota
	PickLength
	PickNumber
	PickWhole
	PickFlag
	// PickAmount is of money: a number with two decimals.
	PickAmount
)

// Picked is one value that is picked of every answer.
type Picked struct {
	// Name is the path joined by underscores.
	Name string
	Kind PickKind

	write bareValue[csvRow]
}

// Picks are values that are picked of every answer to a file of requests.
type Picks []Picked

// usualPicks are those of a file that asks for none.
var usualPicks = mustPick(
	"outcome", "grade", "damper.code", "damper.description", "mounted",
	"working_length.value", "effective.compressed", "effective.extended", "effective.stroke",
	"travel.compression", "travel.extension", "margin.compression", "margin.extension",
	"worst_case.likelihood", "ride_position", "upper.text", "lower.text", "pick_list",
	"total.amount", "total.currency", "more", "reasons", "cautions",
)

func mustPick(paths ...string) Picks {
	picks, faults := readPicks(paths)
	if len(faults) > 0 {
		panic(faults.Error())
	}
	return picks
}

// ReadPicks reads the paths of values, which go as those of [PickFits]; a path that
// begins with a member of a fit goes into the best one. Without any path it gives the
// usual ones. Each fault is at the parameter pick.
func ReadPicks(paths []string) (Picks, fault.List) {
	if len(paths) == 0 {
		return usualPicks, nil
	}
	return readPicks(paths)
}

func readPicks(paths []string) (picks Picks, faults fault.List) {
	tell := func(code fault.Code, path string, values ...note.Value) {
		values = append([]note.Value{note.Word("text", path)}, values...)
		faults = append(faults, fault.Fault{Place: fault.Place{Parameter: "pick", Value: path, Item: len(paths) > 1}, Code: code, Values: values})
	}
	for _, text := range paths {
		path := strings.Split(text, ".")
		write, at, err := findPick(path)
		switch wrong := (*pathError)(nil); {
		case errors.As(err, &wrong):
			if near := fault.Nearest(wrong.step, append(namesOf(wrong.members), namesOf(shapesOf(fitMembers))...)); near != "" {
				tell(pickUnknownNear, text, note.Word("near", near))
			} else {
				tell(pickUnknown, text)
			}
			continue
		case at.kind == objectKind:
			tell(pickSeveral, text, note.Word("options", strings.Join(namesOf(at.members), ", ")))
			continue
		case at.kind == mapKind || at.kind == listKind && at.items.kind >= objectKind && !at.cells:
			tell(pickList, text)
			continue
		}
		one := Picked{Name: strings.Join(path, "_"), Kind: pickKind(path, at), write: write}
		if !slices.ContainsFunc(picks, func(p Picked) bool { return p.Name == one.Name }) {
			picks = append(picks, one)
		}
	}
	return picks, faults
}

// findPick finds a value in the columns of the CSV form, else in the whole answer.
func findPick(path []string) (bareValue[csvRow], shape, error) {
	if write, err := valueAt(csvMembers, path); err == nil {
		if at, ok := shapeAt(shapesOf(csvMembers), path); ok {
			return write, at, nil
		}
	}
	write, err := valueAt(fitsMembers, path)
	if err != nil {
		return nil, shape{}, err
	}
	at, _ := shapeAt(shapesOf(fitsMembers), path)
	return func(w *writer, r *csvRow) bool { return write(w, &r.fitsAnswer) }, at, nil
}

// shapeAt gives the shape of the value at a path.
func shapeAt(in []namedShape, path []string) (shape, bool) {
	at := shape{kind: objectKind, members: in}
	for _, step := range path {
		switch i := namedIn(at.members, step); {
		case at.items != nil:
			at = *at.items
		case i >= 0:
			at = at.members[i].shape
		default:
			return at, false
		}
	}
	return at, true
}

func pickKind(path []string, at shape) PickKind {
	switch last := path[len(path)-1]; at.kind {
	case lengthKind:
		return PickLength
	case numberKind:
		return PickNumber
	case wholeKind:
		return PickWhole
	case flagKind:
		return PickFlag
	case textKind:
		if last == "amount" {
			return PickAmount
		}
	case anyKind, objectKind, listKind, mapKind:
	}
	return PickText
}

// Append appends the picked values of an answer, "" for one that isn't there.
func (p Picks) Append(dst []string, a *fit.Answer, r *FitsRequest, from Edition, lang string) []string {
	row := csvRow{fitsAnswer: fitsAnswer{a, r, &from}}
	if len(a.Fits) > 0 {
		row.fit = &a.Fits[0]
	}
	w := row.writer(nil, lang)
	w.bare = true
	for i := range p {
		w.b = w.b[:0]
		p[i].write(&w, &row)
		dst = append(dst, string(w.b))
	}
	return dst
}
