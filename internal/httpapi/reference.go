package httpapi

import (
	"bytes"
	"encoding/json"
	"fmt"
	"html/template"
	"maps"
	"regexp"
	"slices"
	"strings"
	"sync"

	"github.com/getkin/kin-openapi/openapi3"

	"midstroke/api"
)

// reference is the contract as a page, made once. It needs no script.
var referencePage = sync.OnceValues(func() (*fixed, error) {
	document, err := api.Load()
	if err != nil {
		return nil, err
	}
	style, err := docsFiles.ReadFile("docs/page.css")
	if err != nil {
		return nil, err
	}
	page, err := template.New("reference.html").Funcs(template.FuncMap{
		"prose": prose, "type": typeInWords, "pretty": prettyJSON, "name": refName,
	}).ParseFS(docsFiles, "docs/reference.html")
	if err != nil {
		return nil, err
	}
	var b bytes.Buffer
	if err := page.Execute(&b, map[string]any{
		"Style": template.CSS(style), "Info": document.Info, "Sections": sectionsOf(document), "Schemas": document.Components.Schemas,
	}); err != nil {
		return nil, fmt.Errorf("the page of the contract: %w", err)
	}
	return newFixed(b.Bytes()), nil
})

// docSection is what the page says under one tag.
type docSection struct {
	Tag        *openapi3.Tag
	Operations []docOperation
}

type docOperation struct {
	Method, Path string
	*openapi3.Operation
	// Bodies are the media types of the request, Answers the other responses by
	// status.
	Bodies  []docBody
	Answers []docAnswer
	// Problems are the statuses of problems.
	Problems []string
}

type docBody struct {
	Media    string
	Schema   *openapi3.SchemaRef
	Examples openapi3.Examples
}

type docAnswer struct {
	Status      string
	Description string
	Bodies      []docBody
}

// sectionsOf sorts the operations by the document's tags and by path.
func sectionsOf(document *openapi3.T) []docSection {
	byTag := map[string][]docOperation{}
	for _, path := range slices.Sorted(maps.Keys(document.Paths.Map())) {
		operations := document.Paths.Value(path).Operations()
		for _, method := range []string{"GET", "HEAD", "POST", "PUT", "PATCH", "DELETE"} {
			if op := operations[method]; op != nil {
				byTag[op.Tags[0]] = append(byTag[op.Tags[0]], operationOf(method, path, op))
			}
		}
	}
	sections := make([]docSection, len(document.Tags))
	for i, tag := range document.Tags {
		sections[i] = docSection{tag, byTag[tag.Name]}
	}
	return sections
}

func operationOf(method, path string, op *openapi3.Operation) docOperation {
	o := docOperation{Method: method, Path: path, Operation: op}
	if op.RequestBody != nil {
		o.Bodies = bodiesOf(op.RequestBody.Value.Content)
	}
	for _, status := range slices.Sorted(maps.Keys(op.Responses.Map())) {
		if status >= "400" {
			o.Problems = append(o.Problems, status)
			continue
		}
		response := op.Responses.Value(status).Value
		a := docAnswer{Status: status, Bodies: bodiesOf(response.Content)}
		if response.Description != nil {
			a.Description = *response.Description
		}
		o.Answers = append(o.Answers, a)
	}
	return o
}

func bodiesOf(content openapi3.Content) []docBody {
	var bodies []docBody
	for _, media := range slices.Sorted(maps.Keys(content)) {
		m := content[media]
		examples := maps.Clone(m.Examples)
		if m.Example != nil {
			examples = openapi3.Examples{"example": {Value: &openapi3.Example{Value: m.Example}}}
		}
		bodies = append(bodies, docBody{media, m.Schema, examples})
	}
	return bodies
}

// refName is the name of the component that a reference leads to, "" for none.
func refName(ref string) string { return strings.TrimPrefix(ref, "#/components/schemas/") }

// typeInWords says what a value may be, with links to the schemas of the page.
func typeInWords(ref *openapi3.SchemaRef) template.HTML {
	switch {
	case ref == nil || ref.Value == nil:
		return "anything"
	case strings.HasPrefix(ref.Ref, "#/components/schemas/"):
		name := template.HTMLEscapeString(refName(ref.Ref))
		return template.HTML(`<a href="#schema-` + name + `">` + name + `</a>`)
	}
	s := ref.Value
	var parts []string
	for _, one := range slices.Concat(s.OneOf, s.AnyOf, s.AllOf) {
		parts = append(parts, string(typeInWords(one)))
	}
	switch {
	case len(s.OneOf) > 0:
		return template.HTML(strings.Join(parts, " or "))
	case len(parts) > 0:
		return template.HTML(strings.Join(parts, " with "))
	case s.Type.Is("array"):
		return "list of " + typeInWords(s.Items)
	case len(s.Enum) > 0:
		for _, v := range s.Enum {
			parts = append(parts, "<code>"+template.HTMLEscapeString(fmt.Sprint(v))+"</code>")
		}
		return template.HTML(strings.Join(parts, ", "))
	case s.Type.Is("object") && len(s.Properties) > 0:
		var b strings.Builder
		for _, name := range slices.Sorted(maps.Keys(s.Properties)) {
			fmt.Fprintf(&b, "<li><code>%s</code> %s", template.HTMLEscapeString(name), typeInWords(s.Properties[name]))
			if d := s.Properties[name].Value.Description; d != "" {
				b.WriteString(": " + string(prose(d)))
			}
			b.WriteString("</li>")
		}
		return template.HTML("<ul>" + b.String() + "</ul>")
	case s.Type == nil:
		return "anything"
	}
	words := strings.Join(s.Type.Slice(), " or ")
	if s.Min != nil && s.Max != nil {
		words += fmt.Sprintf(", %v to %v", *s.Min, *s.Max)
	}
	return template.HTML(template.HTMLEscapeString(words))
}

var (
	codeMarks   = regexp.MustCompile("`([^`]+)`")
	strongMarks = regexp.MustCompile(`\*\*([^*]+)\*\*`)
)

// prose writes a description: its paragraphs, and of CommonMark the marks that the
// contract uses: code, strong, and a block of code, which is indented by four blanks.
func prose(text string) template.HTML {
	var b strings.Builder
	begun := false // a paragraph, just before
	for paragraph := range strings.SplitSeq(strings.TrimSpace(text), "\n\n") {
		if lines, ok := unindented(paragraph); ok {
			// It may be wider than the page, so that it has a way to be scrolled by keys.
			b.WriteString(`<code class="block" tabindex="0">` + template.HTMLEscapeString(lines) + `</code>`)
			begun = false
			continue
		}
		if begun {
			b.WriteString("<br><br>")
		}
		escaped := template.HTMLEscapeString(paragraph)
		escaped = codeMarks.ReplaceAllString(escaped, "<code>$1</code>")
		b.WriteString(strongMarks.ReplaceAllString(escaped, "<strong>$1</strong>"))
		begun = true
	}
	return template.HTML(b.String())
}

// unindented gives the lines of a block of code; false for other paragraphs.
func unindented(paragraph string) (string, bool) {
	const indent = "    "
	lines := strings.Split(paragraph, "\n")
	for i, line := range lines {
		rest, ok := strings.CutPrefix(line, indent)
		if !ok {
			return "", false
		}
		lines[i] = rest
	}
	return strings.Join(lines, "\n"), true
}

func prettyJSON(v any) (string, error) {
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", "  ")
	err := enc.Encode(v)
	return b.String(), err
}
