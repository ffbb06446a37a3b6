package wire

import (
	"midstroke/internal/mount"
	"midstroke/internal/note"
	"midstroke/internal/unit"
)

// AppendHardware appends how one end bolts up as JSON. from is the catalogue of
// the parts and the clearances, or of the clearances where the parts were the
// caller's own.
func AppendHardware(dst []byte, h *mount.Result, r *HardwareRequest, from Edition, lang string) []byte {
	return appendAnswer(writer{b: dst, units: r.Units, lang: lang}, hardwareAnswerMembers, &hardwareAnswer{h, from})
}

// hardwareAnswer is what the answer about one end is written from.
type hardwareAnswer struct {
	*mount.Result
	from Edition
}

var hardwareAnswerMembers = members[hardwareAnswer]{
	unitsMember[hardwareAnswer](),
	anObject("catalog", editionMembers, func(h *hardwareAnswer) *Edition { return &h.from }),
	allOf(hardwareMembers, func(h *hardwareAnswer) *mount.Result { return h.Result }),
	aList("working", stepMembers, func(h *hardwareAnswer) []note.Step { return h.Working }),
	notes("cautions", func(h *hardwareAnswer) []note.Note { return h.Cautions }),
}

// hardwareMembers say how an end bolts up, without its arithmetic and its
// cautions.
var hardwareMembers = members[mount.Result]{
	aFlag("possible", func(h *mount.Result) bool { return h.Possible }),
	aFlag("open", func(h *mount.Result) bool { return h.Open }),
	aFlag("complete", func(h *mount.Result) bool { return h.Complete }),
	aListOf("lacks", textKind, func(h *mount.Result) []string { return h.Lacks }, (*writer).appendText),
	anObjectOrNull("adapter", adapterMembers, func(h *mount.Result) *mount.Adapter { return h.Adapter }),
	aList("sleeves", sleeveMembers, func(h *mount.Result) []mount.Used { return h.Sleeves }),
	anObjectOrNull("spacers", spacersMembers, func(h *mount.Result) *mount.Stack { return h.Spacers }),
	anObjectOrNull("bracket_hole", holeMembers, func(h *mount.Result) *mount.Hole { return h.BracketHole }),
	anObjectOrNull("bolt", boltMembers, func(h *mount.Result) *mount.BoltDetail { return h.Bolt }),
	aList("stud_stack", layerMembers, func(h *mount.Result) []mount.Layer { return h.StudStack }),
	reasons(func(h *mount.Result) []note.Note { return h.Reasons }),
	aList("cures", cureMembers, func(h *mount.Result) []mount.Cure { return h.Cures }),
}

var sleeveMembers = members[mount.Used]{
	aText("code", func(u *mount.Used) string { return u.Sleeve.Code }),
	aWhole("quantity", func(u *mount.Used) int { return u.Quantity }),
	orNull("gap_outside", lengthKind, func(u *mount.Used) *unit.Length { return gap(&u.GapOutside, u.OutsideIs) }, (*writer).appendLengthAt),
	orNull("gap_inside", lengthKind, func(u *mount.Used) *unit.Length { return gap(&u.GapInside, u.InsideIs) }, (*writer).appendLengthAt),
}

// gap gives nil for the gap of a hole whose true size isn't known.
func gap(l *unit.Length, is mount.BoreIs) *unit.Length {
	if is == mount.Nominal {
		return nil
	}
	return l
}

var spacersMembers = members[mount.Stack]{
	aList("each_side", members[mount.UsedSpacer]{
		aText("code", func(s *mount.UsedSpacer) string { return s.Spacer.Code }),
		aWhole("quantity", func(s *mount.UsedSpacer) int { return s.Quantity }),
	}, func(s *mount.Stack) []mount.UsedSpacer { return s.EachSide }),
	aLength("left_over", func(s *mount.Stack) unit.Length { return s.LeftOver }),
}

var layerMembers = members[mount.Layer]{
	aText("kind", func(l *mount.Layer) string { return string(l.Kind) }),
	aLength("from", func(l *mount.Layer) unit.Length { return l.From }),
	aLength("thickness", func(l *mount.Layer) unit.Length { return l.Thickness }),
}

// holeMembers are those of a clearance hole, its diameters under the words of
// its standard.
var holeMembers = members[mount.Hole]{
	aText("standard", func(h *mount.Hole) string { return h.Standard }),
	clearance("fine"), clearance("medium"), clearance("coarse"), // ISO 273
	clearance("close"), clearance("normal"), clearance("loose"), // ASME B18.2.8
}

