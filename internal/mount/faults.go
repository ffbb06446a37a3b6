package mount

import (
	"math"
	"strconv"

	"midstroke/internal/fault"
	"midstroke/internal/unit"
)

// Validate gives every fault of what is asked about one end alone, with
// pointers from the whole request: "/end/bore", "/bracket/plate",
// "/bolt/grade", "/load_n". Bolts and lengths that can't be read at all are
// told by ParseBolt and unit.Parse.
func Validate(end End, bracket Bracket, opts Options) fault.List {
	var faults fault.List
	faults.AddUnder("/end", end.Faults())
	faults.AddUnder("/end", end.missing())
	bracketFaults := bracket.Faults()
	for i := range bracketFaults {
		if bracketFaults[i].Pointer == "/grade" {
			bracketFaults[i].Pointer = "/bolt/grade"
		} else {
			bracketFaults[i].Pointer = "/bracket" + bracketFaults[i].Pointer
		}
	}
	faults = append(faults, bracketFaults...)
	if end.Style == BarPin && bracket.HoleSpacing == 0 {
		faults.Add("/bracket/hole_spacing", "missing", "give the spacing of the bracket's two holes, for a bar pin is judged by it")
	}
	faults = append(faults, opts.faults()...)
	return faults
}

// missing are the measures without which nothing can be said of an end that is
// asked about alone. A catalogue may leave them open.
func (e *End) missing() fault.List {
	var faults fault.List
	switch {
	case e.Style == Eye && e.Bore == 0:
		faults.Add("/bore", "missing", "give the bore of the eye's bushing")
	case e.Style == Stud && e.Thread == Thread{}:
		faults.Add("/thread", "missing", "give the stud's thread, as in M10x1.25 or 3/8-24 in")
	case e.Style == BarPin && e.HoleSpacing == 0:
		faults.Add("/hole_spacing", "missing", "give the spacing of the bar pin's two holes")
	}
	return faults
}

// Faults gives every fault of an end with pointers from the end. A measure that
// isn't known is none.
func (e End) Faults() fault.List {
	var faults fault.List
	switch e.Style {
	case NoStyle:
		faults.Add("/style", "missing", "say what the end is: eye, stud or bar_pin")
	case Fork, SpindleStrut:
		faults.Add("/style", "outside_method", "a %s is outside this method; its hardware comes with the vehicle", e.Style)
	case Eye, Stud, BarPin:
	}
	of := func(name string, l unit.Length, style Style) {
		switch {
		case l != 0 && e.Style != style && e.Style.Planes() != nil:
			faults.Add("/"+name, "not_of_this_style", "this belongs to an end of style %s and not to %s", style, e.Style)
		default:
			checkLength(&faults, "/"+name, l)
		}
	}
	of("bore", e.Bore, Eye)
	of("width", e.Width, Eye)
	of("thread", e.Thread.Diameter, Stud)
	of("usable_length", e.UsableLength, Stud)
	of("spigot", e.Spigot, Stud)
	of("hole_spacing", e.HoleSpacing, BarPin)
	of("slot", e.Slot, BarPin)
	of("hole", e.Hole, BarPin)
	if e.Slot > 0 && e.HoleSpacing > 0 && e.Slot/2 >= e.HoleSpacing {
		faults.Add("/slot", "slot_too_long", "the slot lets the spacing of %s differ by more than itself; check both figures", e.HoleSpacing.Text(unit.Millimetres))
	}
	return faults
}

// checkLength refuses a length that can't be; 0 is one that wasn't given.
func checkLength(faults *fault.List, pointer string, l unit.Length) {
	switch {
	case l < 0:
		faults.Add(pointer, "not_positive", "this must be greater than zero")
	case l > unit.MaxLength:
		faults.Add(pointer, "too_large", "no more than 10 m (393.7 in) can be meant here")
	}
}

