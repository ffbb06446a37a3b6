package drawing_test

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"sync"
	"testing"

	"midstroke/internal/drawing"
	"midstroke/internal/guide"
	"midstroke/internal/mount"
	"midstroke/internal/note"
	"midstroke/internal/unit"
)

// everyEnd is every style with every plane that it has.
func everyEnd() []guide.End {
	var all []guide.End
	for _, name := range mount.Styles.All() {
		style, _ := mount.Styles.Parse(name)
		planes := style.Planes()
		if len(planes) == 0 {
			planes = []mount.Plane{mount.StylesOwn}
		}
		for _, p := range planes {
			all = append(all, guide.End{Style: style, Plane: p})
		}
	}
	return all
}

func drawEnds(t testing.TB, upper, lower guide.End, o drawing.EndsOptions) []byte {
	t.Helper()
	g, faults := guide.For(upper, lower)
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	var b bytes.Buffer
	if err := drawing.Ends(&b, &g, o); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func endName(e guide.End) string {
	if e.Plane == mount.StylesOwn {
		return e.Style.String()
	}
	return e.Style.String() + "." + e.Plane.String()
}

// TestEndsGolden holds drawings byte for byte, each end above and below once
// at least. Each was rendered and looked at when it was written.
func TestEndsGolden(t *testing.T) {
	all := everyEnd()
	for i, upper := range all {
		lower := all[(i+4)%len(all)]
		name := "ends_" + endName(upper) + "_" + endName(lower)
		t.Run(name, func(t *testing.T) {
			got := drawEnds(t, upper, lower, drawing.EndsOptions{Lang: "en"})
			path := filepath.Join("testdata", name+".svg")
			if *update {
				if err := os.WriteFile(path, got, 0o644); err != nil {
					t.Fatal(err)
				}
			}
			want, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			if !bytes.Equal(got, want) {
				t.Errorf("differs from %s; look at it, and run with -update if it is right", path)
			}
		})
	}
}

// drawnPair is the drawing of one pair of ends in one language.
type drawnPair struct {
	name     string
	numbered bool
	guide    guide.Guide
	raw      []byte
	svg      element
}

// everyPair is every pair of ends in every language and either layout, drawn
// and parsed once.
var everyPair = sync.OnceValue(func() []drawnPair {
	var all []drawnPair
	for _, lang := range note.Languages() {
		for _, upper := range everyEnd() {
			for _, lower := range everyEnd() {
				for _, numbered := range []bool{false, true} {
					p := drawnPair{name: fmt.Sprintf("%s %s over %s, numbered: %t", lang, endName(upper), endName(lower), numbered), numbered: numbered}
					p.guide, _ = guide.For(upper, lower)
					var b bytes.Buffer
					if err := drawing.Ends(&b, &p.guide, drawing.EndsOptions{Lang: lang, Units: unit.Inches, Numbered: numbered}); err != nil {
						panic(err)
					}
					p.raw = b.Bytes()
					if err := xml.Unmarshal(p.raw, &p.svg); err != nil {
						panic(p.name + ": " + err.Error())
					}
					all = append(all, p)
				}
			}
		}
	}
	return all
})

func TestEveryPairIsDrawn(t *testing.T) {
	// 9 planes, and 2 styles without.
	if got, want := len(everyPair()), 2*11*11*len(note.Languages()); got != want {
		t.Errorf("%d drawings, want %d", got, want)
	}
}

// elements calls f for an element and all within it.
func elements(e *element, f func(*element)) {
	f(e)
	for i := range e.Children {
		elements(&e.Children[i], f)
	}
}

var (
	drawnTo     = regexp.MustCompile(`[ML][^A-Za-z]+`)
	number      = regexp.MustCompile(`-?\d+(\.\d+)?`)
	letters     = regexp.MustCompile(`<g [^>]*font-size="([^"]*)"`)
	strokeWidth = regexp.MustCompile(`stroke-width="([^"]*)"`)
)

// TestTheLowerMountIsDrawnAsNoFrame: what the lower end is fastened to is the axle
// or an arm, whatever the pair.
func TestTheLowerMountIsDrawnAsNoFrame(t *testing.T) {
	for _, upper := range everyEnd() {
		for _, lower := range everyEnd() {
			svg := parsed(t, drawEnds(t, upper, lower, drawing.EndsOptions{}))
			frames, mounts := 0, 0
			elements(&svg, func(e *element) {
				if e.XMLName.Local == "text" {
					frames += strings.Count(e.Text, "frame")
					mounts += strings.Count(e.Text, "axle")
				}
			})
			if lower.Style == mount.SpindleStrut {
				continue // it is in a casting, and there is no mount
			}
			if mounts == 0 || upper.Style == mount.SpindleStrut && frames > 0 {
				t.Errorf("%s over %s: %d times frame, %d times axle", endName(upper), endName(lower), frames, mounts)
			}
		}
	}
}

// TestEndsAreSafeToShow: XML with a name and a description, nothing that runs
// or is fetched, no colour but the reader's own, no line finer than 1.5.
func TestEndsAreSafeToShow(t *testing.T) {
	for _, p := range everyPair() {
		name, g, raw, svg := p.name, p.guide, p.raw, p.svg
		if svg.XMLName.Space != "http://www.w3.org/2000/svg" || svg.XMLName.Local != "svg" || svg.attr("role") != "img" {
			t.Errorf("%s begins with %v", name, svg.XMLName)
		}
		ids := map[string]string{}
		elements(&svg, func(e *element) {
			switch e.XMLName.Local {
			case "svg", "title", "desc", "g", "path", "text":
			default:
				t.Errorf("%s has a %s", name, e.XMLName.Local)
			}
			if id := e.attr("id"); id != "" {
				ids[id] = e.Text
			}
			for _, a := range e.Attrs {
				switch a.Name.Local {
				case "fill", "stroke":
					if a.Value != "none" && a.Value != "currentColor" {
						t.Errorf("%s: %s=%q", name, a.Name.Local, a.Value)
					}
				case "href", "style", "src", "class":
					t.Errorf("%s: %s=%q", name, a.Name.Local, a.Value)
				}
				if strings.Contains(a.Value, "NaN") || strings.Contains(a.Value, "Inf") || strings.HasPrefix(a.Name.Local, "on") {
					t.Errorf("%s: %s=%q", name, a.Name.Local, a.Value)
				}
			}
		})
		for _, m := range strokeWidth.FindAllSubmatch(raw, -1) {
			if wide, err := strconv.ParseFloat(string(m[1]), 64); err != nil || wide < 1.5 {
				t.Errorf("%s: a line %s wide", name, m[1])
			}
		}
		named := strings.Fields(svg.attr("aria-labelledby"))
		if len(named) != 2 || len(ids) != 2 || ids[named[0]] == "" || ids[named[1]] == "" {
			t.Errorf("%s is named by %v of %v", name, named, ids)
		}
		for _, n := range append(g.Holds(), g.Outside...) {
			text := strings.TrimSuffix(n.Text(svg.attr("lang"), unit.Inches), ".")
			if !strings.Contains(ids[named[1]], text) {
				t.Errorf("%s: %q isn't told in %q", name, text, ids[named[1]])
			}
		}
	}
}

// extent is the least and the greatest of a path's coordinates.
type extent struct{ left, top, right, foot float64 }

// extentOf reads a path's data. Its commands are absolute, but for circles, which are
// drawn relative to a centre that is checked by its M.
func extentOf(data string) extent {
	e := extent{math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)}
	for _, sub := range drawnTo.FindAllString(data, -1) {
		c := number.FindAllString(sub, -1)
		x, _ := strconv.ParseFloat(c[0], 64)
		y, _ := strconv.ParseFloat(c[1], 64)
		e = extent{min(e.left, x), min(e.top, y), max(e.right, x), max(e.foot, y)}
	}
	return e
}

