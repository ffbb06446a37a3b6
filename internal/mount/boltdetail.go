package mount

import (
	"math"

	"midstroke/internal/note"
	"midstroke/internal/unit"
)

// BoltDetail is the bolt through a bracket: how long, how strong and how tight.
// A figure of 0 isn't known: a plain pin has no thread figures, without a grade
// there is no strength and no torque, without a load no safety factor.
type BoltDetail struct {
	Bolt  Bolt
	Grade Grade
	// Order names the bolt as it is ordered, as "M12x1.75 × 70"; only its thread
	// where its length isn't known, and "" for a plain pin.
	Order string

	// LeastLength is the grip, the nut and two threads that show; Length the
	// next of the preferred series; ThreadLength how much of it is threaded.
	LeastLength, Length, ThreadLength unit.Length
	// ThreadsReachShearPlane is what follows from the length.
	ThreadsReachShearPlane Told

	StressArea float64 // mm²
	ProofLoad  float64 // N, in tension

	// ShearCapacity is what all planes together bear in N, through the thread
	// where it lies in the plane and through the shank where it doesn't.
	ShearCapacity float64
	// ThreadedShearCapacity is given where the caller said that no thread lies
	// in the plane and the length contradicts, or isn't known: what it would then
	// be.
	ThreadedShearCapacity float64
	// UltimateShear is the force in N at which the bolt would be cut through.
	UltimateShear float64
	Bearing       float64 // MPa between bolt and plate, under the load
	Bending       float64 // MPa in the bolt under the load, single shear alone
	// SafetyFactor is by shear, and by bending too in single shear, against
	// proof: the lesser.
	SafetyFactor float64

	Preload   float64 // N
	Torque    float64 // N·m
	PoundFeet float64 // the same torque in lbf·ft
	// ClampPressure is that of the preload on the end faces of the tube that the
	// bracket clamps, in MPa.
	ClampPressure float64
}

// joint is what a bolt passes through.
type joint struct {
	planes int // of shear, 0 where there is none
	plates int // that the bolt's length must reach through
	// assumed says that whether one plate holds the bolt or two was not given.
	assumed bool
	// between is the length between the plates, or beside the one; 0 not known.
	between unit.Length
	plate   unit.Length
	washer  unit.Length
	tube    tubeFace
}

// tubeFace is the end face of the tube that a bracket clamps around the bolt.
// Outer is 0 where it isn't known, Bore where there is no tube.
type tubeFace struct {
	code        string // of the sleeve, "" for the bushing's own tube
	outer, bore unit.Length
}

// area is the face's area in mm².
func (f *tubeFace) area() float64 { return circle(f.outer.Mm()) - circle(f.bore.Mm()) }

// outerFor is the outer diameter in mm at which a preload in N presses the face
// with the given pressure in MPa.
func (f *tubeFace) outerFor(preload, pressure float64) float64 {
	return math.Sqrt(f.bore.Mm()*f.bore.Mm() + 4/math.Pi*preload/pressure)
}

// boltCalculation computes the figures of a bolt and writes each into the working.
type boltCalculation struct {
	*Result
	opts   *Options
	bolt   Bolt
	grade  Grade
	joint  joint
	detail *BoltDetail
}

