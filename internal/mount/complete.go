package mount

import (
	"slices"

	"midstroke/internal/note"
)

// need is a figure of the bracket by its name in a request, and whether it was
// given.
type need struct {
	field string
	given bool
}

// complete says whether anything was left open of an end that bolts up, and for
// which figures to ask. chosen says that every part could be chosen.
func (r *Result) complete(chosen bool, needs ...need) {
	if !r.Possible {
		return
	}
	for _, n := range needs {
		if !n.given {
			r.Lacks = append(r.Lacks, n.field)
		}
	}
	r.Complete = chosen && !r.Open && len(r.Lacks) == 0
}

// Alike says whether two ends bolt up in the same way, so that one description
// serves both; where the arithmetic is part of it, that must be the same too.
func (r *Result) Alike(q *Result, arithmetic bool) bool {
	return r.Possible == q.Possible && r.Open == q.Open && r.Complete == q.Complete && r.Adapter == q.Adapter &&
		slices.Equal(r.Lacks, q.Lacks) && slices.Equal(r.Sleeves, q.Sleeves) && r.Spacers.alike(q.Spacers) &&
		alike(r.Bolt, q.Bolt) && alike(r.BracketHole, q.BracketHole) && slices.Equal(r.StudStack, q.StudStack) &&
		slices.EqualFunc(r.Reasons, q.Reasons, note.Note.Equal) && slices.EqualFunc(r.Cautions, q.Cautions, note.Note.Equal) &&
		len(r.Cures) == 0 && len(q.Cures) == 0 &&
		(!arithmetic || slices.EqualFunc(r.Working, q.Working, func(a, b note.Step) bool { return a.Note.Equal(b.Note) }))
}

func (s *Stack) alike(q *Stack) bool {
	if s == nil || q == nil {
		return s == q
	}
	return s.LeftOver == q.LeftOver && slices.Equal(s.EachSide, q.EachSide)
}

// alike compares what may not be there.
func alike[T comparable](a, b *T) bool {
	if a == nil || b == nil {
		return a == b
	}
	return *a == *b
}

// Summary says in a few words what an end that bolts up takes, and what to ask
// for where something was left open.
func (r *Result) Summary() []note.Note {
	var all []note.Note
	say := func(code note.Code, values ...note.Value) { all = append(all, note.New(code, values...)) }
	if r.Adapter != nil {
		say("takes_adapter", note.Word("code", r.Adapter.Code))
	}
	for i := range r.Sleeves {
		say("takes_sleeve", note.Word("code", r.Sleeves[i].Sleeve.Code))
	}
	if r.Spacers != nil {
		for i := range r.Spacers.EachSide {
			s := &r.Spacers.EachSide[i]
			say("takes_spacers", note.Num("quantity", float64(2*s.Quantity), ""), note.Word("code", s.Spacer.Code))
		}
	}
	switch b := r.Bolt; {
	case b == nil:
	case b.Order != "":
		say("takes_bolt", note.Word("bolt", b.Order))
	default:
		say("takes_pin", note.Size("diameter", b.Bolt.Diameter))
	}
	open, byList := note.Code("left_open"), note.Code("left_open_by_list")
	if len(all) > 0 {
		open, byList = "rest_left_open", "rest_left_open_by_list"
	}
	switch {
	case r.Complete && len(all) == 0:
		say("takes_nothing")
	case r.Complete:
	case len(r.Lacks) > 0:
		say(open, note.Word("field", r.Lacks[0]))
	default:
		say(byList)
	}
	return all
}
