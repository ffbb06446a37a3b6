package drawing

import (
	"math"

	"midstroke/internal/mount"
)

// fitting is one end of a damper with what holds it on the vehicle, as it is
// drawn. Its measures are the drawing's own, true to no part; u and v are those
// of view.
type fitting struct {
	// pieces are how it is drawn across the bolt, from joint outwards.
	pieces []piece
	// along draws it along the bolt; nil for one that looks alike all round.
	along func(view)

	reach float64 // how far it goes in v
	half  float64 // how far to both sides
	joint float64 // the v at which the damper itself begins

	planes map[mount.Plane]float64 // the v of what a tape can be held to
	parts  []part                  // what is named on it

	// frame is from where to where the vehicle's frame goes in v.
	frame [2]float64
	// spans are the figures that are asked for of the end and its bracket.
	spans map[string]span
}

// span is a figure as it is dimensioned: from one place to another across the
// damper's axis or along it, with its dimension line at some distance.
type span struct {
	across   bool
	from, to float64
	// start is where the extension lines begin, at where the dimension line is.
	start, at float64
	// aside is how far from its middle its letter stands.
	aside float64
	// bare leaves out the damper and the bolt, which would hide the figure.
	bare bool
}

// piece is what belongs to one part of a fitting.
type piece struct {
	of   string
	draw func(view)
}

// What the pieces of a fitting belong to.
const (
	ofDamper  = "damper"
	ofBracket = "bracket" // the vehicle's: its frame with what hangs from it
	ofBolt    = "bolt"    // what holds the two together
)

func (f *fitting) draw(w view) {
	for _, p := range f.pieces {
		p.draw(w)
	}
}

// part is a place on a fitting and the name of what is there.
type part struct {
	u, v float64
	name string // of a "drawing_part_…" template
}

// fittingOf gives the drawing of an end. held is half the width of what the
// damper has there, rod or body, for ends that hold it without a fitting
// between.
func fittingOf(s mount.Style, held float64) fitting {
	switch s {
	case mount.Eye:
		return eye()
	case mount.Stud:
		return stud()
	case mount.BarPin:
		return barPin()
	case mount.Fork:
		return fork()
	case mount.SpindleStrut:
		return spindleStrut(held)
	case mount.NoStyle:
	}
	return fitting{}
}

// Measures that several fittings share.
const (
	frameAt    = 62 // v of the frame's near face, where brackets hang from it
	frameThick = 14
	boltHalf   = 9 // half of a bolt's diameter
	tubeHalf   = 12
	rubberTo   = 22 // radius of an eye's bore
	eyeRadius  = 28
	eyeHalf    = 20 // half of an eye's width
	neckFoot   = -eyeRadius - 14
	stemHalf   = 7 // of the damper's stem where it meets a fitting
)

// eye is a ring with a bushing between the two plates of a bracket.
func eye() fitting {
	const (
		plateIn, plateOut = eyeHalf + 4, eyeHalf + 12
		washerOut         = plateOut + 4
		nutOut            = washerOut + 14
		tip               = nutOut + 8
	)
	return fitting{
		pieces: []piece{
			{ofDamper, func(w view) { w.ring(eyeHalf) }},
			{ofBracket, func(w view) {
				w.plates(plateIn, plateOut)
				w.frame(-52, 52)
			}},
			{ofBolt, func(w view) { w.crossBolt(plateOut, washerOut, nutOut, tip) }},
		},
		frame: [2]float64{frameAt, frameAt + frameThick},
		spans: map[string]span{
			"bolt":    {from: -boltHalf, to: boltHalf, start: tip, at: tip + 24},
			"opening": {across: true, from: -plateIn, to: plateIn, start: 10, at: 10, bare: true},
			"plate":   {across: true, from: plateIn, to: plateOut, start: -38, at: -56, bare: true},
		},
		along: func(w view) {
			w.ringAlong()
			// The plate in front, as if of glass, and the frame that it hangs from.
			w.line(hidden, -38, frameAt, -38, 0)
			w.line(hidden, 38, frameAt, 38, 0)
			w.segment(hidden, 38, 0, false)
			w.frame(-42, 42)
		},
		reach: frameAt + frameThick, half: tip, joint: neckFoot,
		planes: map[mount.Plane]float64{mount.BoltCentre: 0, mount.NearEdge: -boltHalf, mount.FarEdge: boltHalf},
		parts: []part{
			{42, frameAt + frameThick/2, "frame"},
			{(plateIn + plateOut) / 2, 40, "bracket"},
			{(washerOut + nutOut) / 2, 13, "nut"},
			{tip - 3, -3, "bolt"},
			{10, -rubberTo + 3, "bushing"},
		},
	}
}

