package httpapi

import (
	"encoding/json"
	"strings"

	"midstroke/internal/fault"
	"midstroke/internal/note"
)

// codeSections are the sections of the page of codes, in its order.
var codeSections = []string{
	"cautions", "reasons", "steps", "remedies", "notes", "parts", "questions", "instructions", "labels", "columns", "changes", "deliveries", note.SectionFaults, note.SectionProblems,
}

// codeSection is one section of the page of codes.
type codeSection struct {
	Section      string
	Title, About string
	Codes        []listedCode
}

// listedCode is a code with its words.
type listedCode struct {
	// Code is what callers get, and Detail what follows it in the message files
	// where one code has several texts.
	Code, Detail string
	// Anchor is what links lead to; the first of a code's texts has it.
	Anchor string
	Words  []wordsIn
}

type wordsIn struct{ Lang, Text string }

// codePages makes the page of codes for readers of each language.
func codePages(languages []string) (map[string]*fixed, error) {
	sections := map[string][]listedCode{}
	seen := map[string]bool{}
	for _, e := range note.Entries() {
		c := listedCode{Code: e.Code}
		if e.Section == note.SectionFaults {
			c.Code = fault.Code(e.Code).Public()
		}
		c.Code, _, _ = strings.Cut(c.Code, "/")
		c.Detail = strings.TrimLeft(strings.TrimPrefix(e.Code, c.Code), "./")
		if anchor := e.Section + "." + c.Code; !seen[anchor] {
			seen[anchor], c.Anchor = true, anchor
		}
		for _, lang := range languages {
			c.Words = append(c.Words, wordsIn{lang, e.Words(lang)})
		}
		sections[e.Section] = append(sections[e.Section], c)
	}
	return pages("codes.html", languages, func(lang string) (any, error) {
		titles, err := sectionTitles(lang)
		if err != nil {
			return nil, err
		}
		all := make([]codeSection, len(codeSections))
		for i, name := range codeSections {
			all[i] = codeSection{name, titles[name].Title, titles[name].About, sections[name]}
		}
		return all, nil
	})
}

type sectionTitle struct{ Title, About string }

// sectionTitles reads what the page of codes calls its sections.
func sectionTitles(lang string) (titles map[string]sectionTitle, err error) {
	raw, err := docsFiles.ReadFile("docs/" + lang + "/sections.json")
	if err != nil {
		return nil, err
	}
	return titles, json.Unmarshal(raw, &titles)
}