// TestEndsAreWholeOnTheSheet: every stroke and every word lies on it, no word
// on another, and there are words for all.
func TestEndsAreWholeOnTheSheet(t *testing.T) {
	extents := map[string]extent{} // many pairs share a path
	for _, p := range everyPair() {
		name, g, svg := p.name, p.guide, p.svg
		var x0, y0, wide, high float64
		if _, err := fmt.Sscan(svg.attr("viewBox"), &x0, &y0, &wide, &high); err != nil || x0 != 0 || y0 != 0 {
			t.Fatalf("%s: viewBox %q", name, svg.attr("viewBox"))
		}
		type line struct{ x, y float64 }
		var lines []line
		plane := 0
		elements(&svg, func(e *element) {
			switch e.XMLName.Local {
			case "path":
				data := e.attr("d")
				reach, known := extents[data]
				if !known {
					reach = extentOf(data)
					extents[data] = reach
				}
				if reach.left < 0 || reach.top < 0 || reach.right > wide || reach.foot > high {
					t.Errorf("%s: a stroke reaches %+v on %g by %g", name, reach, wide, high)
				}
			case "text":
				x, _ := strconv.ParseFloat(e.attr("x"), 64)
				y, _ := strconv.ParseFloat(e.attr("y"), 64)
				const size = 15
				// Half an em a letter is what Helvetica's average.
				if right := x + 0.5*size*float64(len([]rune(e.Text))); y-size < 0 || y > high || e.attr("text-anchor") == "" && right > wide+size {
					t.Errorf("%s: %q from %g to %g at %g on %g by %g", name, e.Text, x, right, y, wide, high)
				}
				if strings.ContainsAny(e.Text, "{}_") || e.Text == "" {
					t.Errorf("%s: no words in %q", name, e.Text)
				}
				for _, l := range lines {
					if dy := y - l.y; l.x == x && dy < size && dy > -size {
						t.Errorf("%s: %q lies on another text", name, e.Text)
					}
				}
				lines = append(lines, line{x, y})
				if e.attr("font-weight") == "bold" {
					plane++
				}
			}
		})
		if inside := len(g.Outside) == 0; inside && plane < 3 || !inside && plane != 0 {
			t.Errorf("%s: %d bold texts", name, plane)
		}
	}
}