// stud is a threaded rod end through a hole in the frame, clamped between two
// bushings.
func stud() fitting {
	const (
		washer  = 5
		bushing = 20
		plate   = 12
		nut     = 13
		rod     = 6 // half of the stud's diameter

		face    = washer + bushing
		farFace = face + plate
		nutFoot = farFace + bushing + washer
		tip     = nutFoot + nut + 16
		wide    = 25 // half of a washer
		hole    = 12 // half of the frame's hole
		side    = 58 // half of the frame that is shown
	)
	return fitting{
		pieces: []piece{
			{ofDamper, func(w view) {
				w.box(outline, -stemHalf-4, -14, stemHalf+4, 0)
				for _, s := range []float64{-1, 1} {
					w.line(outline, s*rod, washer, s*rod, nutFoot-washer)
					w.line(outline, s*rod, nutFoot+nut, s*rod, tip-3, s*(rod-3), tip, 0, tip)
					w.line(thin, s*(rod-2.5), nutFoot+nut, s*(rod-2.5), tip-3)
				}
			}},
			{ofBracket, func(w view) {
				w.hatched(-side, face, -hole, farFace)
				w.hatched(hole, face, side, farFace)
			}},
			{ofBolt, func(w view) {
				w.box(outline, -wide, 0, wide, washer)
				w.rubber(rod, wide-3, washer, face)
				w.rubber(rod, wide-3, farFace, farFace+bushing)
				w.box(outline, -wide, farFace+bushing, wide, nutFoot)
				w.nut(14, nutFoot, nutFoot+nut)
				// The bushings meet in the hole.
				for _, s := range []float64{-1, 1} {
					w.line(thin, s*(hole-1.5), face, s*(hole-1.5), farFace)
					w.box(tint, s*rod, face, s*(hole-1.5), farFace)
				}
			}},
		},
		frame: [2]float64{face, farFace},
		spans: map[string]span{
			"frame_hole":        {across: true, from: -hole, to: hole, start: farFace, at: farFace + 24, bare: true},
			"frame_thickness":   {from: face, to: farFace, start: side, at: side + 24, bare: true},
			"plate":             {from: face, to: farFace, start: side, at: side + 24, bare: true},
			"bushing_thickness": {from: washer, to: face, start: wide, at: side + 24},
			"washer_thickness":  {from: 0, to: washer, start: wide, at: side + 24},
			"stud_length":       {from: 0, to: tip, start: wide, at: side + 24},
		},
		reach: tip, half: side, joint: -14,
		planes: map[mount.Plane]float64{mount.InnerWasher: 0, mount.FrameFace: face, mount.FrameFarFace: farFace, mount.StudTip: tip},
		parts: []part{
			{3, tip - 6, "stud"},
			{10, nutFoot + nut/2, "nut"},
			{side - 12, (face + farFace) / 2, "frame"},
			{wide - 6, washer + bushing/2, "bushing"},
			{wide - 4, washer / 2, "washer"},
		},
	}
}

