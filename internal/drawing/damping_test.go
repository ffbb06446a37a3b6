package drawing_test

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"midstroke/internal/damping"
	"midstroke/internal/drawing"
	"midstroke/internal/ride"
	"midstroke/internal/unit"
)

// ofLaw makes the curve of a damper of a law, F = c v^p, rebound twice compression.
func ofLaw(position string, c, p float64) damping.Curve {
	curve := damping.Curve{Position: position}
	for _, v := range []float64{0.05, 0.13, 0.26, 0.39, 0.52, 0.78, 1.04} {
		f := c * math.Pow(v, p)
		curve.Points = append(curve.Points, damping.Point{Velocity: v, Compression: math.Round(f), Rebound: math.Round(2 * f)})
	}
	return curve
}

// valving is an invented corner with three invented dampers: a digressive one with
// three positions and gas in its table, a linear and a progressive one.
func valving(t testing.TB, s unit.System, lang string) drawing.Damping {
	t.Helper()
	r, faults := damping.NewRater(&damping.Question{
		Corner:  ride.Corner{SprungKg: 320, LadenKg: 430, UnsprungKg: 42, SpringRate: 48, SpringRatio: 0.7, TyreRate: 200, DamperRatio: 0.75},
		Targets: damping.Targets{Class: 'C', SpeedKmh: 60},
	})
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	digressive := damping.Table{Curves: []damping.Curve{ofLaw("1", 420, 0.5), ofLaw("4", 850, 0.5), ofLaw("8", 1500, 0.5)}, GasForce: 180, GasIncluded: true}
	for _, c := range digressive.Curves {
		for i := range c.Points {
			c.Points[i].Compression += 180
			c.Points[i].Rebound -= 180
		}
	}
	d := drawing.Damping{Rater: r, Units: s, Lang: lang}
	for _, c := range []struct {
		name  string
		table damping.Table
	}{
		{"A-1 <digressive>", digressive},
		{"B-2", damping.Table{Curves: []damping.Curve{ofLaw("", 1150, 1)}}},
		{"C-3", damping.Table{Curves: []damping.Curve{ofLaw("", 3400, 1.7)}}},
	} {
		rating, ok := r.Rate(&c.table)
		if !ok {
			t.Fatal(c.name)
		}
		d.Candidates = append(d.Candidates, damping.Candidate{Name: c.name, Table: &c.table, Rating: &rating})
	}
	return d
}

var dampingPictures = map[string]func(io.Writer, drawing.Damping) error{
	"forces": drawing.Forces, "response": drawing.Response, "frequencies": drawing.Frequencies,
}

func drawDamping(t testing.TB, name string, d drawing.Damping) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := dampingPictures[name](&b, d); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// TestDampingGolden holds the pictures byte for byte. Each was rendered and looked
// at when it was written.
func TestDampingGolden(t *testing.T) {
	for name := range dampingPictures {
		for _, s := range []unit.System{unit.Inches, unit.Millimetres} {
			got := drawDamping(t, name, valving(t, s, "en"))
			path := filepath.Join("testdata", "damping_"+name+"_"+s.String()+".svg")
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
		}
	}
}

// TestFiguresInSpanish: decimals have the comma that the words beside them have.
func TestFiguresInSpanish(t *testing.T) {
	pictures := map[string]func(lang string) []byte{}
	for name := range dampingPictures {
		pictures[name] = func(lang string) []byte { return drawDamping(t, name, valving(t, unit.Inches, lang)) }
	}
	for name, travel := range travels(t) {
		pictures[name] = func(lang string) []byte { return draw(t, travel, unit.Inches, lang) }
	}
	point, comma := regexp.MustCompile(`>[^<]*\d\.\d[^<]*</text>`), regexp.MustCompile(`>[^<]*\d,\d[^<]*</text>`)
	commas := 0
	for name, picture := range pictures {
		english, spanish := picture("en"), picture("es")
		if found := point.Find(spanish); found != nil {
			t.Errorf("%s says %s in Spanish", name, found)
		}
		if was, is := len(point.FindAll(english, -1)), len(comma.FindAll(spanish, -1)); was != is {
			t.Errorf("%s has %d texts with decimals in English and %d in Spanish", name, was, is)
		}
		commas += len(comma.FindAll(spanish, -1))
	}
	if commas == 0 {
		t.Error("no picture has decimals")
	}
}

