package quote

import (
	"slices"

	"midstroke/internal/note"
)

// The codes of what would differ today.
const (
	damperGone      note.Code = "damper_gone"
	fitsNoMore      note.Code = "fits_no_more"
	fitsNow         note.Code = "fits_now"
	gradeChanged    note.Code = "grade_changed"
	mountingChanged note.Code = "mounting_changed"
	lengthsChanged  note.Code = "lengths_changed"
	partAdded       note.Code = "part_added"
	partRemoved     note.Code = "part_removed"
	quantityChanged note.Code = "quantity_changed"
	priceChanged    note.Code = "price_changed"
	priceAdded      note.Code = "price_added"
	priceRemoved    note.Code = "price_removed"
	totalChanged    note.Code = "total_changed"
)

// Line is a line of a pick list, as answers say it.
type Line struct {
	Kind, Code, Text string
	Quantity         int
	Each             string // "" where there is no price
}

// same says whether two lines are of the same part.
func (l *Line) same(m *Line) bool {
	return l.Kind == m.Kind && l.Code == m.Code && (l.Code != "" || l.Text == m.Text)
}

// name is how people call the part.
func (l *Line) name() note.Value {
	if l.Code != "" {
		return note.Word("part", l.Code)
	}
	return note.Word("part", l.Text)
}

// Verdict is what an answer says of the chosen damper.
type Verdict struct {
	Gone           bool // the catalogue doesn't have it
	Fits           bool
	Grade, Mounted string // where it fits
	// Lengths tells its lengths from others.
	Lengths string
}

// Since gives what an answer of today says differently of a damper.
func (v *Verdict) Since(kept *Verdict, damper string) (changes []note.Note) {
	add := func(code note.Code, values ...note.Value) {
		changes = append(changes, note.New(code, append([]note.Value{note.Word("damper", damper)}, values...)...))
	}
	switch {
	case v.Gone:
		add(damperGone)
		return changes
	case kept.Fits && !v.Fits:
		add(fitsNoMore)
	case !kept.Fits && v.Fits:
		add(fitsNow)
	case v.Fits && v.Grade != kept.Grade:
		add(gradeChanged, note.Word("before", kept.Grade), note.Word("after", v.Grade))
	}
	if kept.Fits && v.Fits && v.Mounted != kept.Mounted {
		add(mountingChanged)
	}
	if kept.Lengths != "" && v.Lengths != "" && kept.Lengths != v.Lengths {
		add(lengthsChanged)
	}
	return changes
}

// LinesSince gives what differs between the pick list that was kept and today's. That the
// catalogue doesn't have a damper any more, gone, is said before.
func LinesSince(kept, today []Line, gone []string) (changes []note.Note) {
	for i := range kept {
		was := &kept[i]
		if is := find(today, was); is == nil {
			if slices.Contains(gone, was.Code) {
				continue
			}
			changes = append(changes, note.New(partRemoved, was.name()))
		} else {
			changes = append(changes, is.since(was)...)
		}
	}
	for i := range today {
		if find(kept, &today[i]) == nil {
			changes = append(changes, note.New(partAdded, today[i].name()))
		}
	}
	return changes
}

func find(in []Line, wanted *Line) *Line {
	for i := range in {
		if in[i].same(wanted) {
			return &in[i]
		}
	}
	return nil
}

func (l *Line) since(was *Line) (changes []note.Note) {
	if l.Quantity != was.Quantity {
		changes = append(changes, note.New(quantityChanged, l.name(), note.Num("before", float64(was.Quantity), ""), note.Num("after", float64(l.Quantity), "")))
	}
	before, after := note.Word("before", was.Each), note.Word("after", l.Each)
	switch {
	case l.Each == was.Each:
	case was.Each == "":
		changes = append(changes, note.New(priceAdded, l.name(), after))
	case l.Each == "":
		changes = append(changes, note.New(priceRemoved, l.name(), before))
	default:
		changes = append(changes, note.New(priceChanged, l.name(), before, after))
	}
	return changes
}

// Since gives what differs between the total that was kept and today's.
func (t Total) Since(kept Total) []note.Note {
	if t.Amount == kept.Amount && t.Currency == kept.Currency {
		return nil
	}
	return []note.Note{note.New(totalChanged, note.Word("before", kept.Amount+" "+kept.Currency), note.Word("after", t.Amount+" "+t.Currency))}
}
