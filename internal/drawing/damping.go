package drawing

import (
	"io"
	"math"
	"strings"

	"midstroke/internal/damping"
	"midstroke/internal/note"
	"midstroke/internal/ride"
	"midstroke/internal/unit"
)

// Damping is what the pictures of dampers on a corner show: what is wanted, and
// no more than three candidates, of which further ones are left out.
type Damping struct {
	Rater      *damping.Rater
	Candidates []damping.Candidate
	// Units are those of lengths, and of velocities and forces that go with them:
	// mm, m/s and N, or in, in/s and lbf. Lang is the language of the words.
	Units unit.System
	Lang  string
	// Narrow draws for a screen as narrow as a phone's: less wide, with words of the
	// same size.
	Narrow bool
}

// The sheets of damping, in the drawing's own units.
const (
	panelTall  = 230.0
	narrowEdge = 8.0
	rowSize    = 13.0
	rowWords   = 54.0 // from the left of the key to its words
	panelApart = 60.0 // for the figures and the title below a panel
	sheetFoot  = 14.0
)

// widerFont is how much wider than Helvetica's the letters of other fonts are.
const widerFont = 1.1

const mmPerMetre = 1000

// layout is what goes with the width of a picture.
type layout struct {
	wide        int
	left, right float64 // of its panels
	beside      float64 // from the left to the middle of the title beside a panel
	title       float64 // size of its letters
	coarser     int     // how many times fewer figures stand below a panel
}

var (
	wideLayout   = layout{wide: sheetWidth, left: plotLeft, right: plotRight, beside: 22, title: 17, coarser: 1}
	narrowLayout = layout{wide: 340, left: 70, right: 328, beside: 16, title: 15, coarser: 2}
)

// picture is a drawing of damping on the way.
type picture struct {
	*Damping
	*canvas
	layout
	lines []note.Note
	y     float64 // of the last line of the key
	rows  int     // lines of the title and of the key
}

// picture has a key of what is wanted, of the candidates, and of the thin curves, if
// there are any.
func (d *Damping) picture(title note.Note, panels int, thin ...note.Note) *picture {
	if d.Units == unit.Unset {
		d.Units = unit.Millimetres
	}
	if len(d.Candidates) > len(curvePens) {
		d.Candidates = d.Candidates[:len(curvePens)]
	}
	p := &picture{Damping: d, y: firstLine, layout: wideLayout}
	if d.Narrow {
		p.layout = narrowLayout
	}
	p.lines = append(p.lines, p.wanted())
	for i := range d.Candidates {
		p.lines = append(p.lines, p.candidate(&d.Candidates[i]))
	}
	p.lines = append(p.lines, thin...)
	p.canvas = newCanvas(p.wide, 0, d.Lang, d.Units)
	p.rows = len(p.titleRows(title))
	for _, words := range p.lines {
		p.rows += len(p.keyRows(words))
	}
	p.canvas.height = int(p.top() + float64(panels)*(panelTall+panelApart) - panelApart + 46 + sheetFoot)
	return p
}

// titleRows are the lines of a title: one, where there is room.
func (p *picture) titleRows(title note.Note) []string {
	return broken(p.words(title), widerFont*p.layout.title, float64(p.wide)-p.titleLeft()-narrowEdge, true)
}

// titleLeft is where a title begins. A narrow picture has no room to the left of it.
func (p *picture) titleLeft() float64 {
	if p.Narrow {
		return narrowEdge
	}
	return p.left
}

// keyRows are the lines of what the key says of a curve.
func (p *picture) keyRows(words note.Note) []string {
	if !p.Narrow {
		return []string{p.words(words)}
	}
	return broken(p.words(words), rowSize, float64(p.wide)-3*narrowEdge-rowWords, false)
}

// top is where the first panel begins.
func (p *picture) top() float64 { return firstLine + float64(p.rows-1)*lineSpacing + 24 }

// panel is the picture's panel of a number, from above.
func (p *picture) panel(number int, across scale, up func(foot, top float64) scale) *panel {
	top := p.top() + float64(number)*(panelTall+panelApart)
	return &panel{canvas: p.canvas, across: across, up: up(top+panelTall, top), beside: p.beside}
}

// begin opens the sheet and writes the title and the key.
func (p *picture) begin(name string, title note.Note) {
	p.openPlain(name, title, p.lines)
	for n, words := range p.titleRows(title) {
		p.y = firstLine + float64(n)*lineSpacing
		p.text(p.titleLeft(), p.y, `font-size="`+num(p.layout.title)+`" font-weight="bold"`, words)
	}
	for i, words := range p.lines {
		if i > len(p.Candidates) {
			p.keyLine(words, func(piece []point) { p.thinCurve(piece, reader) })
			continue
		}
		colour, dash := p.pen(i)
		p.keyLine(words, func(piece []point) { p.curve(piece, colour, dash) })
	}
}