// TestDampingIsWellFormed: XML with words for everything, all of it on the sheet,
// in both languages and units, without ground, style or script, and with ids of
// its own.
func TestDampingIsWellFormed(t *testing.T) {
	for name := range dampingPictures {
		for _, lang := range []string{"en", "es"} {
			for _, narrow := range []bool{false, true} {
				d := valving(t, unit.Inches, lang)
				d.Narrow = narrow
				wellFormed(t, name, lang, drawDamping(t, name, d))
			}
		}
	}
}

func wellFormed(t *testing.T, name, lang string, raw []byte) {
	t.Helper()
	svg := parsed(t, raw)
	if svg.attr("role") != "img" || svg.attr("fill") != "currentColor" || svg.attr("lang") != lang || svg.attr("aria-labelledby") != name+"-title "+name+"-desc" {
		t.Errorf("%s begins with %v", name, svg.Attrs)
	}
	for _, bad := range []string{"NaN", "Inf", "style", "script", "#ffffff", "drawing_", "{", "}"} {
		if bytes.Contains(raw, []byte(bad)) {
			t.Errorf("%s holds %q", name, bad)
		}
	}
	width, _ := strconv.ParseFloat(svg.attr("width"), 64)
	height, _ := strconv.ParseFloat(svg.attr("height"), 64)
	for _, e := range svg.Children {
		x, _ := strconv.ParseFloat(e.attr("x"), 64)
		y, _ := strconv.ParseFloat(e.attr("y"), 64)
		// Letters are about half as wide as high, bold ones a little more.
		if size, err := strconv.ParseFloat(e.attr("font-size"), 64); err == nil && e.attr("text-anchor") == "" && x+0.56*size*float64(len([]rune(e.Text))) > width {
			t.Errorf("%s: %q is too long", name, e.Text)
		}
		// What is centred or ends somewhere begins on the sheet, too. A turned text has the sheet's height.
		if size, err := strconv.ParseFloat(e.attr("font-size"), 64); err == nil && e.attr("transform") == "" {
			long := 0.5 * size * float64(len([]rune(e.Text)))
			if anchor := e.attr("text-anchor"); anchor == "middle" && (x-long/2 < 0 || x+long/2 > width) || anchor == "end" && x-long < 0 {
				t.Errorf("%s: %q is cut", name, e.Text)
			}
		}
		// What begins beside a mark ends before the panel does, in a font as wide as any.
		if right := width - 12; e.attr("text-anchor") == "start" && x+0.57*13*float64(len([]rune(e.Text))) > right {
			t.Errorf("%s: %q reaches the frame", name, e.Text)
		}
		if e.XMLName.Local == "text" && (x <= 0 || x >= width || y <= 0 || y >= height) {
			t.Errorf("%s: %q stands at %g, %g", name, e.Text, x, y)
		}
	}
}

// TestNarrowIsTheSamePicture: a narrow one is 340 wide, has letters no smaller, and says and
// plots the same. Its words may be broken over lines, and fewer figures stand below a panel.
func TestNarrowIsTheSamePicture(t *testing.T) {
	for name := range dampingPictures {
		for _, lang := range []string{"en", "es"} {
			d := valving(t, unit.Inches, lang)
			wide := parsed(t, drawDamping(t, name, d))
			d.Narrow = true
			narrow := parsed(t, drawDamping(t, name, d))
			if got := narrow.attr("width"); got != "340" {
				t.Errorf("%s is %s wide", name, got)
			}
			said, curves := func(svg element) string {
				var all []string
				for _, e := range svg.Children {
					if size, err := strconv.ParseFloat(e.attr("font-size"), 64); err == nil && size < 13 {
						t.Errorf("%s: %q is of size %g", name, e.Text, size)
					}
					if _, err := strconv.ParseFloat(strings.Replace(e.Text, ",", ".", 1), 64); e.XMLName.Local == "text" && err != nil {
						all = append(all, e.Text)
					}
				}
				return strings.Join(all, " ")
			}, func(svg element) (n int) {
				for _, e := range svg.Children {
					if e.attr("stroke-width") == "2.6" {
						n++
					}
				}
				return n
			}
			if said(wide) != said(narrow) || curves(wide) != curves(narrow) {
				t.Errorf("%s has %d curves and says %q; narrow it has %d and says %q", name, curves(wide), said(wide), curves(narrow), said(narrow))
			}
		}
	}
}

