package mount

import (
	"strings"
	"unicode"
	"unicode/utf8"

	"midstroke/internal/fault"
	"midstroke/internal/note"
	"midstroke/internal/unit"
)

// The codes of the faults of ends, brackets and parts.
const (
	styleMissing    fault.Code = "missing.style"
	measureMissing  fault.Code = "missing.measure"
	spacingMissing  fault.Code = "missing.bracket_hole_spacing"
	codeMissing     fault.Code = "missing.code"
	notPositive     fault.Code = "not_positive.measure"
	tooLarge        fault.Code = "too_large.measure"
	outsideMethod   fault.Code = "style_outside_method"
	ofOtherStyle    fault.Code = "not_of_this_style"
	boreMissing     fault.Code = "bore_missing"
	holeTooSmall    fault.Code = "hole_too_small"
	spigotTooSmall  fault.Code = "spigot_too_small"
	holesOverlap    fault.Code = "holes_overlap"
	slotTooLong     fault.Code = "slot_too_long"
	noWall          fault.Code = "no_wall"
	codeTooLong     fault.Code = "code_too_long"
	codeBar         fault.Code = "code_bar"
	descriptionLong fault.Code = "description_too_long"
	blanksAround    fault.Code = "blanks_around"
	unprintable     fault.Code = "unprintable"
	priceNegative   fault.Code = "price.negative"
	unknownGrade    fault.Code = "unknown_grade"
	classOnInchBolt fault.Code = "grade_of_other_thread.metric_class"
	gradeOnMetric   fault.Code = "grade_of_other_thread.inch_grade"
	loadRange       fault.Code = "out_of_range.load"
	torqueRange     fault.Code = "out_of_range.torque_factor"
	preloadRange    fault.Code = "out_of_range.preload_fraction"
)

// PriceTooLarge is the code of a price above MostPrice.
const PriceTooLarge fault.Code = "price_too_large"

// Limits of what a part may be listed with.
const (
	MostCode        = 64   // characters
	MostDescription = 1000 // characters
	// MostPrice is ten million of any currency. It catches slips such as a bar
	// code in the price's column.
	MostPrice Price = 1_000_000_000
)

// MostLoad is the greatest load in newtons that is accepted. Ten tonnes-force at
// one damper's end is a mistake in the unit.
const MostLoad = 100_000

// thinnestBolt is the smallest size of the thread tables; nothing bolts through
// a smaller hole.
const thinnestBolt = 6 * unit.Millimetre

// Validate gives every fault of a question about one end alone, with pointers
// from the whole request: "/end/bore", "/bracket/plate", "/bolt/grade",
// "/load_n".
func Validate(end End, bracket Bracket, opts Options) fault.List {
	var faults fault.List
	faults.AddUnder("/end", end.Faults())
	faults.AddUnder("/end", end.missing())
	for _, f := range bracket.Faults() {
		if f.Pointer == "/grade" {
			f.Pointer = "/bolt/grade"
		} else {
			f.Pointer = "/bracket" + f.Pointer
		}
		faults = append(faults, f)
	}
	if m := end.Style.method(); m != nil && m.needs != nil {
		m.needs(&bracket, &faults)
	}
	return append(faults, opts.faults()...)
}

// missing reports the measures without which an end can't be judged alone. A
// catalogue may leave them out.
func (e *End) missing() fault.List {
	var faults fault.List
	for i := range measures {
		if m := &measures[i]; m.Needed && m.Style == e.Style && !m.Given(e) {
			faults.Add("/"+m.Name, measureMissing, note.Word("measure", m.Name), note.Word("style", e.Style.String()))
		}
	}
	return faults
}

// Faults gives every fault of an end, with pointers from the end. A measure that
// isn't known is no fault.
func (e *End) Faults() fault.List {
	var faults fault.List
	switch {
	case e.Style == NoStyle:
		faults.Add("/style", styleMissing, note.Word("styles", strings.Join(BoltedStyleNames(), ", ")))
	case !e.Style.Bolted():
		faults.Add("/style", outsideMethod, note.Word("style", e.Style.String()))
	}
	for i := range measures {
		m := &measures[i]
		switch {
		case !m.Given(e):
		case m.Style != e.Style && e.Style.Bolted():
			faults.Add("/"+m.Name, ofOtherStyle, note.Word("of", m.Style.String()), note.Word("style", e.Style.String()))
		case m.Length != nil:
			CheckLength(&faults, m.Name, *m.Length(e))
			if m.Hole {
				checkHole(&faults, m.Name, *m.Length(e))
			}
		}
	}
	if m := e.Style.method(); m != nil {
		m.check(e, &faults)
	}
	return faults
}

// CheckLength reports a length of that field that can't be; 0 was not given.
func CheckLength(faults *fault.List, field string, l unit.Length) {
	switch {
	case l < 0:
		faults.Add("/"+field, notPositive)
	case l > unit.MaxLength:
		faults.Add("/"+field, tooLarge)
	}
}

// checkHole reports a hole that no bolt goes through.
func checkHole(faults *fault.List, field string, hole unit.Length) {
	if hole > 0 && hole < thinnestBolt {
		faults.Add("/"+field, holeTooSmall)
	}
}