// keyLine writes words with a piece of the curve that they name.
func (p *picture) keyLine(words note.Note, draw func([]point)) {
	left := p.titleLeft()
	for n, row := range p.keyRows(words) {
		p.y += lineSpacing
		if n == 0 {
			draw([]point{{left, p.y - 4.5}, {left + 44, p.y - 4.5}})
		}
		p.text(left+rowWords, p.y, `font-size="`+num(rowSize)+`"`, row)
	}
}

func (p *picture) wanted() note.Note {
	r := p.Rater.Targets().Ratio.Range
	return note.New("drawing_wanted", note.Num("ratio", round(r.Wanted, 2), ""), note.Num("low", round(r.Low, 2), ""), note.Num("high", round(r.High, 2), ""))
}

func (p *picture) candidate(c *damping.Candidate) note.Note {
	start := c.Rating.Start()
	values := []note.Value{note.Word("name", c.Name), note.Num("ratio", round(start.Loads[0].Ratio, 2), "")}
	if start.Verdict != 0 {
		values = append(values, note.Word("verdict", start.Verdict.String()))
	}
	if start.Name != "" {
		values = append(values, note.Word("position", start.Name))
	}
	return note.New("drawing_candidate", values...)
}

// force is what a force in N is in the picture's units, velocity the same of m/s and
// height of m.
func (p *picture) force(n float64) float64 {
	f, _ := p.Units.Figure(n, "N")
	return f
}

func (p *picture) velocity(v float64) float64 {
	f, _ := p.Units.Figure(v, "m/s")
	return f
}

func (p *picture) height(m float64) float64 {
	if p.Units == unit.Inches {
		return m * mmPerMetre / unit.MmPerInch
	}
	return m * mmPerMetre
}

// unitOf says in which unit the picture tells what is told in another one beside
// millimetres.
func (p *picture) unitOf(metric string) note.Value {
	_, name := p.Units.Figure(0, metric)
	return note.Word("unit", name)
}

// Forces draws force over velocity, rebound upwards and compression downwards:
// the candidates at the position to start from, thin at their softest and firmest,
// and the wanted band. It goes as far as three times the velocity on the road, or
// to the last point of the longest table before that.
func Forces(w io.Writer, d Damping) error {
	heading := note.New("drawing_forces_title")
	p := d.picture(heading, 1, d.positions()...)
	p.canvas.height += int(panelTall) // this one is taller
	wanted := p.Rater.Wanted()
	most := p.mostVelocity(wanted.Velocity)
	p.begin("forces", heading)

	up, down := wanted.Rebound.High*most, wanted.Compression.High*most
	for i := range p.Candidates {
		c := &p.Candidates[i]
		for j := range c.Table.Curves {
			for _, q := range p.curvePoints(c.Table, &c.Table.Curves[j], most) {
				up, down = max(up, q.rebound), max(down, q.compression)
			}
		}
	}
	top := p.top()
	f := &panel{
		canvas: p.canvas, beside: p.beside, across: exact(0, p.velocity(most), p.left, p.right, 8/p.coarser),
		up: widened(-p.force(down), p.force(up), 1, top+2*panelTall, top, 10),
	}
	f.frame(f.across.whole(), unsigned(f.up.whole()), note.New("drawing_damper_velocity", p.unitOf("m/s")), note.New("drawing_force", p.unitOf("N")))
	f.stroke(f.across.from, f.up.at(0), f.across.to, f.up.at(0), 1.5, "")
	p.band(f, wanted.Rebound, most, 1)
	p.band(f, wanted.Compression, most, -1)
	marked := f.mark(p.velocity(wanted.Velocity), note.New("drawing_road_velocity"))
	for i := range p.Candidates {
		p.forceCurves(f, &p.Candidates[i], i, most)
	}
	f.text(f.across.to-8, f.up.to+18+16*float64(marked), `font-size="13" text-anchor="end"`, p.words(note.New("drawing_rebound")))
	f.text(f.across.to-8, f.up.from-10, `font-size="13" text-anchor="end"`, p.words(note.New("drawing_compression")))
	p.close()
	return p.writeTo(w)
}

// positions says what the thin curves of forces are, where there are any.
func (d *Damping) positions() []note.Note {
	for i := range d.Candidates[:min(len(d.Candidates), len(curvePens))] {
		if len(d.Candidates[i].Table.Curves) > 1 {
			return []note.Note{note.New("drawing_thin_positions")}
		}
	}
	return nil
}

