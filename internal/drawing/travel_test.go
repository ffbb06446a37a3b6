package drawing_test

import (
	"bytes"
	"encoding/xml"
	"errors"
	"flag"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"midstroke/internal/drawing"
	"midstroke/internal/linkage"
	"midstroke/internal/unit"
)

var update = flag.Bool("update", false, "write the drawings in testdata anew")

func pt(c ...float64) linkage.Point {
	p := make(linkage.Point, len(c))
	for i, x := range c {
		p[i] = unit.FromMm(x)
	}
	return p
}

// travels are invented suspensions, 110 mm up and 80 mm down.
func travels(t testing.TB) map[string]*linkage.Travel {
	t.Helper()
	all := map[string]*linkage.Travel{}
	for name, s := range map[string]linkage.Spec{
		"inclined":    {Kind: linkage.Inclined, Damper: linkage.Damper{Upper: pt(0, 450, 640), Lower: pt(80, 430, 260)}},
		"over_centre": {Kind: linkage.Inclined, Damper: linkage.Damper{Upper: pt(0, 0, 60), Lower: pt(0, 260, 0)}},
		"solid_axle": {
			Kind: linkage.SolidAxle, RollPoint: pt(0, 0, 350),
			Wheels: linkage.Wheels{Left: pt(0, 750, 350), Right: pt(0, -750, 350)},
			Damper: linkage.Damper{Upper: pt(0, 400, 700), Lower: pt(0, 500, 300)},
		},
		"still": { // hardly moved by the wheel, so that both scales are almost empty
			Kind:   linkage.SwingArm,
			PivotA: pt(0, 0, 0), PivotB: pt(0, 100, 0), Wheel: pt(-4000, 50, 0),
			Damper: linkage.Damper{Upper: pt(0, 50, 500), Lower: pt(-1, 50, 0)},
		},
	} {
		l, faults := linkage.New(s)
		if len(faults) > 0 {
			t.Fatal(name, faults)
		}
		o := linkage.Options{Range: linkage.Range{Bump: 110 * unit.Millimetre, Droop: 80 * unit.Millimetre}, Points: 2}
		all[name] = travelOf(t, l, o)
		if name == "inclined" || name == "solid_axle" {
			o.Body = linkage.Body{Diameter: 52 * unit.Millimetre, Length: 250 * unit.Millimetre}
			o.Obstacles = []linkage.Obstacle{
				{Name: "frame rail", Point: pt(0, 500, 560), Radius: 10 * unit.Millimetre},
				{Name: "tyre's <inner> wall", Point: pt(30, 545, 330), WithWheel: true},
				{Name: "exhaust", Point: pt(-50, 420, 420), Radius: 25 * unit.Millimetre},
			}
			all[name+"_obstacles"] = travelOf(t, l, o)
		}
	}
	return all
}

func travelOf(t testing.TB, l *linkage.Linkage, o linkage.Options) *linkage.Travel {
	t.Helper()
	got, faults := l.Travel(o)
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	return got
}

func draw(t testing.TB, tr *linkage.Travel, s unit.System, lang string) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := drawing.Travel(&b, tr, s, lang); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// element is any element of a drawing.
type element struct {
	XMLName  xml.Name
	Attrs    []xml.Attr `xml:",any,attr"`
	Text     string     `xml:",chardata"`
	Children []element  `xml:",any"`
}

func (e element) attr(name string) string {
	for _, a := range e.Attrs {
		if a.Name.Local == name {
			return a.Value
		}
	}
	return ""
}

func parsed(t testing.TB, svg []byte) element {
	t.Helper()
	var e element
	if err := xml.Unmarshal(svg, &e); err != nil {
		t.Fatal(err)
	}
	return e
}

