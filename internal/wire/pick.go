package wire

import (
	"errors"
	"strings"

	"midstroke/internal/fault"
	"midstroke/internal/fit"
	"midstroke/internal/note"
	"midstroke/internal/unit"
)

// The faults of a pick.
const (
	pickUnknown     fault.Code = "unknown_field.pick"
	pickUnknownNear fault.Code = "unknown_field.pick_near"
	pickSeveral     fault.Code = "wrong_type.pick"
	pickList        fault.Code = "wrong_type.pick_list"
	rankTooHigh     fault.Code = "out_of_range.rank"
)

// PickFits gives one bare value of an answer: a text as it is, a number as JSON
// writes it, true or false, the items of a list of plain values with "|" between
// them, and nothing for null or for a part that isn't there. The path goes by the
// answer's names with full stops between them, items by their place from 0, as in
// "reasons.0.text". A path that begins with a member of a fit goes into the fit of
// the rank, as in "damper.code"; where no damper fits it gives the outcome's name.
// What a fit hasn't, but the answer has at such a path, is the answer's, as in
// "damping.road.class".
// A fault is at the parameter pick, or at rank where there are fewer fits.
func PickFits(a *fit.Answer, r *FitsRequest, from Edition, lang string, show Show) (string, error) {
	path := strings.Split(show.Pick, ".")
	members := shapesOf(fitsMembers)
	write, err := valueAt(fitsMembers, path)
	if ofFit := shapesOf(fitMembers); namedIn(ofFit, path[0]) >= 0 {
		members = ofFit
		inFit, missing := valueAt(fitMembers, path)
		switch {
		case missing != nil && err == nil:
			members = shapesOf(fitsMembers)
		case missing != nil:
			err = missing
		default:
			err, write = nil, func(w *writer, a *fitsAnswer) bool { return inFit(w, &a.Fits[show.Rank-1]) }
		}
		switch {
		case missing != nil:
		case len(a.Fits) == 0:
			return a.Outcome.String(), nil
		case len(a.Fits) < show.Rank:
			return "", wrongParameter("rank", rankTooHigh, note.Num("most", float64(len(a.Fits)), ""))
		}
	}
	text := note.Word("text", show.Pick)
	if wrong := (*pathError)(nil); errors.As(err, &wrong) {
		names := namesOf(wrong.members)
		if wrong.step == path[0] { // which may be meant for a member of a fit as well
			names = append(names, namesOf(shapesOf(fitMembers))...)
		}
		if near := fault.Nearest(wrong.step, names); near != "" {
			return "", wrongParameter("pick", pickUnknownNear, text, note.Word("near", near))
		}
		return "", wrongParameter("pick", pickUnknown, text)
	}
	whole := fitsAnswer{a, r, &from}
	w := whole.writer(nil, lang)
	w.bare = true
	if write(&w, &whole) {
		return string(w.b), nil
	}
	if names := namesOf(membersAt(members, path)); len(names) > 0 {
		return "", wrongParameter("pick", pickSeveral, text, note.Word("options", strings.Join(names, ", ")))
	}
	return "", wrongParameter("pick", pickList, text)
}

func wrongParameter(name string, code fault.Code, values ...note.Value) error {
	return refused(fault.List{{Place: fault.Place{Parameter: name}, Code: code, Values: values}}, unit.Unset)
}

func namesOf(members []namedShape) []string {
	names := make([]string, len(members))
	for i := range members {
		names[i] = members[i].name
	}
	return names
}

// membersAt lists the members of the object at a path that there is; none where
// a list stands there, or an object with any names.
func membersAt(in []namedShape, path []string) []namedShape {
	at := shape{members: in}
	for _, step := range path {
		if at.items != nil {
			at = *at.items
		} else if i := namedIn(at.members, step); i >= 0 {
			at = at.members[i].shape
		} else {
			return nil
		}
	}
	return at.members
}