// addBolt works the bracket's bolt out.
func (r *Result) addBolt(bracket *Bracket, j joint, opts *Options) {
	if bracket.Bolt.Diameter == 0 {
		return
	}
	r.BracketHole = BracketHole(bracket.Bolt)
	if h := r.BracketHole; h != nil {
		r.step("bracket_hole", note.Size("hole", h.Fits[1].Diameter), h.Standard, note.Word("bolt", bracket.Bolt.Thread.String()), note.Word("fit", h.Fits[1].Name))
	}
	grade, _ := parseGrade(bracket.Grade)
	r.Bolt = &BoltDetail{Bolt: bracket.Bolt, Grade: grade}
	w := boltCalculation{Result: r, opts: opts, bolt: bracket.Bolt, grade: grade, joint: j, detail: r.Bolt}
	if j.assumed {
		r.step("single_shear_assumed", note.Num("planes", float64(j.planes), ""), "our choice")
		if grade != NoGrade || opts.Load > 0 {
			r.caution("shear_assumed")
		}
	}
	if w.bolt.Threaded() {
		w.length()
		w.detail.Order = w.detail.order()
		w.detail.StressArea = StressArea(w.bolt.Thread)
		w.step("stress_area", note.Num("area", w.detail.StressArea, "mm²"), w.bolt.Thread.system().stressArea, note.Word("thread", w.bolt.Thread.String()))
	}
	if w.grade != NoGrade {
		w.strength()
	}
	w.bearing()
	if w.grade != NoGrade && w.bolt.Threaded() {
		w.tighten()
	}
}

// step adds a line to the working.
func (r *Result) step(code note.Code, result note.Value, source string, values ...note.Value) {
	if r.Working == nil {
		r.Working = make([]note.Step, 0, 24)
	}
	all := append(append(make([]note.Value, 0, len(values)+1), values...), result)
	r.Working = append(r.Working, note.Step{Note: note.Note{Code: code, Values: all}, Result: result, Source: source})
}

// caution adds a caution.
func (r *Result) caution(code note.Code, values ...note.Value) {
	if r.Cautions == nil {
		r.Cautions = make([]note.Note, 0, 8)
	}
	r.Cautions = append(r.Cautions, note.New(code, values...))
}

// reason adds a reason against, or for what was left open.
func (r *Result) reason(code note.Code, values ...note.Value) {
	r.Reasons = append(r.Reasons, note.New(code, values...))
}

// length finds the least length, the one to buy, and where its thread ends.
func (w *boltCalculation) length() {
	t, d, j := w.bolt.Thread, w.detail, &w.joint
	size, system := t.size(), t.system()
	if size == nil || j.planes == 0 || j.between == 0 || j.plate == 0 {
		if j.planes > 0 {
			w.caution("bolt_length_left_open")
		}
		return
	}
	if j.washer == 0 {
		j.washer = size.washer
		w.step("washer_assumed", note.Size("washer", j.washer), system.washer, note.Word("thread", t.String()))
		w.caution("washer_not_given", note.Size("washer", j.washer))
	}
	plates := unit.Length(j.plates) * j.plate
	d.LeastLength = 2*j.washer + plates + j.between + size.nut + showing*t.Pitch
	w.step("bolt_least_length", note.Size("least", d.LeastLength), system.nut,
		note.Size("washers", 2*j.washer), note.Size("plates", plates), note.Size("between", j.between),
		note.Size("nut", size.nut), note.Size("threads", showing*t.Pitch))
	w.caution("locking_nut_taller")

	d.Length = system.preferredLength(d.LeastLength)
	if d.Length == 0 {
		w.caution("bolt_beyond_series", note.Size("least", d.LeastLength))
		return
	}
	w.step("bolt_length", note.Size("length", d.Length), system.series, note.Size("least", d.LeastLength))
	d.ThreadLength = t.lengthOn(d.Length)
	w.step("bolt_thread_length", note.Size("threaded", d.ThreadLength), system.bolt, note.Size("length", d.Length))

	far := w.farPlane()
	shank := d.Length - d.ThreadLength
	d.ThreadsReachShearPlane = told(shank < far)
	code := note.Code("threads_clear_of_plane")
	if shank < far {
		code = "threads_reach_plane"
	}
	w.step(code, note.Size("shank", shank), "", note.Size("plane", far))
}

// farPlane is the distance from the bolt's head to the plane of shear farthest
// from it. In single shear the head may lie on either side, so it is the worse
// one.
func (w *boltCalculation) farPlane() unit.Length {
	if w.joint.plates == 1 {
		return w.joint.washer + max(w.joint.plate, w.joint.between)
	}
	return w.joint.washer + w.joint.plate + w.joint.between
}

