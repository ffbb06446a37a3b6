package wire

import (
	"strings"

	"midstroke/internal/guide"
	"midstroke/internal/mount"
	"midstroke/internal/note"
	"midstroke/internal/unit"
)

// AppendGuide appends how to measure a pair of ends as JSON.
func AppendGuide(dst []byte, g *guide.Guide, s unit.System, lang string) []byte {
	w := writer{b: dst, units: s, lang: lang}
	w.open()
	w.text("units", s.String())
	w.text("language", lang)
	w.guideEnd("upper", g.Upper)
	w.guideEnd("lower", g.Lower)
	w.key("steps")
	w.openList()
	for i := range g.Steps {
		step := &g.Steps[i]
		w.open()
		w.note(&step.Note)
		w.key("fields")
		w.openList()
		for _, field := range step.Fields {
			w.string(field)
		}
		w.closeList()
		w.close()
	}
	w.closeList()
	w.notes("cautions", g.Cautions)
	if len(g.Outside) > 0 {
		w.key("outside_method")
		w.open()
		w.text("text", w.sentence(g.Outside))
		w.notes("reasons", g.Outside)
		w.close()
	}
	w.close()
	return append(w.b, '\n')
}

func (w *writer) guideEnd(name string, e guide.End) {
	w.key(name)
	w.open()
	w.text("style", e.Style.String())
	if e.Plane == mount.StylesOwn {
		w.null("measured_to")
	} else {
		w.text("measured_to", e.Plane.String())
	}
	w.close()
}

// sentence joins what several notes say.
func (w *writer) sentence(notes []note.Note) string {
	said := make([]string, len(notes))
	for i := range notes {
		said[i] = notes[i].Text(w.lang, w.units)
	}
	return strings.Join(said, "; ")
}