// figures are the places of the figures on an axis, by their values.
func figures(svg element, anchor string) map[float64]float64 {
	at := map[float64]float64{}
	for _, e := range svg.Children {
		v, err := strconv.ParseFloat(e.Text, 64)
		if e.XMLName.Local != "text" || err != nil || e.attr("text-anchor") != anchor {
			continue
		}
		place, shift := "x", 0.0
		if anchor == "end" {
			place, shift = "y", -4.5
		}
		c, _ := strconv.ParseFloat(e.attr(place), 64)
		if _, twice := at[v]; !twice {
			at[v] = c + shift
		}
	}
	return at
}

// curvesOf are the thick curves with a colour, each as its points on the sheet.
func curvesOf(t *testing.T, svg element, colour string) [][][2]float64 {
	t.Helper()
	var list [][][2]float64
	for _, e := range svg.Children {
		if e.XMLName.Local != "path" || e.attr("stroke-width") != "2.6" || e.attr("stroke") != colour {
			continue
		}
		var points [][2]float64
		for _, p := range strings.Split(strings.TrimPrefix(e.attr("d"), "M"), "L") {
			var q [2]float64
			if _, err := fmt.Sscan(p, &q[0], &q[1]); err != nil {
				t.Fatal(err)
			}
			points = append(points, q)
		}
		list = append(list, points)
	}
	return list[1:] // the key's comes first
}

// TestForcesAreToScale reads the first damper's rebound back through the axes'
// own figures: its table's points, the gas force taken out.
func TestForcesAreToScale(t *testing.T) {
	d := valving(t, unit.Millimetres, "en")
	svg := parsed(t, drawDamping(t, "forces", d))
	across, up := figures(svg, "middle"), figures(svg, "end")
	curves := curvesOf(t, svg, "#0072b2")
	if len(curves) != 2 {
		t.Fatalf("%d curves", len(curves))
	}
	velocity := func(x float64) float64 { return (x - across[0]) / (across[0.5] - across[0]) * 0.5 }
	force := func(y float64) float64 { return (up[0] - y) / (up[0] - up[4000]) * 4000 }
	start := d.Candidates[0].Rating.Curve
	for i, p := range d.Candidates[0].Table.Curves[start].Points[:5] {
		rebound, compression := curves[0][i+1], curves[1][i+1]
		want := ofLaw("", 850, 0.5).Points[i]
		for _, c := range []struct{ got, want, tolerance float64 }{
			{velocity(rebound[0]), p.Velocity, 1e-3}, {force(rebound[1]), want.Rebound, 2},
			{velocity(compression[0]), p.Velocity, 1e-3}, {-force(compression[1]), want.Compression, 2},
		} {
			if math.Abs(c.got-c.want) > c.tolerance {
				t.Errorf("point %d is drawn at %g, want %g", i, c.got, c.want)
			}
		}
	}
}