// threadsInPlane says whether a plane of shear passes through the thread:
// what the caller says, else what the length says, else the weaker.
func (w *boltCalculation) threadsInPlane() bool {
	if !w.bolt.Threaded() {
		return false
	}
	if w.opts.ThreadsInShearPlane != Untold {
		return w.opts.ThreadsInShearPlane == Yes
	}
	return w.detail.ThreadsReachShearPlane != No
}

// strength works out proof load, shear and the safety factor.
func (w *boltCalculation) strength() {
	d := w.detail
	s := strengthOf(w.grade, w.bolt.Diameter, d.Length)
	w.step("proof_strength", note.Num("proof", s.proof, "MPa"), w.grade.source(), note.Word("grade", w.grade.String()))
	if w.bolt.Threaded() {
		d.ProofLoad = s.proof * d.StressArea
		w.step("proof_load", note.Num("load", d.ProofLoad, "N"), "", note.Num("proof", s.proof, "MPa"), note.Num("area", d.StressArea, "mm²"))
	}
	if w.joint.planes == 0 {
		return
	}
	area, code, source := shankArea(w.bolt), note.Code("shank_area"), ""
	root := w.bolt.Diameter.Mm()
	if w.threadsInPlane() {
		area, code, source = minorArea(w.bolt.Thread), "minor_area", "Shigley, 9th ed., tables 8-1 and 8-2"
		root = minorDiameter(w.bolt.Thread)
	}
	w.step(code, note.Num("area", area, "mm²"), source)
	d.ShearCapacity = proofShear(s.proof, area, w.joint.planes)
	planes := note.Num("planes", float64(w.joint.planes), "")
	w.step("shear_capacity", note.Num("capacity", d.ShearCapacity, "N"), "Shigley, 9th ed., p. 454",
		planes, note.Num("proof", s.proof, "MPa"), note.Num("area", area, "mm²"))
	d.UltimateShear = ultimateShear(s.tensile, area, w.joint.planes)
	w.step("ultimate_shear", note.Num("capacity", d.UltimateShear, "N"), "common practice",
		planes, note.Num("tensile", s.tensile, "MPa"), note.Num("area", area, "mm²"))
	if w.opts.ThreadsInShearPlane == No && d.ThreadsReachShearPlane != No && w.bolt.Threaded() {
		d.ThreadedShearCapacity = proofShear(s.proof, minorArea(w.bolt.Thread), w.joint.planes)
		code := note.Code("threads_contradict_length")
		if d.ThreadsReachShearPlane == Untold {
			code = "threads_not_checked"
		}
		w.caution(code, note.Num("threaded", d.ThreadedShearCapacity, "N"), note.Num("shank", d.ShearCapacity, "N"))
	}
	if w.opts.Load > 0 {
		w.safety(s.proof, root)
	}
}

// safety holds the load against shear, and in single shear against bending of
// the bolt, which as a rule governs there. root is the bolt's diameter in mm
// where it leaves the plate.
func (w *boltCalculation) safety(proof, root float64) {
	d := w.detail
	load := note.Num("load", w.opts.Load, "N")
	d.SafetyFactor = d.ShearCapacity / w.opts.Load
	w.step("safety_in_shear", note.Num("factor", d.SafetyFactor, ""), "", note.Num("capacity", d.ShearCapacity, "N"), load)
	if w.joint.planes == 1 {
		if w.joint.between == 0 {
			// Without the arm the bending isn't known, and it is what governs.
			d.SafetyFactor = 0
			w.caution("bending_left_open")
			return
		}
		arm := w.joint.between / 2
		d.Bending = Bending(w.opts.Load, arm.Mm(), root)
		w.step("bending", note.Num("stress", d.Bending, "MPa"), "bending of a round bar",
			load, note.Size("arm", arm), note.Num("root", root, "mm"))
		factor := proof / d.Bending
		w.step("safety_in_bending", note.Num("factor", factor, ""), "", note.Num("proof", proof, "MPa"), note.Num("stress", d.Bending, "MPa"))
		d.SafetyFactor = min(d.SafetyFactor, factor)
	}
	if d.SafetyFactor < 1 {
		w.caution("bolt_too_weak", note.Num("factor", d.SafetyFactor, ""))
	}
	w.caution("load_is_design_load")
}

