package drawing

import "math"

// sketches draw the figures of the whole vehicle, by their names.
var sketches = map[string]func(*figureDrawing){
	"condition_arch_gap": (*figureDrawing).archGap,
	"lean_deg":           (*figureDrawing).lean,
	"sideways_offset":    (*figureDrawing).sidewaysOffset,
	"motion_ratio":       (*figureDrawing).motionRatio,
}

// archGap is a wheel under its arch, from the side.
func (d *figureDrawing) archGap() {
	const x, y, arch = 130.0, 200.0, 118.0
	v := d.free().moved(x, y)
	for _, r := range []float64{82, 76, 48, 16} {
		v.circle(outline, 0, 0, r)
	}
	v.line(centre, -100, 0, 100, 0)
	v.line(centre, 0, -arch-22, 0, 96)
	// The arch's lip, and the body's side.
	v.segment(outline, arch, -10, false)
	edgeAt := math.Sqrt(arch*arch - 100)
	v.line(outline, -edgeAt, -10, -edgeAt, 16)
	v.line(outline, edgeAt, -10, edgeAt, 16)
	v.line(thin, -edgeAt, -arch-14, edgeAt+20, -arch-14)
	d.ground(y + 82)
	d.dimension(v, span{from: -arch, to: 0, start: 0, at: edgeAt + 30}, "A")
	d.foot = y + 96
}

// ground is the line on which a wheel stands.
func (d *figureDrawing) ground(y float64) { d.free().line(thin, edge, y, figureWide-edge-40, y) }

// mounts are the ends of the leaning damper that two sketches show.
var (
	leaningUpper = point{104, 62}
	leaningLower = point{206, 242}
)

// leaning draws a damper that leans between its mounts.
func (d *figureDrawing) leaning() {
	u, l := leaningUpper, leaningLower
	d.damperBetween(u, l, outline)
	v := d.free()
	v.hatched(u.x-40, u.y-40, u.x+40, u.y-28)
	v.line(outline, u.x-14, u.y-28, u.x-14, u.y, u.x+14, u.y, u.x+14, u.y-28)
	v.hatched(l.x-40, l.y+28, l.x+40, l.y+40)
	v.line(outline, l.x-14, l.y+28, l.x-14, l.y, l.x+14, l.y, l.x+14, l.y+28)
	d.foot = l.y + 44
}

// damperBetween draws a damper from its upper eye to its lower one.
func (d *figureDrawing) damperBetween(upper, lower point, p pen) {
	v := d.free()
	dx, dy := upper.x-lower.x, upper.y-lower.y
	long := math.Hypot(dx, dy)
	dx, dy = dx/long, dy/long
	at := func(along, aside float64) (x, y float64) {
		return lower.x + dx*along - dy*aside, lower.y + dy*along + dx*aside
	}
	line := func(uv ...float64) {
		var places []float64
		for i := 0; i+1 < len(uv); i += 2 {
			x, y := at(uv[i], uv[i+1])
			places = append(places, x, y)
		}
		v.line(p, places...)
	}
	const eye, body, rod = 9.0, 13.0, 4.0
	v.circle(p, upper.x, upper.y, eye)
	v.circle(p, lower.x, lower.y, eye)
	from, to := eye+4, 0.58*long
	line(from, -body, to, -body, to, body, from, body, from, -body)
	line(to, -rod, long-eye, -rod)
	line(to, rod, long-eye, rod)
}

// lean is the angle between a damper and the upright.
func (d *figureDrawing) lean() {
	d.leaning()
	v := d.free()
	u, l := leaningUpper, leaningLower
	v.line(centre, u.x, u.y-50, u.x, l.y+40)
	const r = 128.0
	angle := math.Atan2(l.x-u.x, l.y-u.y)
	// The arc, as a run of short lines.
	var arc []float64
	for i := range 13 {
		a := angle * float64(i) / 12
		arc = append(arc, u.x+r*math.Sin(a), u.y+r*math.Cos(a))
	}
	v.line(extension, arc...)
	v.line(centre, u.x, u.y, l.x, l.y)
	half := angle / 2
	d.letters = append(d.letters, placedText{u.x + (r+18)*math.Sin(half), u.y + (r+18)*math.Cos(half) + 6, `font-weight="bold" text-anchor="middle"`, "A"})
}

// sidewaysOffset is the distance between the mounts as seen from above, where the
// tape is held upright.
func (d *figureDrawing) sidewaysOffset() {
	d.leaning()
	v := d.free()
	u, l := leaningUpper, leaningLower
	d.dimension(v, span{across: true, from: u.x, to: l.x, start: l.y + 48, at: l.y + 66}, "A")
	v.line(extension, u.x, u.y+14, u.x, l.y+48)
	v.line(extension, l.x+30, l.y, 280, l.y)
	v.line(extension, u.x+30, u.y, 280, u.y)
	tape := v.moved(272, 0)
	tape.blade(u.y, l.y)
	tape.line(outline, -hookHalf, u.y, hookHalf, u.y, hookHalf, u.y+hookLip)
	tape.box(outline, -caseHalf, l.y+caseFrom, caseHalf, l.y+caseFrom+caseHigh)
	d.foot = l.y + 78
}

// motionRatio is a wheel on its arm at two heights, with how far the wheel and the
// damper's lower end move.
func (d *figureDrawing) motionRatio() {
	const (
		pivotX, level = 44.0, 210.0
		damperAt      = 96.0 // from the pivot
		wheelAt       = 190.0
		rise          = 64.0 // of the wheel
		upperY        = 54.0
	)
	v := d.free()
	up := rise * damperAt / wheelAt
	v.circle(outline, pivotX, level, 7)
	v.hatched(pivotX-30, level-22, pivotX-16, level+22)
	v.line(thin, pivotX-16, level, pivotX-7, level)
	for _, at := range []struct {
		pen  pen
		rise float64
	}{{hidden, rise}, {outline, 0}} {
		y, mount := level-at.rise, level-at.rise*damperAt/wheelAt
		v.line(at.pen, pivotX+7, level-at.rise*7/wheelAt, pivotX+wheelAt, y)
		v.circle(at.pen, pivotX+damperAt, mount, 5)
		v.box(at.pen, pivotX+wheelAt, y-54, pivotX+wheelAt+34, y+54)
	}
	d.damperBetween(point{pivotX + damperAt, upperY}, point{pivotX + damperAt, level}, outline)
	v.hatched(pivotX+damperAt-44, upperY-26, pivotX+damperAt+44, upperY-12)
	d.dimension(v, span{from: level - rise, to: level, start: pivotX + wheelAt + 34, at: pivotX + wheelAt + 56}, "A")
	d.dimension(v, span{from: level - up, to: level, start: pivotX + damperAt + 14, at: pivotX + damperAt + 46}, "B")
	d.foot = level + 66
}
