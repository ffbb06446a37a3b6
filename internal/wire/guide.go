package wire

import (
	"midstroke/internal/guide"
	"midstroke/internal/mount"
	"midstroke/internal/note"
	"midstroke/internal/unit"
)

// AppendGuide appends how to measure a pair of ends as JSON.
func AppendGuide(dst []byte, g *guide.Guide, s unit.System, lang string) []byte {
	return appendAnswer(writer{b: dst, units: s, lang: lang}, guideMembers, g)
}

var guideMembers = members[guide.Guide]{
	unitsMember[guide.Guide](),
	plainValue("language", shape{kind: textKind}, func(w *writer, _ *guide.Guide) { w.appendText(w.lang) }),
	anObject("upper", guideEndMembers, func(g *guide.Guide) *guide.End { return &g.Upper }),
	anObject("lower", guideEndMembers, func(g *guide.Guide) *guide.End { return &g.Lower }),
	aList("steps", members[guide.Step]{
		aNote(func(s *guide.Step) *note.Note { return &s.Note }),
		aListOf("fields", textKind, func(s *guide.Step) []string { return s.Fields }, (*writer).appendText),
	}, func(g *guide.Guide) []guide.Step { return g.Steps }),
	aListOf("figures", textKind, (*guide.Guide).FigureNames, (*writer).appendText),
	notes("cautions", func(g *guide.Guide) []note.Note { return g.Cautions }),
	when(anObject("outside_method", members[guide.Guide]{
		plainValue("text", shape{kind: textKind}, func(w *writer, g *guide.Guide) { w.appendText(w.joined(g.Outside, "; ")) }),
		reasons(func(g *guide.Guide) []note.Note { return g.Outside }),
	}, itself), func(g *guide.Guide) bool { return len(g.Outside) > 0 }),
}

var guideEndMembers = members[guide.End]{
	aText("style", func(e *guide.End) string { return e.Style.String() }),
	aTextOrNull("measured_to", func(e *guide.End) string {
		if e.Plane == mount.StylesOwn {
			return ""
		}
		return e.Plane.String()
	}),
}