// TestTravelGolden holds the drawings byte for byte. Each was rendered and looked
// at when it was written.
func TestTravelGolden(t *testing.T) {
	for name, tr := range travels(t) {
		for _, s := range []unit.System{unit.Inches, unit.Millimetres} {
			t.Run(name+"_"+s.String(), func(t *testing.T) {
				got := draw(t, tr, s, "en")
				path := filepath.Join("testdata", name+"_"+s.String()+".svg")
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
}

// TestTravelIsWellFormed: XML, with words for everything, all of it on the
// sheet in both languages, no two rows on one another, and a title and a description
// for those who cannot see it.
func TestTravelIsWellFormed(t *testing.T) {
	all := travels(t)
	all["long_name"] = longNames(all["solid_axle_obstacles"])
	for name, tr := range all {
		for _, lang := range []string{"en", "es"} {
			travelIsWellFormed(t, name+" "+lang, parsed(t, draw(t, tr, unit.Inches, lang)))
		}
	}
}

// longNames is a travel whose obstacles have long names.
func longNames(tr *linkage.Travel) *linkage.Travel {
	long := *tr
	long.Clearances = slices.Clone(tr.Clearances)
	for i := range long.Clearances {
		long.Clearances[i].Name = strings.Repeat("bracket of the brake line ", 4)
	}
	return &long
}

func travelIsWellFormed(t *testing.T, name string, svg element) {
	t.Helper()
	if svg.XMLName.Space != "http://www.w3.org/2000/svg" || svg.XMLName.Local != "svg" || svg.attr("role") != "img" {
		t.Errorf("begins with %v", svg.XMLName)
	}
	width, _ := strconv.ParseFloat(svg.attr("width"), 64)
	height, _ := strconv.ParseFloat(svg.attr("height"), 64)
	found := map[string]int{}
	row, above := 0.0, 0.0 // the y of the last text with no anchor, and of the last one above the panels
	for _, e := range svg.Children {
		found[e.XMLName.Local]++
		if strings.ContainsAny(e.Text, "{}_") || strings.Contains(e.Text, "drawing") {
			t.Errorf("no words in %q", e.Text)
		}
		if e.XMLName.Local == "text" {
			x, errX := strconv.ParseFloat(e.attr("x"), 64)
			y, errY := strconv.ParseFloat(e.attr("y"), 64)
			if errX != nil || errY != nil || x < 0 || x > width || y < 0 || y > height {
				t.Errorf("%s: %q stands at %s, %s", name, e.Text, e.attr("x"), e.attr("y"))
			}
			per := 0.52 // letters are about half as wide as high, bold ones a little more
			if e.attr("font-weight") == "bold" {
				per = 0.56
			}
			if size, err := strconv.ParseFloat(e.attr("font-size"), 64); err == nil && e.attr("text-anchor") == "" {
				if x+per*size*float64(len([]rune(e.Text))) > width {
					t.Errorf("%s: %q is cut off", name, e.Text)
				}
				if y < row+size {
					t.Errorf("%s: %q stands on the row above it", name, e.Text)
				}
				row = y
				if y < 400 {
					above = y
				}
			} else if y < above+size {
				t.Errorf("%s: %q stands on the rows above the panels", name, e.Text)
			}
		}
		for _, a := range e.Attrs {
			if strings.Contains(a.Value, "NaN") || strings.Contains(a.Value, "Inf") {
				t.Errorf("%s has %s=%q", e.XMLName.Local, a.Name.Local, a.Value)
			}
		}
	}
	if found["title"] != 1 || found["desc"] != 1 || found["circle"] != 2 || found["text"] < 10 {
		t.Errorf("%s holds %v", name, found)
	}
}

// TestCurvesAreToScale reads the length curve back through the axes' own
// figures: the ride mark lies on it, and its ends are the travel's.
func TestCurvesAreToScale(t *testing.T) {
	tr := travels(t)["over_centre"]
	svg := parsed(t, draw(t, tr, unit.Millimetres, "en"))
	level := map[string]float64{} // figures on the left of the upper panel, by text
	foot := map[string]float64{}
	var curves []string
	var rideX, rideY float64
	for _, e := range svg.Children {
		x, _ := strconv.ParseFloat(e.attr("x"), 64)
		y, _ := strconv.ParseFloat(e.attr("y"), 64)
		switch {
		case e.XMLName.Local == "text" && e.attr("text-anchor") == "end":
			level[e.Text] = y - 4.5
		case e.XMLName.Local == "text" && e.attr("text-anchor") == "middle":
			foot[e.Text] = x
		case e.XMLName.Local == "path" && e.attr("stroke-width") == "2.6":
			curves = append(curves, e.attr("d"))
		case e.XMLName.Local == "circle" && rideX == 0:
			rideX, _ = strconv.ParseFloat(e.attr("cx"), 64)
			rideY, _ = strconv.ParseFloat(e.attr("cy"), 64)
		}
	}
	if len(curves) != 2 {
		t.Fatalf("%d curves", len(curves))
	}
	perMm := (level["260"] - level["290"]) / 30
	lengthAt := func(y float64) float64 { return 260 + (level["260"]-y)/perMm }
	travelAt := func(x float64) float64 { return (x - foot["0"]) / (foot["100"] - foot["0"]) * 100 }
	const tol = 0.05 // mm: coordinates have two decimals
	if x := travelAt(rideX); x > tol || x < -tol {
		t.Errorf("ride height is drawn at %g", x)
	}
	if l := lengthAt(rideY); l < tr.RideLength.Mm()-tol || l > tr.RideLength.Mm()+tol {
		t.Errorf("the ride length is drawn as %g, and is %v", l, tr.RideLength.Mm())
	}
	points := strings.Split(strings.TrimPrefix(curves[0], "M"), "L")
	if len(points) != len(tr.Trace) {
		t.Fatalf("%d points for %d samples", len(points), len(tr.Trace))
	}
	for i, p := range points {
		var x, y float64
		if _, err := fmt.Sscan(p, &x, &y); err != nil {
			t.Fatal(err)
		}
		s := tr.Trace[i]
		if dx, dy := travelAt(x)-s.WheelTravel.Mm(), lengthAt(y)-s.Length.Mm(); dx > tol || dx < -tol || dy > tol || dy < -tol {
			t.Errorf("sample %d is drawn %g, %g mm off", i, dx, dy)
		}
	}
}

// tenths writes a length to 0.1 mm.
func tenths(round func(float64) float64, l unit.Length) string {
	return strconv.FormatFloat(round(l.Mm()*10)/10, 'f', -1, 64) + " mm"
}

// TestGapsAreToScale reads the curves of the gaps back through their panel's own
// figures, and holds what is said of each obstacle against the travel.
func TestGapsAreToScale(t *testing.T) {
	tr := travels(t)["inclined_obstacles"]
	svg := parsed(t, draw(t, tr, unit.Millimetres, "en"))
	level := map[float64]float64{} // of the lowest panel, by figure
	var curves, key []string       // the gaps' curves come first
	for _, e := range svg.Children {
		y, _ := strconv.ParseFloat(e.attr("y"), 64)
		v, err := strconv.ParseFloat(e.Text, 64)
		switch {
		case e.XMLName.Local == "text" && e.attr("text-anchor") == "end" && err == nil && y > 570 && e.attr("stroke") == "":
			level[v] = y - 4.5
		case e.XMLName.Local == "path" && e.attr("stroke-width") == "2.6":
			curves = append(curves, e.attr("d"))
		case e.XMLName.Local == "text" && strings.Contains(e.Text, "least gap"):
			key = append(key, e.Text)
		}
	}
	if len(curves) != 2+2*len(tr.Clearances) || len(key) != len(tr.Clearances) {
		t.Fatalf("%d curves, and said: %q", len(curves), key)
	}
	perMm := (level[0] - level[100]) / 100
	for i, c := range tr.Clearances {
		for k, p := range strings.Split(strings.TrimPrefix(curves[i], "M"), "L") {
			var x, y float64
			if _, err := fmt.Sscan(p, &x, &y); err != nil {
				t.Fatal(err)
			}
			if off := (level[0]-y)/perMm - c.Trace[k].Mm(); off > 0.02 || off < -0.02 {
				t.Errorf("%s is drawn %g mm off", c.Name, off)
			}
		}
		at := strings.Replace(tenths(math.Round, c.Gap.WheelTravel), "-", "\u2212", 1)
		if want := fmt.Sprintf("%d  %s: least gap %s, at %s of wheel travel", i+1, c.Name, tenths(math.Floor, c.Gap.Gap), at); key[i] != want {
			t.Errorf("said: %q, want %q", key[i], want)
		}
	}
}

// TestMinus: figures below zero have the sign, as wide as a plus; names keep their hyphens.
func TestMinus(t *testing.T) {
	minus, hyphen := regexp.MustCompile(`>(?:[^<]*[ (])?\x{2212}\d[^<]*<`), regexp.MustCompile(`>(?:[^<]*[ (])?-\d[^<]*<`)
	for _, svg := range [][]byte{draw(t, travels(t)["over_centre"], unit.Inches, "es"), drawDamping(t, "response", valving(t, unit.Inches, "en"))} {
		if found := hyphen.Find(svg); found != nil || !minus.Match(svg) {
			t.Errorf("a figure has a hyphen: %s", found)
		}
	}
	if svg := drawDamping(t, "forces", valving(t, unit.Inches, "en")); !bytes.Contains(svg, []byte(">A-1 ")) {
		t.Error("a name has lost its hyphen")
	}
}

// TestUnknownLanguage: words are then English, and say so.
func TestUnknownLanguage(t *testing.T) {
	tr := travels(t)["inclined"]
	if !bytes.Equal(draw(t, tr, unit.Inches, `x"><script>`), draw(t, tr, unit.Inches, "en")) {
		t.Error("a language that is not known is drawn otherwise than English")
	}
	if !bytes.Equal(draw(t, tr, unit.Unset, "en"), draw(t, tr, unit.Millimetres, "en")) {
		t.Error("without units it is not drawn in millimetres")
	}
}

type broken struct{}

var errBroken = errors.New("broken pipe")

func (broken) Write([]byte) (int, error) { return 0, errBroken }

func TestWriterFails(t *testing.T) {
	if err := drawing.Travel(broken{}, travels(t)["inclined"], unit.Inches, "en"); !errors.Is(err, errBroken) {
		t.Errorf("got %v", err)
	}
}

func BenchmarkTravel(b *testing.B) {
	tr := travels(b)["solid_axle"]
	for range b.N {
		if err := drawing.Travel(io.Discard, tr, unit.Inches, "en"); err != nil {
			b.Fatal(err)
		}
	}
}

func ExampleTravel() {
	l, _ := linkage.New(linkage.Spec{
		Kind:   linkage.Inclined,
		Damper: linkage.Damper{Upper: pt(0, 450, 640), Lower: pt(80, 430, 260)},
	})
	t, _ := l.Travel(linkage.Options{Range: linkage.Range{Bump: 75 * unit.Millimetre, Droop: 65 * unit.Millimetre}})
	var svg bytes.Buffer
	err := drawing.Travel(&svg, t, unit.Millimetres, "en")
	_, after, _ := strings.Cut(svg.String(), "<desc id=\"desc\">")
	desc, _, _ := strings.Cut(after, "</desc>")
	fmt.Println(err)
	fmt.Println(strings.ReplaceAll(desc, ". ", "\n"))
	// Output:
	// <nil>
	// At ride height: 388.8 mm, motion ratio 0.9773
	// Shortest: 316 mm at 75 mm of wheel travel
	// Longest: 452.6 mm at −65 mm of wheel travel
	// Needed of the damper: 72.9 mm of compression and 63.8 mm of extension
}
