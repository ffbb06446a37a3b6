package measure_test

import (
	"math"
	"strings"
	"testing"

	"midstroke/internal/measure"
	"midstroke/internal/mount"
	"midstroke/internal/unit"
)

// Each thing that can't be is named by the pointer of its field.
func TestFaults(t *testing.T) {
	eye := mount.Eye
	for _, c := range []struct {
		name   string
		change func(*measure.Readings)
		want   string // pointer and code
	}{
		{"no reading", func(r *measure.Readings) { r.Readings = nil }, "/readings missing"},
		{"nine readings", func(r *measure.Readings) { r.Readings = make([]measure.Reading, 9) }, "/readings too_many"},
		{"a reading of nothing", func(r *measure.Readings) { r.Readings[0].Length = 0 }, "/readings/0 not_positive"},
		{"a negative reading", func(r *measure.Readings) { r.Readings = taped(20*inch, -20*inch) }, "/readings/1 not_positive"},
		{"a reading of more than 10 m", func(r *measure.Readings) { r.Readings = taped(unit.MaxLength + 1) }, "/readings/0 too_large"},
		{"one reading with a side, one without", func(r *measure.Readings) {
			r.Readings = append(taped(20*inch), measure.Reading{Length: 20 * inch, Side: measure.Right})
		}, "/readings side_mixed"},
		{"negative tolerance", func(r *measure.Readings) { r.Tolerance = -1 }, "/reading_tolerance negative"},
		{"absurd tolerance", func(r *measure.Readings) { r.Tolerance = unit.MaxLength + 1 }, "/reading_tolerance too_large"},
		{"no style", func(r *measure.Readings) { r.Upper.Style = mount.NoStyle }, "/upper/style missing"},
		{"near edge without bolt", func(r *measure.Readings) { r.Upper.Plane = mount.NearEdge }, "/upper/bolt missing"},
		{"far edge without bolt", func(r *measure.Readings) { r.Lower.Plane = mount.FarEdge }, "/lower/bolt missing"},
		{"seat face without offset", func(r *measure.Readings) {
			r.Lower = measure.EndReading{Style: mount.BarPin, Plane: mount.SeatFace}
		}, "/lower/bar_offset missing"},
		{"far face without plate", func(r *measure.Readings) {
			r.Upper = measure.EndReading{Style: mount.Stud, Plane: mount.FrameFarFace, BushingThickness: 15 * mm, WasherThickness: mm}
		}, "/upper/plate missing"},
		{"tip without stud length", func(r *measure.Readings) {
			r.Lower = measure.EndReading{Style: mount.Stud, Plane: mount.StudTip}
		}, "/lower/stud_length missing"},
		{"negative bolt", func(r *measure.Readings) { r.Upper.BoltDiameter = -1 }, "/upper/bolt negative"},
		{"negative plate", func(r *measure.Readings) { r.Lower.Plate = -1 }, "/lower/plate negative"},
		{"negative bushing", func(r *measure.Readings) { r.Upper.BushingThickness = -1 }, "/upper/bushing_thickness negative"},
		{"negative washer", func(r *measure.Readings) { r.Upper.WasherThickness = -1 }, "/upper/washer_thickness negative"},
		{"absurd stud", func(r *measure.Readings) { r.Upper.StudLength = unit.MaxLength + 1 }, "/upper/stud_length too_large"},
		{"absurd bar offset", func(r *measure.Readings) { o := -unit.MaxLength - 1; r.Upper.BarOffset = &o }, "/upper/bar_offset too_large"},
		{"vertical without offset", func(r *measure.Readings) { r.Tape.Vertical = true }, "/sideways_offset missing"},
		{"negative offset", func(r *measure.Readings) {
			o := -mm
			r.Tape = measure.Tape{Vertical: true, SidewaysOffset: &o}
		}, "/sideways_offset negative"},
		{"offset without vertical", func(r *measure.Readings) { o := 10 * mm; r.Tape.SidewaysOffset = &o }, "/sideways_offset out_of_place"},
		{"negative gap", func(r *measure.Readings) { r.Condition.ArchGap = -1 }, "/condition/arch_gap negative"},
		{"negative gap at ride", func(r *measure.Readings) { r.Condition.ArchGapAtRide = -1 }, "/condition/arch_gap_at_ride negative"},
		{"negative gap tolerance", func(r *measure.Readings) { r.Condition.GapTolerance = -1 }, "/condition/gap_tolerance negative"},
		{"negative motion ratio", func(r *measure.Readings) { r.MotionRatio = -0.5 }, "/motion_ratio out_of_range"},
		{"motion ratio not a number", func(r *measure.Readings) { r.MotionRatio = math.NaN() }, "/motion_ratio out_of_range"},
		{"infinite motion ratio", func(r *measure.Readings) { r.MotionRatio = math.Inf(1) }, "/motion_ratio out_of_range"},
		{"motion ratio over the bound", func(r *measure.Readings) { r.MotionRatio = math.Nextafter(measure.MaxMotionRatio, 11) }, "/motion_ratio out_of_range"},
		{"tolerance of the ratio negative", func(r *measure.Readings) { r.MotionRatio, r.MotionRatioTolerance = 1, -0.1 }, "/motion_ratio_tolerance negative"},
		{"tolerance of the ratio not a number", func(r *measure.Readings) { r.MotionRatio, r.MotionRatioTolerance = 1, math.NaN() }, "/motion_ratio_tolerance negative"},
		{"tolerance as large as the ratio", func(r *measure.Readings) { r.MotionRatio, r.MotionRatioTolerance = 0.5, 0.5 }, "/motion_ratio_tolerance out_of_range"},
		{"tolerance of no ratio", func(r *measure.Readings) { r.MotionRatioTolerance = 0.1 }, "/motion_ratio_tolerance out_of_place"},
		{"planned change without ratio", func(r *measure.Readings) { r.PlannedChange = inch }, "/motion_ratio missing"},
		{"absurd planned change", func(r *measure.Readings) { r.PlannedChange, r.HasLinkage = -unit.MaxLength-1, true }, "/planned_change too_large"},
		{"absurd move of the mounts", func(r *measure.Readings) { r.PlannedMountMove = -unit.MaxLength - 1 }, "/planned_mount_move too_large"},
		{"move of the mounts with a linkage", func(r *measure.Readings) { r.PlannedMountMove, r.HasLinkage = inch, true }, "/planned_mount_move out_of_place"},
		{"mounts moved into each other", func(r *measure.Readings) { r.PlannedMountMove = -20 * inch }, "/readings impossible_length"},
		{"nothing left of the length", func(r *measure.Readings) {
			r.Readings = taped(45 * mm)
			r.Lower = measure.EndReading{Style: mount.Stud, Plane: mount.StudTip, StudLength: 50 * mm}
		}, "/readings impossible_length"},
		{"nothing left in the worst case", func(r *measure.Readings) { r.Readings = taped(inch / 16) }, "/readings impossible_length"},
		{"all at once", func(r *measure.Readings) {
			*r = measure.Readings{
				Readings: []measure.Reading{{Length: 20 * inch}, {}, {Length: 20 * inch, Side: measure.Left}}, Tolerance: -1,
				Upper: measure.EndReading{Style: eye, Plane: mount.StudTip}, Lower: measure.EndReading{Style: eye, Plane: mount.NearEdge},
				Tape: measure.Tape{Vertical: true}, PlannedChange: inch,
			}
		}, "/readings/1 not_positive; /readings side_mixed; /reading_tolerance negative; /upper/measured_to wrong_plane; /lower/bolt missing; " +
			"/sideways_offset missing; /motion_ratio missing"},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := eyes(20 * inch)
			c.change(&r)
			w, faults := measure.WorkingLength(r)
			var got []string
			for _, f := range faults {
				got = append(got, f.Pointer+" "+f.Code.Public())
				if text := f.Text("en", unit.Millimetres); text == string(f.Code) || strings.HasSuffix(text, ".") || strings.ContainsAny(text, "{}%") {
					t.Errorf("%q is no sentence without its full stop", text)
				}
			}
			if s := strings.Join(got, "; "); s != c.want {
				t.Errorf("the faults are %s; want %s", s, c.want)
			}
			if w.Value > 0 || w.Steps != nil || w.Reasons != nil {
				t.Errorf("there is a working beside the faults: %+v", w)
			}
		})
	}
}

// What WorkingLength refuses of tape and ends, ToPlanes refuses alike.
func TestToPlanesFaults(t *testing.T) {
	r := eyes(20 * inch)
	r.Upper.Plane, r.Lower.Plane = mount.NearEdge, mount.SeatFace
	r.Lower.BarOffset = new(unit.Length)
	r.Tape.Vertical = true
	_, want := measure.WorkingLength(r)
	l, got := r.ToPlanes(18 * inch)
	if l != 0 || len(got) != 3 || got.Error() != want.Error() {
		t.Errorf("ToPlanes = %v, %v; WorkingLength finds %v", l, got, want)
	}
}

func TestSideNames(t *testing.T) {
	for side, want := range map[measure.Side]string{measure.Left: "left", measure.Right: "right", measure.Unsided: ""} {
		if got := side.String(); got != want {
			t.Errorf("%d is called %q; want %q", side, got, want)
		}
		if back, ok := measure.Sides.Parse(want); back != side || ok != (side != measure.Unsided) {
			t.Errorf("ParseSide(%q) = %v, %v", want, back, ok)
		}
	}
}
