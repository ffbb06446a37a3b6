package wire

import (
	"fmt"
	"strconv"
	"strings"

	"midstroke/internal/fit"
)

// PickFit gives one bare value of the fit of a rank: a text as it is, a number
// as JSON writes it, true or false, and nothing for null. The path goes by the
// answer's names parted by full stops, items by their place from 0, as in
// "damper.code" or "pick_list.0.code". Its fault is at the parameter pick, or
// at rank where there are fewer fits: that no damper fits is not a fault, and
// gives the outcome's name.
func PickFit(a *fit.Answer, r *FitsRequest, from Edition, lang string, show Show) (string, error) {
	if len(a.Fits) == 0 {
		return a.Outcome.String(), nil
	}
	if show.Rank > len(a.Fits) {
		return "", Faults{{Parameter: "rank", Code: outOfRange,
			Detail: fmt.Sprintf("there are only %d fits", len(a.Fits))}}
	}
	w := writer{units: r.Units, lang: lang}
	w.fit(&a.Fits[show.Rank-1], &from)
	t, err := parse(w.b)
	if err != nil {
		return "", err
	}
	at := int32(root)
	for _, step := range strings.Split(show.Pick, ".") {
		next, names := t.step(at, step)
		if next == 0 {
			return "", Faults{{Parameter: "pick", Code: unknownField,
				Detail: "a fit has no value at " + quoted(show.Pick) + nearest(step, names)}}
		}
		at = next
	}
	switch n := &t.nodes[at]; n.kind {
	case record, list:
		_, names := t.step(at, "")
		return "", Faults{{Parameter: "pick", Code: wrongType,
			Detail: quoted(show.Pick) + " holds several values; go on with a full stop and one of " + strings.Join(names, ", ")}}
	case null:
		return "", nil
	default:
		return n.text, nil
	}
}

// step goes one name, or one place in a list, down from at; 0 where there is
// none, and the names that there are.
func (t *tree) step(at int32, name string) (next int32, names []string) {
	inList := t.nodes[at].kind == list
	for c := t.nodes[at].first; c != 0; c = t.nodes[c].next {
		own := t.nodes[c].name
		if inList {
			own = strconv.Itoa(int(t.nodes[c].index))
		}
		if own == name {
			next = c
		}
		names = append(names, own)
	}
	return next, names
}
