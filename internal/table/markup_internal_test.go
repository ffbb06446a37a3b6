package table

import (
	"bytes"
	"encoding/xml"
	"errors"
	"io"
	"strings"
	"testing"
	"testing/iotest"
)

// walked gives what a markup finds: tags as <a>, </a> and <a/> with their
// attribute r, and between a <t> and the next tag the text.
func walked(r io.Reader) ([]string, error) {
	m, err := newMarkup(r)
	if err != nil {
		return nil, err
	}
	var found []string
	for {
		if err := m.tag(); errors.Is(err, io.EOF) {
			return found, nil
		} else if err != nil {
			return found, err
		}
		name := string(m.name)
		if m.closing {
			found = append(found, "</"+name+">")
			continue
		}
		found = append(found, "<"+name+">")
		if value := m.attribute("r"); value != nil {
			found = append(found, "r="+string(value))
		}
		if m.empty {
			found = append(found, "</"+name+">")
		}
		if name == "t" && !m.empty {
			text, err := m.text(nil)
			if err != nil {
				return found, err
			}
			found = append(found, "text "+string(text))
		}
	}
}

// reference gives the same by way of encoding/xml.
func reference(r io.Reader) ([]string, error) {
	d := xml.NewDecoder(r)
	var found []string
	inText := false
	text := ""
	end := func() {
		if inText {
			found = append(found, "text "+text)
		}
		inText, text = false, ""
	}
	for {
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			end()
			return found, nil
		}
		if err != nil {
			return found, err
		}
		switch token := token.(type) {
		case xml.StartElement:
			end()
			found = append(found, "<"+token.Name.Local+">")
			for _, a := range token.Attr {
				if a.Name.Local == "r" {
					found = append(found, "r="+a.Value)
					break
				}
			}
			inText = token.Name.Local == "t"
		case xml.EndElement:
			end()
			found = append(found, "</"+token.Name.Local+">")
		case xml.CharData:
			text += string(token)
		}
	}
}

// emptied leaves out what the two tell apart in their own ways: an empty
// element's text.
func emptied(found []string) string {
	return strings.ReplaceAll(strings.Join(found, "\n")+"\n", "<t>\ntext \n</t>\n", "<t>\n</t>\n")
}

var markups = []string{
	`<?xml version="1.0" encoding="UTF-8"?><a xmlns:x="u"><x:t r="1">b &amp; c&#10;&#x41;</x:t></a>`,
	`<a><t r='&quot;"' s="2">x<![CDATA[<&]]]]>y<!-- - > - -->z<?p ?></t><t/><t></t><b r = "5"/></a>`,
	"<a>\r\n<t xml:space=\"preserve\"> \r\n\r </t>ignored<![CDATA[<t>]]></a>",
	`<a b=">"><!--<t>--><c x:r=">" r="2"></c></a>`,
	`<a><t>` + strings.Repeat("long &lt; ", 20_000) + `</t><b r="` + strings.Repeat("x", 10_000) + `"/></a>`,
}

// What encoding/xml can read is read alike, however the bytes come.
func TestMarkupAgainstReference(t *testing.T) {
	for _, text := range markups {
		want, err := reference(strings.NewReader(text))
		if err != nil {
			t.Fatal(err)
		}
		for name, r := range map[string]io.Reader{
			"whole": strings.NewReader(text), "halves": iotest.HalfReader(strings.NewReader(text)), "bytes": iotest.OneByteReader(strings.NewReader(text)),
			"late error": iotest.DataErrReader(strings.NewReader(text)),
		} {
			if got, err := walked(r); err != nil || emptied(got) != emptied(want) {
				t.Errorf("%s of %.80s: %.2000s, %v", name, text, emptied(got), err)
			}
		}
	}
}

func TestMarkupRefuses(t *testing.T) {
	for text, want := range map[string]error{
		`<!DOCTYPE a>`:                       errMarkup,
		`<a><t>&b;</t>`:                      errMarkup,
		`<a><t>& b</t>`:                      errMarkup,
		`<a><t>&#0;</t>`:                     errMarkup,
		`<a><t>&#xD800;</t>`:                 errMarkup,
		`<>`:                                 errMarkup,
		`<a `:                                io.ErrUnexpectedEOF,
		`<a b="`:                             io.ErrUnexpectedEOF,
		`<a><!-- `:                           io.ErrUnexpectedEOF,
		`<a><t>b`:                            io.ErrUnexpectedEOF,
		`<a><t><![CDATA[b`:                   io.ErrUnexpectedEOF,
		`<a ` + strings.Repeat("b", 200_000): errMarkup,
	} {
		if got, err := walked(strings.NewReader(text)); !errors.Is(err, want) {
			t.Errorf("%.40s: %q, %v", text, got, err)
		}
	}
}

// Whatever comes in, walking ends, and what both can read they read alike.
func FuzzMarkup(f *testing.F) {
	for _, text := range markups {
		f.Add([]byte(text))
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		got, err := walked(bytes.NewReader(text))
		want, wantErr := reference(bytes.NewReader(text))
		if err != nil || wantErr != nil || bytes.IndexByte(text, 0) >= 0 {
			return
		}
		if emptied(got) != emptied(want) {
			t.Errorf("got  %.2000q\nwant %.2000q", got, want)
		}
	})
}