// unsigned takes the signs off: both forces are told as magnitudes.
func unsigned(ticks []tick) []tick {
	for i := range ticks {
		ticks[i].text = strings.TrimPrefix(ticks[i].text, "-")
	}
	return ticks
}

// mostVelocity is how far the forces are drawn, m/s.
func (p *picture) mostVelocity(onRoad float64) float64 {
	const peaks = 3
	longest := 0.0
	for i := range p.Candidates {
		for _, c := range p.Candidates[i].Table.Curves {
			longest = max(longest, c.Points[len(c.Points)-1].Velocity)
		}
	}
	if longest == 0 {
		return peaks * onRoad
	}
	return min(longest, 1.5*peaks*onRoad)
}

// band draws the range of wanted forces: from low to high, with the wanted one as a
// line. way is -1 for compression.
func (p *picture) band(f *panel, r damping.Range, most, way float64) {
	x0, x1 := f.across.at(0), f.across.at(p.velocity(most))
	at := func(c float64) float64 { return f.up.at(way * p.force(c*most)) }
	zero := f.up.at(0)
	p.buf.WriteString(`<path d="M` + num(x0) + " " + num(zero) + "L" + num(x1) + " " + num(at(r.Low)) + "L" + num(x1) + " " + num(at(r.High)) +
		`Z" fill="` + reader + `" fill-opacity="0.14"/>` + "\n")
	f.plot([]point{{0, 0}, {p.velocity(most), way * p.force(r.Wanted*most)}}, reader, wantedDash)
}

// forcePoint is a place on a force curve without the gas force.
type forcePoint struct{ velocity, compression, rebound float64 }

// curvePoints are a curve's points up to a velocity, from rest on.
func (p *picture) curvePoints(t *damping.Table, c *damping.Curve, most float64) []forcePoint {
	var list []forcePoint
	before := forcePoint{}
	if c.Points[0].Velocity > 0 {
		list = append(list, before)
	}
	for _, q := range c.Points {
		compression, rebound := t.Force(q)
		at := forcePoint{q.Velocity, compression, rebound}
		if at.velocity > most {
			share := (most - before.velocity) / (at.velocity - before.velocity)
			at = forcePoint{most, before.compression + share*(at.compression-before.compression), before.rebound + share*(at.rebound-before.rebound)}
			return append(list, at)
		}
		list, before = append(list, at), at
	}
	return list
}

func (p *picture) forceCurves(f *panel, c *damping.Candidate, number int, most float64) {
	pen := curvePens[number]
	draw := func(curve *damping.Curve, thin bool) {
		var up, down []point
		for _, q := range p.curvePoints(c.Table, curve, most) {
			x := p.velocity(q.velocity)
			up, down = append(up, point{x, p.force(q.rebound)}), append(down, point{x, -p.force(q.compression)})
		}
		for _, line := range [][]point{up, down} {
			if thin {
				f.thin(line, pen.colour)
			} else {
				f.plot(line, pen.colour, pen.dash)
			}
		}
	}
	for i, last := 0, len(c.Table.Curves)-1; i <= last; i++ {
		if i != c.Rating.Curve && (i == 0 || i == last) {
			draw(&c.Table.Curves[i], true)
		}
	}
	draw(&c.Table.Curves[c.Rating.Curve], false)
}

// What the body drives over in the picture of its responses: a step of 40 mm, and
// a bump of 60 mm over 1.5 m at 30 km/h (our choice: a kerb ramp and a speed hump).
var (
	pictureStep = ride.Obstacle{Height: 0.04}
	pictureBump = ride.Obstacle{Height: 0.06, Length: 1.5, Speed: 30 / 3.6}
)