// bearing is the pressure of the load on the plates.
func (w *boltCalculation) bearing() {
	j := &w.joint
	if w.opts.Load <= 0 || j.planes == 0 || j.plate == 0 {
		return
	}
	w.detail.Bearing = Bearing(w.opts.Load, j.planes, j.plate.Mm(), w.bolt.Diameter.Mm())
	w.step("bearing", note.Num("stress", w.detail.Bearing, "MPa"), "common practice",
		note.Num("load", w.opts.Load, "N"), note.Num("plates", float64(j.planes), ""), note.Size("plate", j.plate), note.Size("diameter", w.bolt.Diameter))
}

// tighten gives preload and torque.
func (w *boltCalculation) tighten() {
	d := w.detail
	fraction, factor := w.opts.PreloadFraction, w.opts.TorqueFactor
	if fraction == 0 {
		fraction = DefaultPreloadFraction
	}
	if factor == 0 {
		factor = DefaultTorqueFactor
	}
	d.Preload = fraction * d.ProofLoad
	w.step("preload", note.Num("preload", d.Preload, "N"), "Shigley, 9th ed., p. 442",
		note.Num("fraction", fraction, ""), note.Num("load", d.ProofLoad, "N"))
	d.Torque = Torque(factor, w.bolt.Diameter.Mm(), d.Preload)
	d.PoundFeet = PoundFeet(d.Torque)
	w.step("torque", note.Num("torque", d.Torque, "N·m"), "Shigley, 9th ed., table 8-15",
		note.Num("factor", factor, ""), note.Size("diameter", w.bolt.Diameter), note.Num("preload", d.Preload, "N"))
	w.step("torque_pound_feet", note.Num("pound_feet", d.PoundFeet, "lbf·ft"), "", note.Num("torque", d.Torque, "N·m"))
	w.caution("torque_scatters", note.Num("low", d.Torque*(1-TorqueSpread), "N·m"), note.Num("high", d.Torque*(1+TorqueSpread), "N·m"))
	w.clamp()
}

// TubeYield is the pressure in MPa above which a bolt's preload crushes the tube
// around it: the yield strength of a plain steel tube, common practice, no source.
const TubeYield = 235

// clamp compares the pressure of the preload on the clamped tube's end faces with
// what a tube bears.
func (w *boltCalculation) clamp() {
	d, face := w.detail, &w.joint.tube
	switch {
	case face.bore == 0:
		return
	case face.outer == 0:
		outer := unit.FromMm(face.outerFor(d.Preload, TubeYield))
		w.caution("bushing_tube_not_listed", note.AtLeast("outer", outer), note.Size("bore", face.bore), note.Num("torque", d.Torque, "N·m"))
		return
	}
	d.ClampPressure = d.Preload / face.area()
	pressure := note.Num("pressure", d.ClampPressure, "MPa")
	w.step("clamp_pressure", pressure, "",
		note.Num("preload", d.Preload, "N"), note.Word("code", face.code), note.Size("outer", face.outer), note.Size("bore", face.bore))
	if d.ClampPressure > TubeYield {
		most := d.Torque * TubeYield / d.ClampPressure
		w.caution("sleeve_overloaded", pressure, note.Num("most", TubeYield, "MPa"), note.Word("code", face.code),
			note.Num("torque", d.Torque, "N·m"), note.Num("most_torque", most, "N·m"))
	}
}
