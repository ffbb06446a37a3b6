package drawing

// The shapes that fittings are put together from. All are drawn in a view
// whose origin is the fitting's reference point.

// ring is an eye cut through along its bolt's hole: the damper's ring, the
// rubber, the inner tube, and the neck that joins it to the damper. The bolt or
// bar in it is drawn by whoever has one.
func (w view) ring(half float64) {
	for _, s := range []float64{-1, 1} {
		w.hatched(-half, s*rubberTo, half, s*eyeRadius)
		w.box(tint, -half, s*tubeHalf, half, s*rubberTo)
		w.line(thin, -half+1, s*tubeHalf, -half+1, s*rubberTo)
		w.line(thin, half-1, s*tubeHalf, half-1, s*rubberTo)
		w.box(outline, -half-3, s*boltHalf, half+3, s*tubeHalf)
	}
	w.neck()
}

// neck joins a ring to the damper's stem.
func (w view) neck() {
	w.line(outline, -13, -eyeRadius, -stemHalf, neckFoot)
	w.line(outline, 13, -eyeRadius, stemHalf, neckFoot)
}

// ringAlong is the same ring seen along its bolt.
func (w view) ringAlong() {
	w.circle(outline, 0, 0, eyeRadius)
	w.circle(outline, 0, 0, rubberTo)
	w.circle(thin, 0, 0, tubeHalf)
	w.circle(outline, 0, 0, boltHalf)
	w.washerOf(tint, rubberTo, tubeHalf)
	w.stem()
}

// washerOf is the area between two circles about the reference point.
func (w view) washerOf(p pen, outer, inner float64) {
	w.circle(p, 0, 0, outer)
	w.hole(p, inner)
}

// stem is the damper's neck and a piece of its stem, broken off, under a ring
// seen along its bolt.
func (w view) stem() {
	w.neck()
	w.brokenStem(neckFoot)
}

// brokenStem is a piece of the damper's stem from v towards the damper, broken
// off.
func (w view) brokenStem(v float64) {
	const length = 20
	w.line(outline, -stemHalf, v, -stemHalf, v-length)
	w.line(outline, stemHalf, v, stemHalf, v-length)
	w.bow(thin, -stemHalf, v-length, -stemHalf/2, v-length-6, 0, v-length)
	w.bow(thin, 0, v-length, stemHalf/2, v-length+6, stemHalf, v-length)
}

// plates are the two plates of a bracket, cut through, with the bolt's hole.
func (w view) plates(in, out float64) {
	const foot = -38
	for _, s := range []float64{-1, 1} {
		w.hatched(s*in, boltHalf, s*out, frameAt)
		w.hatched(s*in, foot, s*out, -boltHalf)
	}
}

// frame is the piece of frame that a bracket hangs from.
func (w view) frame(u1, u2 float64) { w.hatched(u1, frameAt, u2, frameAt+frameThick) }

// crossBolt is a bolt across the damper with its head on the left, washers and
// nut; it isn't cut through, as bolts never are.
func (w view) crossBolt(plateOut, washerOut, nutOut, tip float64) {
	const wide, flat, ridge = 16, 15, 7
	for _, s := range []float64{-1, 1} {
		w.box(outline, s*plateOut, -wide-2, s*washerOut, wide+2)
		w.box(outline, s*washerOut, -flat, s*nutOut, flat)
		w.line(thin, s*washerOut, ridge, s*nutOut, ridge)
		w.line(thin, s*washerOut, -ridge, s*nutOut, -ridge)
		w.line(outline, -plateOut, s*boltHalf, plateOut, s*boltHalf)
		w.line(outline, nutOut, s*boltHalf, tip-3, s*boltHalf, tip, s*(boltHalf-3), tip, 0)
		w.line(thin, nutOut+1, s*(boltHalf-3), tip-3, s*(boltHalf-3))
	}
}

// uprightBolt is a bolt along the damper through a bar and the lug that it sits
// on: its head at v = foot, its nut on the lug.
func (w view) uprightBolt(foot, barTop, lugFoot, lugTop, nutTop float64) {
	const shank, half, head, over = 5, 10, 9, 6
	w.box(outline, -half, foot-head, half, foot)
	w.line(thin, -4, foot-head, -4, foot)
	w.line(thin, 4, foot-head, 4, foot)
	for _, s := range []float64{-1, 1} {
		w.line(hidden, s*shank, foot, s*shank, barTop)
		w.line(thin, s*shank, lugFoot, s*shank, lugTop)
		w.line(outline, s*shank, nutTop, s*shank, nutTop+over, 0, nutTop+over)
	}
	w.nut(half, lugTop, nutTop)
	w.line(centre, 0, foot-head-8, 0, nutTop+over+8)
}

// nut is a nut around the view's axis between two heights.
func (w view) nut(half, foot, top float64) {
	w.box(outline, -half, foot, half, top)
	w.line(thin, -half*0.45, foot, -half*0.45, top)
	w.line(thin, half*0.45, foot, half*0.45, top)
}

// rubber is a stud's bushing, squeezed so that its sides bulge, around a rod.
func (w view) rubber(rod, half, foot, top float64) {
	const bulge = 7
	middle := (foot + top) / 2
	for _, s := range []float64{-1, 1} {
		w.bow(outline, s*half, foot, s*(half+bulge), middle, s*half, top)
		w.line(tint, s*rod, foot, s*half, foot)
		w.strokes[tint].WriteString("Q" + w.pair(s*(half+bulge), middle) + " " + w.pair(s*half, top) + "L" + w.pair(s*rod, top) + "Z")
	}
}

// The damper between its ends.
const (
	bodyHalf = 25.0
	rodHalf  = float64(stemHalf)
)

// damper draws the damper's rod and body, from v = 0 at the rod's end to v =
// length at the body's; the view runs from the one to the other.
func (w view) damper(length float64, capped bool) {
	const (
		cap    = 12
		breakV = 16
	)
	top := 0.36 * length
	w.line(outline, -rodHalf, 0, -rodHalf, top)
	w.line(outline, rodHalf, 0, rodHalf, top)
	w.shape(outline, -bodyHalf+4, top, bodyHalf-4, top, bodyHalf, top+4, bodyHalf, top+cap, -bodyHalf, top+cap, -bodyHalf, top+4)
	w.box(tint, -bodyHalf+4, top, bodyHalf-4, top+cap)

	// A piece of the body is left out: the drawing is to no scale.
	foot := length
	if capped {
		foot -= 8
		w.line(outline, -bodyHalf, foot, -bodyHalf+8, length, bodyHalf-8, length, bodyHalf, foot)
		w.line(thin, -bodyHalf, foot, bodyHalf, foot)
	}
	middle := (top + cap + foot) / 2
	for _, s := range []float64{-1, 1} {
		w.line(outline, s*bodyHalf, top+cap, s*bodyHalf, middle-breakV/2)
		w.line(outline, s*bodyHalf, middle+breakV/2, s*bodyHalf, foot)
	}
	for _, v := range []float64{middle - breakV/2, middle + breakV/2} {
		w.bow(thin, -bodyHalf, v, -bodyHalf/2, v-9, 0, v)
		w.bow(thin, 0, v, bodyHalf/2, v+9, bodyHalf, v)
	}
}