// TestResponseAndFrequenciesAreToScale reads curves of the second damper, a linear
// one, back: its step response and its transmissibility.
func TestResponseAndFrequenciesAreToScale(t *testing.T) {
	d := valving(t, unit.Millimetres, "en")
	car := d.Rater.Car(1.5 * 1150 * 0.75 * 0.75) // the mean of c and 2c
	svg := parsed(t, drawDamping(t, "response", d))
	across, up := figures(svg, "middle"), figures(svg, "end")
	trace := car.Over(ride.Obstacle{Height: 0.04}, 2, 201)
	for i, q := range curvesOf(t, svg, "#d55e00")[0] {
		time, height := (q[0]-across[0])/(across[1]-across[0]), (up[0]-q[1])/(up[0]-up[40])*40
		if math.Abs(time-float64(i)*0.01) > 1e-3 || math.Abs(height-1000*trace.Body[i]) > 0.1 {
			t.Fatalf("point %d is drawn at %g s, %g mm, want %g mm", i, time, height, 1000*trace.Body[i])
		}
	}
	svg = parsed(t, drawDamping(t, "frequencies", d))
	across, up = figures(svg, "middle"), figures(svg, "end")
	for i, q := range curvesOf(t, svg, "#d55e00")[0] {
		hz := math.Pow(10, (q[0]-across[1])/(across[10]-across[1]))
		gain := (up[0] - q[1]) / (up[0] - up[1])
		if want := car.Gains(hz).Body; math.Abs(gain-want) > 0.01*(1+want) {
			t.Fatalf("point %d is drawn at %g Hz with %g, want %g", i, hz, gain, want)
		}
	}
}

// TestDampingCandidates: without candidates the wanted band is drawn alone; more
// than three are left out, and the caller's list stays as it is.
func TestDampingCandidates(t *testing.T) {
	for name := range dampingPictures {
		d := valving(t, unit.Millimetres, "en")
		three := drawDamping(t, name, d)
		d.Candidates = append(d.Candidates, d.Candidates[0])
		if !bytes.Equal(drawDamping(t, name, d), three) || len(d.Candidates) != 4 {
			t.Errorf("%s: a fourth candidate is drawn", name)
		}
		d.Candidates = nil
		if svg := parsed(t, drawDamping(t, name, d)); len(svg.Children) < 20 {
			t.Errorf("%s without candidates has %d elements", name, len(svg.Children))
		}
		d.Units, d.Lang = unit.Unset, `x"><script>`
		drawDamping(t, name, d)
		if err := dampingPictures[name](broken{}, d); !errors.Is(err, errBroken) {
			t.Errorf("%s: got %v", name, err)
		}
	}
}

// TestThinCurvesAreInTheKey: whoever sees a thin curve reads what it is.
func TestThinCurvesAreInTheKey(t *testing.T) {
	d := valving(t, unit.Inches, "en")
	const positions, road = ">thin: the softest and the firmest position<", ">thin: the road<"
	if !bytes.Contains(drawDamping(t, "forces", d), []byte(positions)) || !bytes.Contains(drawDamping(t, "response", d), []byte(road)) {
		t.Error("a thin curve isn't in the key")
	}
	d.Candidates = d.Candidates[1:] // of which none has positions
	if bytes.Contains(drawDamping(t, "forces", d), []byte(positions)) {
		t.Error("the key has positions that aren't drawn")
	}
}

// TestNarrowFiguresAreClearOfTheTitle: five digits beside a panel don't reach the turned
// title, in a font as wide as any.
func TestNarrowFiguresAreClearOfTheTitle(t *testing.T) {
	d := valving(t, unit.Inches, "en")
	d.Narrow = true
	for name := range dampingPictures {
		title, figures := 0.0, 1000.0
		for _, e := range parsed(t, drawDamping(t, name, d)).Children {
			x, _ := strconv.ParseFloat(e.attr("x"), 64)
			if strings.HasPrefix(e.attr("transform"), "rotate") {
				title = x + 0.25*14 // its letters go below their line
			} else if _, err := strconv.ParseFloat(e.Text, 64); err == nil && e.attr("text-anchor") == "end" {
				figures = min(figures, x-0.64*13*5)
			}
		}
		if figures < title {
			t.Errorf("%s: figures begin at %g, the title ends at %g", name, figures, title)
		}
	}
}

// TestVerdictsInSpanish agree with the ratio that they stand beside, and none reads as
// borderline.
func TestVerdictsInSpanish(t *testing.T) {
	said := string(drawDamping(t, "forces", valving(t, unit.Inches, "es")))
	words := regexp.MustCompile(`, (adecuada|blanda|firme)</text>`)
	if n := len(words.FindAllString(said, -1)); n != 3 || strings.Contains(said, "en el margen") {
		t.Errorf("%d verdicts in %s", n, regexp.MustCompile(`>[^<]*[a-z][^<]*</text>`).FindAllString(said, -1))
	}
}