// Faults gives every fault of a bracket with pointers from the bracket. What
// wasn't given is none.
func (b Bracket) Faults() fault.List {
	var faults fault.List
	for _, f := range [...]struct {
		name   string
		length unit.Length
	}{
		{"bolt", b.Bolt.Diameter}, {"opening", b.Opening}, {"plate", b.Plate}, {"washer", b.Washer},
		{"hole_spacing", b.HoleSpacing}, {"frame_hole", b.FrameHole}, {"frame_thickness", b.FrameThickness},
		{"bushing_thickness", b.Bushing},
	} {
		checkLength(&faults, "/"+f.name, f.length)
	}
	if b.Grade != "" {
		b.checkGrade(&faults)
	}
	return faults
}

// checkGrade refuses a grade that isn't known, or that is for the other kind of
// thread.
func (b *Bracket) checkGrade(faults *fault.List) {
	g, ok := ParseGrade(b.Grade)
	switch {
	case !ok:
		faults.Add("/grade", "unknown_grade", "the grades known here are 8.8, 10.9 and 12.9 for metric bolts and SAE 2, SAE 5 and SAE 8 for inch bolts")
	case !b.Bolt.Threaded():
	case b.Bolt.Thread.Inch() && !g.Inch():
		faults.Add("/grade", "grade_of_other_thread", "%s is a class of metric bolts and %s is an inch bolt; its grades are SAE 2, SAE 5 and SAE 8", g, b.Bolt.Thread)
	case !b.Bolt.Thread.Inch() && g.Inch():
		faults.Add("/grade", "grade_of_other_thread", "%s is a grade of inch bolts and %s is a metric bolt; its classes are 8.8, 10.9 and 12.9", g, b.Bolt.Thread)
	}
}

// faults are those of the load and of what the bolt is tightened by.
func (o *Options) faults() fault.List {
	var faults fault.List
	between := func(pointer string, f, most float64, detail string) {
		// Written so that NaN is refused too.
		if f != 0 && !(f > 0 && f <= most) {
			faults.Add(pointer, "out_of_range", detail)
		}
	}
	between("/load_n", o.Load, MostLoad, "the load must be greater than zero and at most "+strconv.Itoa(MostLoad)+" N")
	between("/bolt/torque_factor", o.TorqueFactor, 1, "the torque factor must be greater than zero and at most 1; 0.20 is usual for a zinc-plated bolt")
	between("/bolt/preload_fraction", o.PreloadFraction, 1, "the preload must be greater than zero and at most 1 of the proof load; 0.75 is usual")
	return faults
}

// MostLoad is the greatest load in newtons that is taken: ten tonnes-force at
// one damper's end is a slip of the unit.
const MostLoad = 100_000

// Faults gives every fault of a sleeve with pointers from the sleeve.
func (s Sleeve) Faults() fault.List {
	var faults fault.List
	checkCode(&faults, s.Code)
	needLength(&faults, "/outer", s.Outer)
	needLength(&faults, "/bore", s.Bore)
	needLength(&faults, "/length", s.Length)
	if s.Bore > 0 && s.Outer > 0 && s.Outer <= s.Bore {
		faults.Add("/outer", "no_wall", "a sleeve's outer diameter must be larger than its bore")
	}
	return faults
}

// Faults gives every fault of a spacer with pointers from the spacer.
func (s Spacer) Faults() fault.List {
	var faults fault.List
	checkCode(&faults, s.Code)
	needLength(&faults, "/bore", s.Bore)
	needLength(&faults, "/thickness", s.Thickness)
	return faults
}

// Faults gives every fault of an adapter with pointers from the adapter, its
// ends under "/from" and "/to".
func (a Adapter) Faults() fault.List {
	var faults fault.List
	checkCode(&faults, a.Code)
	faults.AddUnder("/from", a.From.Faults())
	faults.AddUnder("/to", a.To.Faults())
	if math.Abs(float64(a.AddsLength)) > float64(unit.MaxLength) {
		faults.Add("/adds_length", "too_large", "no more than 10 m (393.7 in) can be meant here")
	}
	return faults
}

func checkCode(faults *fault.List, code string) {
	if code == "" {
		faults.Add("/code", "missing", "give the part's code")
	}
}

// needLength refuses a length that isn't given or can't be.
func needLength(faults *fault.List, pointer string, l unit.Length) {
	if l <= 0 {
		faults.Add(pointer, "not_positive", "this must be given and be greater than zero")
		return
	}
	checkLength(faults, pointer, l)
}