// barPin is a bar through the eye, bolted at both ends to a face of the frame
// on its far side.
func barPin() fitting {
	const (
		half    = 20 // of the eye's width
		bar     = 11 // half of the bar's thickness, and so its axis to its seat
		barEnd  = 78
		boltAt  = 59
		lugIn   = 40
		lugFoot = bar
		lugTop  = bar + 12
		lugHalf = 34 // half of the lug as seen along the bar
		bridge  = 44 // v of the frame where it bridges the eye
		nutTop  = lugTop + 14
	)
	return fitting{
		pieces: []piece{
			{ofDamper, func(w view) {
				w.ring(half)
				for _, s := range []float64{-1, 1} {
					// The bar from the bushing to its end, cut back to a flat.
					w.line(outline, s*(half+2), boltHalf, s*lugIn*0.8, boltHalf, s*lugIn*0.8, bar, s*barEnd, bar,
						s*barEnd, -bar, s*lugIn*0.8, -bar, s*lugIn*0.8, -boltHalf, s*(half+2), -boltHalf)
				}
				w.line(outline, -half-2, boltHalf, half+2, boltHalf)
				w.line(outline, -half-2, -boltHalf, half+2, -boltHalf)
			}},
			{ofBracket, func(w view) {
				for _, s := range []float64{-1, 1} {
					// The lug that the bar is bolted to.
					w.hatched(s*lugIn, lugFoot, s*(barEnd+6), lugTop)
					w.hatched(s*lugIn, lugTop, s*(lugIn+11), bridge)
				}
				w.hatched(-lugIn-11, bridge, lugIn+11, bridge+12)
			}},
			{ofBolt, func(w view) {
				for _, s := range []float64{-1, 1} {
					w.moved(s*boltAt, 0).uprightBolt(-bar, bar, lugFoot, lugTop, nutTop)
				}
			}},
		},
		frame: [2]float64{bridge, bridge + 12},
		spans: map[string]span{
			"hole_spacing": {across: true, from: -boltAt, to: boltAt, start: -bar - 14, at: -bar - 44, aside: -34},
			"bar_offset":   {from: 0, to: bar, start: barEnd + 6, at: barEnd + 30},
			"plate":        {from: lugFoot, to: lugTop, start: barEnd + 6, at: barEnd + 30},
		},
		along: func(w view) {
			// The bar's end and the lug hide the ring's upper part.
			w.segment(outline, eyeRadius, lugFoot, false)
			w.segment(hidden, eyeRadius, lugFoot, true)
			w.segment(thin, rubberTo, lugFoot, false)
			w.stem()
			w.box(outline, -lugHalf, lugFoot, lugHalf, lugTop)
			w.hatching(-lugHalf, lugFoot, lugHalf, lugTop)
			w.box(outline, -13, -bar, 13, bar)
			w.box(outline, -10, -bar-9, 10, -bar)
			w.nut(10, lugTop, nutTop)
			w.line(outline, -5, nutTop, -5, nutTop+6, 5, nutTop+6, 5, nutTop)
		},
		reach: bridge + 12, half: barEnd + 6, joint: neckFoot,
		planes: map[mount.Plane]float64{mount.BarCentre: 0, mount.SeatFace: bar},
		parts: []part{
			{lugIn + 4, bridge + 6, "frame"},
			{boltAt + 5, nutTop - 6, "nut"},
			{barEnd - 5, -4, "bar"},
			{boltAt + 6, -bar - 3, "bolt"},
			{10, -rubberTo + 3, "bushing"},
		},
	}
}