// Response draws the body's height over time after a step of the road, and below it
// after a bump, unladen, for what is wanted and for the candidates, each with the
// damping that it has on the road.
func Response(w io.Writer, d Damping) error {
	heading := note.New("drawing_response_title")
	p := d.picture(heading, 2, note.New("drawing_thin_road"))
	p.begin("response", heading)
	const seconds, points = 2.0, 201
	across := exact(0, seconds, p.left, p.right, 10/p.coarser)
	for number, o := range []ride.Obstacle{pictureStep, pictureBump} {
		traces := make([]ride.Trace, 0, len(curvePens)+1)
		low, high := 0.0, o.Height
		for _, car := range p.cars() {
			t := car.Over(o, seconds, points)
			traces = append(traces, t)
			for _, z := range t.Body {
				low, high = min(low, z), max(high, z)
			}
		}
		f := p.panel(number, across, func(foot, top float64) scale { return widened(p.height(low), p.height(high), 0.01, foot, top, 6) })
		title := note.New("drawing_over_step", note.Len("height", unit.FromMm(o.Height*mmPerMetre)))
		if o.Length > 0 {
			title = note.New("drawing_over_bump", note.Len("height", unit.FromMm(o.Height*mmPerMetre)), note.Len("length", unit.FromMm(o.Length*mmPerMetre)),
				note.Figure("speed", o.Speed*3.6, "km/h"))
		}
		f.frame(f.across.whole(), f.up.whole(), note.New("drawing_time"), note.New("drawing_body_height", note.Word("unit", p.Units.String())))
		p.timeCurve(f, traces[0].Road, traces[0].Interval, "", reader, true)
		for i, t := range traces {
			colour, dash := p.pen(i)
			p.timeCurve(f, t.Body, t.Interval, dash, colour, false)
		}
		for n, row := range broken(p.words(title), 13, f.across.to-f.across.from-16, false) {
			f.text(f.across.to-8, f.up.to+18+float64(n)*16, `font-size="13" text-anchor="end"`, row)
		}
	}
	p.close()
	return p.writeTo(w)
}

// cars are the quarter cars of the picture: what is wanted, then the candidates.
func (p *picture) cars() []ride.QuarterCar {
	list := []ride.QuarterCar{p.Rater.Car(p.Rater.Wanted().AtWheel)}
	for i := range p.Candidates {
		list = append(list, p.Rater.Car(p.Candidates[i].Rating.Start().Loads[0].AtWheel))
	}
	return list
}

// pen is that of what is wanted, 0, or of a candidate.
func (p *picture) pen(i int) (colour, dash string) {
	if i == 0 {
		return reader, wantedDash
	}
	return curvePens[i-1].colour, curvePens[i-1].dash
}

func (p *picture) timeCurve(f *panel, heights []float64, interval float64, dash, colour string, thin bool) {
	list := make([]point, len(heights))
	for i, z := range heights {
		list[i] = point{float64(i) * interval, p.height(z)}
	}
	if thin {
		f.thin(list, colour)
		return
	}
	f.plot(list, colour, dash)
}

// Frequencies draws over the frequency of a road that moves up and down by how much
// the body moves over the road, and below it the change of the tyre's load for
// each mm or inch of the road, unladen.
func Frequencies(w io.Writer, d Damping) error {
	heading := note.New("drawing_frequencies_title")
	p := d.picture(heading, 2)
	p.begin("frequencies", heading)
	const low, high, points = 0.3, 30.0, 240
	across := logarithmic(low, high, p.left, p.right)
	body, load := make([][]point, 0, len(curvePens)+1), make([][]point, 0, len(curvePens)+1)
	mostBody, mostLoad := 0.0, 0.0
	for _, car := range p.cars() {
		var b, l []point
		for i := range points + 1 {
			at := across.low + (across.high-across.low)*float64(i)/points
			g := car.Gains(math.Pow(10, at))
			perLength := p.force(g.Tyre*car.Tyre) / p.height(1)
			b, l = append(b, point{at, g.Body}), append(l, point{at, perLength})
			mostBody, mostLoad = max(mostBody, g.Body), max(mostLoad, perLength)
		}
		body, load = append(body, b), append(load, l)
	}
	for number, curves := range [][][]point{body, load} {
		most, beside := mostBody, note.New("drawing_body_over_road")
		if number == 1 {
			most, beside = mostLoad, note.New("drawing_tyre_load", note.Word("unit", p.unitOf("N").Text+"/"+p.Units.String()))
		}
		f := p.panel(number, across, func(foot, top float64) scale { return exact(0, most*1.05, foot, top, 6) })
		f.frame(f.across.octaves(), f.up.whole(), note.New("drawing_frequency"), beside)
		for i, c := range curves {
			colour, dash := p.pen(i)
			f.plot(c, colour, dash)
		}
	}
	p.close()
	return p.writeTo(w)
}

// thin draws a curve beside the ones that matter.
func (p *panel) thin(points []point, colour string) {
	list := make([]point, 0, len(points))
	for _, q := range points {
		list = append(list, point{p.across.at(q.x), p.up.at(q.y)})
	}
	p.thinCurve(list, colour)
}

func (c *canvas) thinCurve(points []point, colour string) {
	c.buf.WriteString(`<path d="`)
	for i, q := range points {
		command := byte('L')
		if i == 0 {
			command = 'M'
		}
		c.buf.WriteByte(command)
		c.buf.WriteString(num(q.x) + " " + num(q.y))
	}
	c.buf.WriteString(`" fill="none" stroke="` + colour + `" stroke-width="1.3" stroke-opacity="0.7"/>` + "\n")
}
