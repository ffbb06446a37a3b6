package wire

import (
	"midstroke/internal/mount"
	"midstroke/internal/unit"
)

// AppendHardware appends how one end bolts up as JSON. from is nil where the
// parts were the caller's own.
func AppendHardware(dst []byte, h *mount.Result, r *HardwareRequest, from *Edition, lang string) []byte {
	w := writer{b: dst, units: r.Units, lang: lang}
	w.open()
	w.text("units", r.Units.String())
	if from == nil {
		w.null("catalog")
	} else {
		w.edition(from)
	}
	w.hardware(h)
	w.close()
	return append(w.b, '\n')
}

// hardware writes the members of how an end bolts up. Of the fits of one answer
// many bolt up alike and share one result: what was written of it once is
// copied.
func (w *writer) hardware(h *mount.Result) {
	w.comma()
	if at, known := w.written[h]; known {
		w.b = append(w.b, w.b[at.from:at.to]...)
		return
	}
	from := len(w.b)
	key := keptKey{h, w.units, w.lang}
	if kept := w.kept.get(key); kept != nil {
		w.b = append(w.b, kept...)
	} else {
		w.hardwareMembers(h)
		w.kept.put(key, w.b[from:])
	}
	if w.written == nil {
		w.written = map[*mount.Result]part{}
	}
	w.written[h] = part{from, len(w.b)}
}

// part is a part of what has been written.
type part struct{ from, to int }

func (w *writer) hardwareMembers(h *mount.Result) {
	w.flag("possible", h.Possible)
	w.flag("open", h.Open)
	if h.Adapter == nil {
		w.null("adapter")
	} else {
		w.key("adapter")
		w.open()
		w.adapter(h.Adapter)
		w.close()
	}
	w.key("sleeves")
	w.openList()
	for i := range h.Sleeves {
		w.sleeve(&h.Sleeves[i])
	}
	w.closeList()
	w.spacers(h.Spacers)
	w.hole(h.BracketHole)
	w.bolt(h.Bolt)
	w.key("stud_stack")
	w.openList()
	for i := range h.StudStack {
		w.open()
		w.text("kind", string(h.StudStack[i].Kind))
		w.length("from", h.StudStack[i].From)
		w.length("thickness", h.StudStack[i].Thickness)
		w.close()
	}
	w.closeList()
	w.notes("reasons", h.Reasons)
	w.key("cures")
	w.openList()
	for i := range h.Cures {
		w.cure(&h.Cures[i])
	}
	w.closeList()
	w.steps("working", h.Working)
	w.notes("cautions", h.Cautions)
}

func (w *writer) sleeve(u *mount.Used) {
	w.open()
	w.text("code", u.Sleeve.Code)
	w.whole("quantity", u.Quantity)
	w.gap("gap_outside", u.GapOutside, u.OutsideIs)
	w.gap("gap_inside", u.GapInside, u.InsideIs)
	w.close()
}

// gap writes a diametral gap, null where a hole's true size isn't known.
func (w *writer) gap(name string, l unit.Length, is mount.BoreIs) {
	if is == mount.Nominal {
		w.null(name)
		return
	}
	w.length(name, l)
}

func (w *writer) spacers(s *mount.Stack) {
	if s == nil {
		w.null("spacers")
		return
	}
	w.key("spacers")
	w.open()
	w.key("each_side")
	w.openList()
	for i := range s.EachSide {
		w.open()
		w.text("code", s.EachSide[i].Spacer.Code)
		w.whole("quantity", s.EachSide[i].Quantity)
		w.close()
	}
	w.closeList()
	w.length("left_over", s.LeftOver)
	w.close()
}

// hole writes a clearance hole, its diameters under the standard's own words.
func (w *writer) hole(h *mount.Hole) {
	if h == nil {
		w.null("bracket_hole")
		return
	}
	w.key("bracket_hole")
	w.open()
	w.text("standard", h.Standard)
	for _, f := range h.Fits {
		w.length(f.Name, f.Diameter)
	}
	w.close()
}

// To how many decimals the figures of a bolt are told: as the standards print
// them, and no finer than they are known.
const (
	ofArea   = 2 // mm²
	ofForce  = 0 // N
	ofStress = 1 // MPa
	ofTorque = 2 // N·m
	ofPounds = 1 // lbf·ft
	ofFactor = 2
)

func (w *writer) bolt(d *mount.BoltDetail) {
	if d == nil {
		w.null("bolt")
		return
	}
	w.key("bolt")
	w.open()
	w.length("diameter", d.Bolt.Diameter)
	w.textOrNull("thread", threadName(d.Bolt))
	w.textOrNull("grade", d.Grade.String())
	w.lengthOrNull("least_length", d.LeastLength)
	w.lengthOrNull("length", d.Length)
	w.lengthOrNull("thread_length", d.ThreadLength)
	switch d.ThreadsReachShearPlane {
	case mount.Yes, mount.No:
		w.flag("threads_reach_shear_plane", d.ThreadsReachShearPlane == mount.Yes)
	case mount.Untold:
		w.null("threads_reach_shear_plane")
	}
	w.figure("stress_area_mm2", d.StressArea, ofArea)
	w.figure("proof_load_n", d.ProofLoad, ofForce)
	w.figure("shear_capacity_n", d.ShearCapacity, ofForce)
	w.figure("threaded_shear_capacity_n", d.ThreadedShearCapacity, ofForce)
	w.figure("ultimate_shear_n", d.UltimateShear, ofForce)
	w.figure("bearing_mpa", d.Bearing, ofStress)
	w.figure("bending_mpa", d.Bending, ofStress)
	w.figure("safety_factor", d.SafetyFactor, ofFactor)
	w.figure("preload_n", d.Preload, ofForce)
	w.figure("torque_nm", d.Torque, ofTorque)
	w.figure("torque_lbf_ft", d.PoundFeet, ofPounds)
	w.figure("clamp_pressure_mpa", d.ClampPressure, ofStress)
	w.close()
}

// threadName is "" for a plain pin.
func threadName(b mount.Bolt) string {
	if !b.Threaded() {
		return ""
	}
	return b.Thread.String()
}

// figure writes a figure, null where it is 0 and so not known.
func (w *writer) figure(name string, n float64, decimals int) {
	if n == 0 {
		w.null(name)
		return
	}
	w.number(name, n, decimals)
}

func (w *writer) cure(c *mount.Cure) {
	w.open()
	w.text("kind", string(c.Kind))
	w.length("by", c.By)
	w.flag("alone", c.Alone)
	w.textOrNull("bolt", threadName(c.Bolt))
	if s := c.Sleeve; s == nil {
		w.null("sleeve")
	} else {
		w.key("sleeve")
		w.open()
		w.between("outer", s.OuterLeast, s.OuterMost)
		w.between("bore", s.BoreLeast, s.BoreMost)
		w.between("length", s.LengthLeast, s.LengthMost)
		w.close()
	}
	if s := c.Spacer; s == nil {
		w.null("spacer")
	} else {
		w.key("spacer")
		w.open()
		w.between("bore", s.BoreLeast, s.BoreMost)
		w.between("thickness", s.ThicknessLeast, s.ThicknessMost)
		w.close()
	}
	w.note(&c.Note)
	w.close()
}

// between writes a range, its end null where there is no bound.
func (w *writer) between(name string, least, most unit.Length) {
	w.key(name)
	w.open()
	w.length("least", least)
	w.lengthOrNull("most", most)
	w.close()
}