func clearance(name string) member[mount.Hole] {
	fit := func(h *mount.Hole) *mount.HoleFit {
		for i := range h.Fits {
			if h.Fits[i].Name == name {
				return &h.Fits[i]
			}
		}
		return nil
	}
	return when(aLength(name, func(h *mount.Hole) unit.Length { return fit(h).Diameter }), func(h *mount.Hole) bool { return fit(h) != nil })
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

var boltMembers = members[mount.BoltDetail]{
	plainValue("text", shape{kind: textKind}, (*writer).boltText),
	aLength("diameter", func(d *mount.BoltDetail) unit.Length { return d.Bolt.Diameter }),
	aTextOrNull("thread", func(d *mount.BoltDetail) string { return threadName(d.Bolt) }),
	aTextOrNull("grade", func(d *mount.BoltDetail) string { return d.Grade.String() }),
	aLengthOrNull("least_length", func(d *mount.BoltDetail) unit.Length { return d.LeastLength }),
	aLengthOrNull("length", func(d *mount.BoltDetail) unit.Length { return d.Length }),
	aLengthOrNull("thread_length", func(d *mount.BoltDetail) unit.Length { return d.ThreadLength }),
	orNull("threads_reach_shear_plane", flagKind, func(d *mount.BoltDetail) mount.Told { return d.ThreadsReachShearPlane },
		func(w *writer, told mount.Told) { w.appendFlag(told == mount.Yes) }),
	aNumberOrNull("stress_area_mm2", ofArea, func(d *mount.BoltDetail) float64 { return d.StressArea }),
	aKnownNumber("proof_load_n", ofForce, func(d *mount.BoltDetail) float64 { return d.ProofLoad }),
	aKnownNumber("shear_capacity_n", ofForce, func(d *mount.BoltDetail) float64 { return d.ShearCapacity }),
	aKnownNumber("threaded_shear_capacity_n", ofForce, func(d *mount.BoltDetail) float64 { return d.ThreadedShearCapacity }),
	aKnownNumber("ultimate_shear_n", ofForce, func(d *mount.BoltDetail) float64 { return d.UltimateShear }),
	aKnownNumber("bearing_mpa", ofStress, func(d *mount.BoltDetail) float64 { return d.Bearing }),
	aKnownNumber("bending_mpa", ofStress, func(d *mount.BoltDetail) float64 { return d.Bending }),
	aKnownNumber("safety_factor", ofFactor, func(d *mount.BoltDetail) float64 { return d.SafetyFactor }),
	aKnownNumber("preload_n", ofForce, func(d *mount.BoltDetail) float64 { return d.Preload }),
	aKnownNumber("torque_nm", ofTorque, func(d *mount.BoltDetail) float64 { return d.Torque }),
	aKnownNumber("torque_lbf_ft", ofPounds, func(d *mount.BoltDetail) float64 { return d.PoundFeet }),
	aKnownNumber("clamp_pressure_mpa", ofStress, func(d *mount.BoltDetail) float64 { return d.ClampPressure }),
}

// boltText names a bolt as it is ordered.
func (w *writer) boltText(d *mount.BoltDetail) {
	if d.Order != "" {
		w.appendText(d.Order)
	} else {
		w.appendText(d.Bolt.Text(w.units))
	}
}

// threadName is "" for a plain pin.
func threadName(b mount.Bolt) string {
	if !b.Threaded() {
		return ""
	}
	return b.Thread.String()
}

var cureMembers = members[mount.Cure]{
	aText("kind", func(c *mount.Cure) string { return string(c.Kind) }),
	aLength("by", func(c *mount.Cure) unit.Length { return c.By }),
	aFlag("alone", func(c *mount.Cure) bool { return c.Alone }),
	aTextOrNull("bolt", func(c *mount.Cure) string { return threadName(c.Bolt) }),
	anObjectOrNull("sleeve", members[mount.WantedSleeve]{
		between("outer", func(s *mount.WantedSleeve) (least, most unit.Length) { return s.OuterLeast, s.OuterMost }),
		between("bore", func(s *mount.WantedSleeve) (least, most unit.Length) { return s.BoreLeast, s.BoreMost }),
		between("length", func(s *mount.WantedSleeve) (least, most unit.Length) { return s.LengthLeast, s.LengthMost }),
	}, func(c *mount.Cure) *mount.WantedSleeve { return c.Sleeve }),
	anObjectOrNull("spacer", members[mount.WantedSpacer]{
		between("bore", func(s *mount.WantedSpacer) (least, most unit.Length) { return s.BoreLeast, s.BoreMost }),
		between("thickness", func(s *mount.WantedSpacer) (least, most unit.Length) { return s.ThicknessLeast, s.ThicknessMost }),
	}, func(c *mount.Cure) *mount.WantedSpacer { return c.Spacer }),
	aNote(func(c *mount.Cure) *note.Note { return &c.Note }),
}

// between is a range, its end null where there is no bound.
func between[T any](name string, get func(*T) (least, most unit.Length)) member[T] {
	return anObject(name, members[T]{
		aLength("least", func(v *T) unit.Length { least, _ := get(v); return least }),
		aLengthOrNull("most", func(v *T) unit.Length { _, most := get(v); return most }),
	}, itself)
}