// fork straddles a lug of the vehicle.
func fork() fitting {
	const (
		lug       = 14 // half of the lug's thickness
		lugWide   = 16 // half of its width, as seen along the pin
		lugFoot   = -20
		tineIn    = 17
		tineOut   = 27
		tineTop   = 24
		tineWide  = 21
		crotch    = -34
		foot      = crotch - 13
		neck      = foot - 10
		pin       = 8
		head      = tineOut + 9
		tip       = tineOut + 14
		frameSide = 46
	)
	return fitting{
		pieces: []piece{{ofDamper, func(w view) {
			for _, s := range []float64{-1, 1} {
				w.hatched(s*tineIn, pin, s*tineOut, tineTop)
				w.line(outline, s*tineIn, -pin, s*tineIn, crotch, 0, crotch)
				w.line(outline, s*tineOut, -pin, s*tineOut, foot, s*12, foot, s*stemHalf, neck)
				w.hatching(s*tineIn, crotch, s*tineOut, -pin)
				// What is left of the lug around the pin's hole.
				w.line(outline, s*lug, pin, s*lug, frameAt)
				w.line(outline, s*lug, -pin, s*lug, lugFoot, 0, lugFoot)
			}
			w.hatching(-tineOut, foot, tineOut, crotch)
			w.hatching(-lug, pin, lug, frameAt)
			w.hatching(-lug, lugFoot, lug, -pin)
			w.frame(-frameSide, frameSide)
			// The pin, with its head and its split pin.
			w.box(outline, -tineOut, -pin, tip, pin)
			w.box(outline, -head, -pin-5, -tineOut, pin+5)
			w.line(outline, tineOut+7, pin+6, tineOut+7, -pin-6)
			w.line(centre, -head-8, 0, tip+8, 0)
		}}},
		along: func(w view) {
			w.circle(outline, 0, 0, pin)
			w.segment(outline, tineWide, 0, true)
			for _, s := range []float64{-1, 1} {
				w.line(outline, s*tineWide, 0, s*tineWide, foot, s*12, foot, s*stemHalf, neck)
				// The lug, behind the fork's front tine.
				seen := math.Sqrt(tineWide*tineWide - lugWide*lugWide)
				w.line(outline, s*lugWide, seen, s*lugWide, frameAt)
				w.line(hidden, s*lugWide, seen, s*lugWide, lugFoot, 0, lugFoot)
			}
			w.frame(-frameSide+6, frameSide-6)
			w.line(centre, -tineWide-10, 0, tineWide+10, 0)
			w.brokenStem(neck)
		},
		reach: frameAt + frameThick, half: tip, joint: neck,
		parts: []part{
			{frameSide - 10, frameAt + frameThick/2, "frame"},
			{lug - 5, 44, "lug"},
			{tip - 3, 3, "pin"},
			{tineOut - 4, -22, "fork"},
		},
	}
}

// spindleStrut is clamped in the casting that carries the wheel's spindle.
// held is half of the width that is clamped.
func spindleStrut(held float64) fitting {
	const (
		top     = -36
		foot    = 38
		floor   = 14
		chamfer = 8
		spindle = 4  // v of the spindle's axis
		root    = 19 // half of its root
		shaft   = 11
		thread  = 8
	)
	wall := held + 14
	shoulder, threadAt, tip := wall+14, wall+45, wall+60
	return fitting{
		pieces: []piece{{ofDamper, func(w view) {
			for _, s := range []float64{-1, 1} {
				w.hatched(s*held, top, s*wall, foot)
				w.line(outline, s*wall, foot, s*wall, foot+floor-chamfer, s*(wall-chamfer), foot+floor, 0, foot+floor)
				// The spindle, from its root to its thread.
				w.line(outline, wall, spindle+s*root, shoulder, spindle+s*(root-4), shoulder, spindle)
				w.line(outline, shoulder, spindle+s*shaft, threadAt, spindle+s*shaft, threadAt, spindle+s*thread, tip, spindle+s*thread, tip, spindle)
				w.line(thin, threadAt, spindle+s*(thread-3), tip, spindle+s*(thread-3))
			}
			w.line(outline, -held, foot, held, foot)
			w.line(centre, wall-10, spindle, tip+10, spindle)
			// The two bolts that draw the clamp together, end on.
			for _, v := range []float64{top + 14, foot - 14} {
				w.box(outline, -wall-22, v-11, -wall, v+11)
				w.circle(outline, -wall-11, v, 6)
			}
		}}},
		reach: foot + floor, half: tip, joint: foot,
		parts: []part{
			{wall - 5, foot - 8, "knuckle"},
			{threadAt - 10, spindle - 4, "spindle"},
		},
	}
}
