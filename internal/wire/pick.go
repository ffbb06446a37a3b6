package wire

import (
	_ "embed" // fitPaths
	"fmt"
	"slices"
	"strconv"
	"strings"

	"midstroke/internal/fault"
	"midstroke/internal/fit"
	"midstroke/internal/form"
)

// PickFit gives one bare value of the fit of a rank: a text as it is, a number
// as JSON writes it, true or false, plain items of a list parted by "|", and
// nothing for null or for a part that this fit hasn't. The path goes by the
// answer's names parted by full stops, items by their place from 0, as in
// "damper.code" or "pick_list.0.code". Its fault is at the parameter pick, or
// at rank where there are fewer fits: that no damper fits is not a fault, and
// gives the outcome's name.
func PickFit(a *fit.Answer, r *FitsRequest, from Edition, lang string, show Show) (string, error) {
	if len(a.Fits) == 0 {
		return a.Outcome.String(), nil
	}
	if show.Rank > len(a.Fits) {
		return "", Faults{{Parameter: "rank", Code: "out_of_range",
			Detail: fmt.Sprintf("there are only %d fits", len(a.Fits))}}
	}
	w := writer{units: r.Units, lang: lang}
	w.fit(&a.Fits[show.Rank-1], &from)
	t, err := parse(w.b)
	if err != nil {
		return "", err
	}
	at := int32(root)
	steps := strings.Split(show.Pick, ".")
	for _, step := range steps {
		next, names := t.step(at, step)
		if next == 0 && isFitPath(steps) {
			return "", nil // of a part that this fit hasn't
		}
		if next == 0 {
			return "", Faults{{Parameter: "pick", Code: "unknown_field",
				Detail: "a fit has no value at " + form.Quoted(show.Pick) + suggested(step, names)}}
		}
		at = next
	}
	n := &t.nodes[at]
	if n.kind == record || n.kind == list && !t.plainItems(at) {
		_, names := t.step(at, "")
		return "", Faults{{Parameter: "pick", Code: "wrong_type",
			Detail: form.Quoted(show.Pick) + " holds several values; go on with a full stop and one of " + strings.Join(names, ", ")}}
	}
	if n.kind != list {
		return n.text, nil // "" for null
	}
	var items []string
	for c := n.first; c != 0; c = t.nodes[c].next {
		items = append(items, t.nodes[c].text)
	}
	return strings.Join(items, "|"), nil
}

// suggested names what was likely meant by a step, as the end of a sentence.
func suggested(step string, names []string) string {
	if near := fault.Nearest(step, names); near != "" {
		return "; did you mean " + near + "?"
	}
	return ""
}

// plainItems says that a list holds neither lists nor records.
func (t *tree) plainItems(at int32) bool {
	for c := t.nodes[at].first; c != 0; c = t.nodes[c].next {
		if k := t.nodes[c].kind; k == record || k == list {
			return false
		}
	}
	return true
}

// fitPaths are the paths of all values that a fit can have by the contract, one
// a line: # stands for a place in a list, * for any name.
//
//go:embed fitpaths.txt
var fitPaths string

// isFitPath says whether any fit could have a value there.
func isFitPath(steps []string) bool {
	for path := range strings.SplitSeq(strings.TrimSpace(fitPaths), "\n") {
		if slices.EqualFunc(strings.Split(path, "."), steps, func(known, step string) bool {
			switch known {
			case "*":
				return true
			case "#":
				_, err := strconv.ParseUint(step, 10, 16)
				return err == nil
			}
			return known == step
		}) {
			return true
		}
	}
	return false
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