// Faults gives every fault of a bracket, with pointers from the bracket. What
// wasn't given is no fault.
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
		CheckLength(&faults, f.name, f.length)
	}
	if b.Grade != "" {
		b.checkGrade(&faults)
	}
	return faults
}

// checkGrade refuses a grade that isn't known, or that is for the other kind of
// thread.
func (b *Bracket) checkGrade(faults *fault.List) {
	g, ok := parseGrade(b.Grade)
	switch {
	case !ok:
		faults.Add("/grade", unknownGrade, note.Word("grades", strings.Join(Grades.All(), ", ")))
	case !b.Bolt.Threaded():
	case b.Bolt.Thread.Inch() && !g.Inch():
		faults.Add("/grade", classOnInchBolt, note.Word("grade", g.String()), note.Word("bolt", b.Bolt.Thread.String()))
	case !b.Bolt.Thread.Inch() && g.Inch():
		faults.Add("/grade", gradeOnMetric, note.Word("grade", g.String()), note.Word("bolt", b.Bolt.Thread.String()))
	}
}

// faults are those of the load and of the bolt's tightening.
func (o *Options) faults() fault.List {
	var faults fault.List
	between := func(pointer string, f, most float64, code fault.Code) {
		// Written so that NaN is refused too.
		if f != 0 && !(f > 0 && f <= most) {
			faults.Add(pointer, code, note.Num("most", most, ""))
		}
	}
	between("/load_n", o.Load, MostLoad, loadRange)
	between("/bolt/torque_factor", o.TorqueFactor, 1, torqueRange)
	between("/bolt/preload_fraction", o.PreloadFraction, 1, preloadRange)
	return faults
}

// Faults gives every fault of a sleeve, with pointers from the sleeve.
func (s *Sleeve) Faults() fault.List {
	faults := ListingFaults(s.Code, s.Description, s.Price)
	NeedLength(&faults, "outer", s.Outer)
	NeedLength(&faults, "bore", s.Bore)
	NeedLength(&faults, "length", s.Length)
	if s.Outer > 0 && s.Bore >= s.Outer {
		faults.Add("/outer", noWall)
	}
	checkHole(&faults, "bore", s.Bore)
	return faults
}

// Faults gives every fault of a spacer, with pointers from the spacer.
func (s *Spacer) Faults() fault.List {
	faults := ListingFaults(s.Code, s.Description, s.Price)
	NeedLength(&faults, "bore", s.Bore)
	NeedLength(&faults, "thickness", s.Thickness)
	checkHole(&faults, "bore", s.Bore)
	return faults
}

// Faults gives every fault of an adapter, with pointers from the adapter: its
// ends stand under "/from" and "/to".
func (a *Adapter) Faults() fault.List {
	faults := ListingFaults(a.Code, a.Description, a.Price)
	faults.AddUnder("/from", a.From.Faults())
	faults.AddUnder("/to", a.To.Faults())
	if a.AddsLength.Abs() > unit.MaxLength {
		faults.Add("/adds_length", tooLarge)
	}
	return faults
}

// ListingFaults gives the faults of what every part is listed with, with
// pointers from the part.
func ListingFaults(code, description string, price Price) fault.List {
	var faults fault.List
	switch {
	case code == "":
		faults.Add("/code", codeMissing)
	case utf8.RuneCountInString(code) > MostCode:
		faults.Add("/code", codeTooLong, note.Num("most", MostCode, ""))
	case strings.Contains(code, "|"):
		// It separates the codes of a list.
		faults.Add("/code", codeBar)
	default:
		checkText(&faults, "/code", code, false)
	}
	if utf8.RuneCountInString(description) > MostDescription {
		faults.Add("/description", descriptionLong, note.Num("most", MostDescription, ""))
	} else {
		checkText(&faults, "/description", description, true)
	}
	switch {
	case price < 0 && price != NoPrice:
		faults.Add("/price", priceNegative)
	case price > MostPrice:
		faults.Add("/price", PriceTooLarge)
	}
	return faults
}

// checkText refuses blanks around a text and characters that can't be printed.
// lines says that it may have several lines.
func checkText(faults *fault.List, pointer, text string, lines bool) {
	if isPrintableASCII(text) {
		return
	}
	if text != strings.TrimSpace(text) {
		faults.Add(pointer, blanksAround)
		return
	}
	for i, r := range text {
		invalid := r == utf8.RuneError && !strings.HasPrefix(text[i:], string(utf8.RuneError))
		inNoXML := r == '\ufffe' || r == '\uffff' // so that no workbook could hold it
		if invalid || inNoXML || unicode.IsControl(r) && (r != '\n' || !lines) {
			faults.Add(pointer, unprintable)
			return
		}
	}
}

// isPrintableASCII is true of most texts, and spares them the closer look.
func isPrintableASCII(text string) bool {
	if text == "" {
		return true
	}
	for i := range len(text) {
		if text[i] < ' ' || text[i] > '~' {
			return false
		}
	}
	return text[0] != ' ' && text[len(text)-1] != ' '
}

// NeedLength reports a length of that field that must be given and isn't, or
// can't be.
func NeedLength(faults *fault.List, field string, l unit.Length) {
	if l == 0 {
		faults.Add("/"+field, notPositive)
		return
	}
	CheckLength(faults, field, l)
}