// arrow finds the two tips of the dimension arrow.
func arrow(t *testing.T, svg []byte) (top, foot float64) {
	t.Helper()
	tips := regexp.MustCompile(`M54 ([\d.]+)L49\.5 ([\d.]+)L58\.5`).FindAllSubmatch(svg, -1)
	if len(tips) != 2 {
		t.Fatalf("%d arrow heads", len(tips))
	}
	top, _ = strconv.ParseFloat(string(tips[0][1]), 64)
	foot, _ = strconv.ParseFloat(string(tips[1][1]), 64)
	return top, foot
}

// TestTheArrowGoesFromPlaneToPlane: from one plane to the next in the order in
// which they lie outwards the arrow grows, at either end, and only there. The
// order is that of the contract: near edge, centre, far edge; innermost washer,
// frame, its far side, tip; and the bar is drawn with its seat beyond its axis.
func TestTheArrowGoesFromPlaneToPlane(t *testing.T) {
	outwards := [][]mount.Plane{
		{mount.NearEdge, mount.BoltCentre, mount.FarEdge},
		{mount.InnerWasher, mount.FrameFace, mount.FrameFarFace, mount.StudTip},
		{mount.BarCentre, mount.SeatFace},
	}
	for i, style := range []mount.Style{mount.Eye, mount.Stud, mount.BarPin} {
		for j := 1; j < len(outwards[i]); j++ {
			in := guide.End{Style: style, Plane: outwards[i][j-1]}
			out := guide.End{Style: style, Plane: outwards[i][j]}
			still := guide.End{Style: mount.Eye}
			inTop, inFoot := arrow(t, drawEnds(t, in, still, drawing.EndsOptions{}))
			outTop, outFoot := arrow(t, drawEnds(t, out, still, drawing.EndsOptions{}))
			if !(outTop < inTop) || outFoot != inFoot {
				t.Errorf("above: %v from %g to %g, %v from %g to %g", in.Plane, inTop, inFoot, out.Plane, outTop, outFoot)
			}
			inTop, inFoot = arrow(t, drawEnds(t, still, in, drawing.EndsOptions{}))
			outTop, outFoot = arrow(t, drawEnds(t, still, out, drawing.EndsOptions{}))
			if !(outFoot > inFoot) || outTop != inTop {
				t.Errorf("below: %v from %g to %g, %v from %g to %g", in.Plane, inTop, inFoot, out.Plane, outTop, outFoot)
			}
		}
	}
}

// TestNoArrowOutsideTheMethod: nothing invites to tape what tells nothing.
func TestNoArrowOutsideTheMethod(t *testing.T) {
	for _, pair := range [][2]mount.Style{{mount.Fork, mount.Eye}, {mount.Stud, mount.SpindleStrut}} {
		svg := drawEnds(t, guide.End{Style: pair[0]}, guide.End{Style: pair[1]}, drawing.EndsOptions{})
		if bytes.Contains(svg, []byte(">L<")) || bytes.Contains(svg, []byte("M54 ")) {
			t.Errorf("%v over %v has an arrow", pair[0], pair[1])
		}
	}
}

func TestEndsOptions(t *testing.T) {
	upper, lower := guide.End{Style: mount.Stud}, guide.End{Style: mount.Eye}
	plain := drawEnds(t, upper, lower, drawing.EndsOptions{Lang: "en"})
	for name, o := range map[string]drawing.EndsOptions{
		"again":                        {Lang: "en"},
		"no language":                  {},
		"a language that isn't known":  {Lang: `x" onload="alert(1)`},
		"a width that can't be":        {Width: -5},
		"units, of which it has none":  {Units: unit.Inches},
		"millimetres, as where it has": {Units: unit.Millimetres},
	} {
		if !bytes.Equal(drawEnds(t, upper, lower, o), plain) {
			t.Errorf("%s: not the same drawing", name)
		}
	}
	natural, small := parsed(t, plain), parsed(t, drawEnds(t, upper, lower, drawing.EndsOptions{Width: 320}))
	if small.attr("width") != "320" || small.attr("viewBox") != natural.attr("viewBox") {
		t.Errorf("at 320: width %s, viewBox %s", small.attr("width"), small.attr("viewBox"))
	}
	if spanish := drawEnds(t, upper, lower, drawing.EndsOptions{Lang: "es"}); !bytes.Contains(spanish, []byte(`lang="es"`)) || !bytes.Contains(spanish, []byte("arandela")) {
		t.Error("Spanish is not spoken")
	}
}

// TestNumbersAreTold: each number stands in the drawing and again before its
// words below it, and the words are those that stand beside the other drawing.
// On a phone 320 wide a page leaves the drawing some 260, where its letters are
// some 12 high at least.
func TestNumbersAreTold(t *testing.T) {
	words := func(svg *element) (numbers, told []string) {
		elements(svg, func(e *element) {
			if e.XMLName.Local != "text" || e.Text == "L" || e.attr("font-style") != "" {
				return
			}
			if _, err := strconv.Atoi(e.Text); err == nil {
				numbers = append(numbers, e.Text)
			} else {
				told = append(told, e.Text)
			}
		})
		return numbers, told
	}
	pairs := everyPair()
	for i := 0; i < len(pairs); i += 2 {
		beside, numbered := &pairs[i], &pairs[i+1]
		if beside.numbered || !numbered.numbered || beside.guide.Upper != numbered.guide.Upper {
			t.Fatal("the pairs aren't in turns")
		}
		none, want := words(&beside.svg)
		numbers, got := words(&numbered.svg)
		if len(none) > 0 || strings.Join(got, " ") != strings.Join(want, " ") {
			t.Errorf("%s tells %q, want %q", numbered.name, got, want)
		}
		n := len(numbers) / 2
		for j, number := range numbers[:n] {
			if number != strconv.Itoa(j+1) || numbers[n+j] != number {
				t.Errorf("%s is numbered %q", numbered.name, numbers)
				break
			}
		}
		wide, _ := strconv.ParseFloat(numbered.svg.attr("width"), 64)
		size, _ := strconv.ParseFloat(string(letters.FindSubmatch(numbered.raw)[1]), 64)
		if high := size * 260 / wide; !(high >= 11.8) {
			t.Errorf("%s has letters %.1f high", numbered.name, high)
		}
	}
}

func TestEndsWriterFails(t *testing.T) {
	g, _ := guide.For(guide.End{Style: mount.Stud}, guide.End{Style: mount.Eye})
	if err := drawing.Ends(broken{}, &g, drawing.EndsOptions{}); !errors.Is(err, errBroken) {
		t.Errorf("got %v", err)
	}
}

func BenchmarkEnds(b *testing.B) {
	g, _ := guide.For(guide.End{Style: mount.BarPin, Plane: mount.SeatFace}, guide.End{Style: mount.Eye})
	for range b.N {
		if err := drawing.Ends(io.Discard, &g, drawing.EndsOptions{Lang: "en"}); err != nil {
			b.Fatal(err)
		}
	}
}

func ExampleEnds() {
	g, _ := guide.For(
		guide.End{Style: mount.Stud},
		guide.End{Style: mount.Eye, Plane: mount.NearEdge})
	var svg bytes.Buffer
	err := drawing.Ends(&svg, &g, drawing.EndsOptions{Lang: "en", Width: 360})
	fmt.Println(err)
	for _, m := range regexp.MustCompile(`<(?:title|desc) [^>]*>([^<]*)<`).FindAllStringSubmatch(svg.String(), -1) {
		fmt.Println(m[1])
	}
	// Output:
	// <nil>
	// Where to hold the tape: stud above, eye below
	// At the upper stud, hold the tape to the underside of the lowest washer, the one nearest the damper. At the lower end, hold the tape to the edge of the bolt&#39;s shank that is nearer the upper end.
}
