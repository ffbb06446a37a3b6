package wire

import (
	"net/url"
	"slices"
	"strings"

	"midstroke/internal/catalog"
	"midstroke/internal/fault"
	"midstroke/internal/fit"
	"midstroke/internal/measure"
	"midstroke/internal/mount"
	"midstroke/internal/shop"
	"midstroke/internal/unit"
)

// FitsRequest is what POST /v1/fits, or its flat form, asks.
type FitsRequest struct {
	Units unit.System
	// Reference is the caller's own words, given back to him.
	Reference string
	// Catalog is "" and Revision 0 where none was named.
	Catalog  string
	Revision int

	Fit fit.Request

	flat *flatForm
}

// Place puts faults that the core found in the request in its sender's terms:
// pointers stay, but for a request in flat names, which gets its own.
func (r *FitsRequest) Place(core fault.List) Faults {
	faults := inBody(core, r.Units)
	if r.flat != nil {
		for i := range faults {
			at := &faults[i]
			at.Value, at.Item = r.flat.value(at.Pointer)
			at.Parameter, at.Pointer = r.flat.place(at.Pointer), ""
		}
	}
	return faults
}

// Flat says that the request came in flat names, so that its faults have a
// parameter's or column's name and no pointer.
func (r *FitsRequest) Flat() bool { return r.flat != nil }

// The bounds of a request. None but those of top have a source; they keep a
// slip of the pen, or of a program, from being taken at its word.
const (
	mostReference = 200 // characters
	mostCodes     = 100
	mostDampers   = 100
	mostAdjusters = 16
)

// ReadFits reads the body of POST /v1/fits. What could be read is returned
// with an error, too.
func ReadFits(body []byte) (FitsRequest, error) {
	f, err := newForm(body)
	if err != nil {
		return FitsRequest{}, err
	}
	return readFits(f, nil, nil)
}

// ReadFitsQuery reads the flat form of a query: values holds the parameters
// but for those that say how the answer is to be shown, which [ReadShow] takes
// out. A parameter without a value counts as not given.
func ReadFitsQuery(values url.Values) (FitsRequest, error) {
	t, flat, faults := flatten(values)
	return readFits(formOf(t), flat, faults)
}

// ReadFitsCells reads the flat form of one row of a file: cell gives the
// text under a column's heading, and a list's items are parted by "|". An
// empty cell counts as not given.
func ReadFitsCells(cells map[string]string) (FitsRequest, error) {
	values := make(url.Values, len(cells))
	for _, n := range flatNames {
		cell, ok := cells[n.Name]
		switch {
		case !ok:
		case n.List:
			values[n.Name] = strings.Split(cell, "|")
		default:
			values[n.Name] = []string{cell}
		}
	}
	for name, cell := range cells {
		if _, known := values[name]; !known {
			values[name] = []string{cell}
		}
	}
	return ReadFitsQuery(values)
}

func readFits(f *form, flat *flatForm, faults Faults) (FitsRequest, error) {
	r := FitsRequest{flat: flat, Fit: fit.Request{
		LeanDeg: -1, Top: fit.DefaultTop, Dampers: fit.DefaultDampers,
	}}
	r.read(f)
	var core fault.List
	core.AddUnder("/upper", gradeFaults(&r.Fit.Upper))
	core.AddUnder("/lower", gradeFaults(&r.Fit.Lower))
	if len(f.faults)+len(core) > 0 {
		// Its other faults are found when the core is asked for an answer,
		// which now won't be; all of them are told at once.
		core = append(core, fit.Check(f.judged(r.Fit))...)
	}
	told, more := f.all(f.settled(core))
	return r, slices.Concat(faults, r.Place(told), unlisted(more)).Err()
}

// judged gives what of a request the core can judge. Where the basis of the
// travel couldn't be read, one that asks for nothing else stands in for it.
func (f *form) judged(q fit.Request) *fit.Request {
	for i := range f.faults {
		if p := f.faults[i].Pointer; p == "/travel" || p == "/travel/basis" {
			q.Travel = fit.Travel{Basis: fit.Stated}
			q.BumpStop, q.Strap = nil, nil
		}
	}
	return &q
}

// gradeFaults gives what is wrong with a bracket's grade; its lengths have
// been bounded in reading.
func gradeFaults(b *mount.Bracket) fault.List {
	if b.Grade == "" {
		return nil
	}
	return b.Faults()
}

func (r *FitsRequest) read(f *form) {
	o := f.top()
	readUnits(o)
	r.Units = f.units
	r.Reference, _ = o.get("reference").text(0, mostReference)
	r.Catalog, r.Revision = readCatalog(o)

	q := &r.Fit
	q.Readings.Upper, q.Upper = readVehicleEnd(o.need("upper").object())
	q.Readings.Lower, q.Lower = readVehicleEnd(o.need("lower").object())
	readReadings(o, &q.Readings)
	readCondition(o.get("condition").object(), &q.Readings)
	readMotionRatio(o, &q.Readings)
	q.Readings.PlannedChange, _ = o.get("planned_change").length(signed)
	old := o.get("old_damper").object()
	q.Readings.OldDamper.AtStop, _ = old.get("at_stop").flag()
	q.Readings.OldDamper.CarriesLoad, _ = old.get("carries_load").flag()
	old.close()
	if lean, ok := o.get("lean_deg").number(span{least: 0, most: 90}); ok {
		q.LeanDeg = lean
	}
	if i, ok := o.get("suspension").choice(suspensions); ok {
		q.Suspension = fit.Suspension(i + 1)
	}
	readTravel(o.get("travel").object(), q)
	q.Readings.HasLinkage = q.Travel.Basis == fit.ByLinkage
	readStops(o, q)
	readLimits(o.get("limits").object(), &q.Limits)
	prefer := o.get("prefer").object()
	q.Prefer = prefer.get("ride_position").ratio()
	prefer.close()
	for _, v := range o.get("codes").items(0, mostCodes) {
		if code, ok := v.text(1, mount.MostCode); ok {
			q.Codes = append(q.Codes, code)
		}
	}
	if n, ok := o.get("top").whole(1, fit.MostListed); ok {
		q.Top = n
	}
	if n, ok := o.get("dampers").whole(1, mostDampers); ok {
		q.Dampers = n
	}
	q.Explain, _ = o.get("explain").flag()
	o.close()
}

// unitNames and the names below are what a choice is made of, in the order of
// the constants they stand for.
var (
	unitNames     = []string{"in", "mm"}
	suspensions   = []string{fit.SolidAxle.String(), fit.Independent.String()}
	tapes         = []string{"along_damper", "vertical"}
	states        = []string{"loaded", "not_at_ride"}
	sides         = []string{"left", "right"}
	shears        = []string{mount.SingleShear.String(), mount.DoubleShear.String()}
	constructions = []string{catalog.TwinTube.String(), catalog.Monotube.String()}
	mountings     = []string{"any", "as_listed", "inverted"}
	adapterRules  = []string{"any", "none"}
)

// readUnits reads the units, which every request must name.
func readUnits(o object) {
	if i, ok := o.need("units").choice(unitNames); ok {
		o.f.units, _ = unit.ParseSystem(unitNames[i])
	}
}

// NotAName is told of what can't be a catalogue's name.
const NotAName = "must be a name of 1 to 64 characters, all of which can be printed, without blanks around it"

// readCatalog reads which catalogue and which revision of it is asked.
func readCatalog(o object) (name string, revision int) {
	if v := o.get("catalog"); v.given() {
		var ok bool
		if name, ok = v.text(1, shop.MostName); ok && !shop.IsName(name) {
			v.fail(notAName, NotAName)
			name = ""
		}
	}
	revision, _ = o.get("revision").whole(1, maxInt)
	return name, revision
}

// maxInt is the largest whole number that every JSON reader keeps exact (RFC
// 8259 section 6) within 32 bits, which is what a revision's number takes.
const maxInt = 1<<31 - 1

func readReadings(o object, m *measure.Readings) {
	for _, v := range o.need("readings").items(1, measure.MaxReadings) {
		var reading measure.Reading
		var ok bool
		if v.is(record) {
			one := v.object()
			reading.Length, ok = one.need("length").length(positive)
			if i, given := one.get("side").choice(sides); given {
				reading.Side = measure.Side(i + 1)
			}
			one.close()
		} else {
			reading.Length, ok = v.length(positive)
		}
		if ok {
			m.Readings = append(m.Readings, reading)
		}
	}
	m.Tolerance, _ = o.get("reading_tolerance").length(positive)
	if i, ok := o.get("tape").choice(tapes); ok {
		m.Tape.Vertical = tapes[i] == "vertical"
	}
	if l, ok := o.get("sideways_offset").length(noughtToo); ok {
		m.Tape.SidewaysOffset = &l
	}
}

func readCondition(o object, m *measure.Readings) {
	c := &m.Condition
	state, ok := o.need("state").choice(states)
	c.NotAtRide = ok && states[state] == "not_at_ride"
	if ok && !c.NotAtRide {
		o.refuse(notWithState, "is for this state alone: ", states[1], "arch_gap", "arch_gap_at_ride", "gap_tolerance")
	}
	c.ArchGap, _ = o.get("arch_gap").length(positive)
	c.ArchGapAtRide, _ = o.get("arch_gap_at_ride").length(positive)
	c.GapTolerance, _ = o.get("gap_tolerance").length(positive)
	o.close()
}

// ratios bounds a motion ratio.
var ratios = span{least: 0, most: measure.MaxMotionRatio, above: true}

func readMotionRatio(o object, m *measure.Readings) {
	m.MotionRatio, _ = o.get("motion_ratio").number(ratios)
	m.MotionRatioTolerance, _ = o.get("motion_ratio_tolerance").number(span{least: 0, most: measure.MaxMotionRatio})
}

func readLimits(o object, l *fit.Limits) {
	l.MaxBodyDiameter, _ = o.get("max_body_diameter").length(positive)
	l.MaxCompressed, _ = o.get("max_compressed").length(positive)
	if i, ok := o.get("construction").choice(constructions); ok {
		l.Construction, _ = catalog.ParseConstruction(constructions[i])
	}
	names := catalog.AdjusterNames()
	for _, v := range o.get("adjusters").items(0, mostAdjusters) {
		if i, ok := v.choice(names); ok {
			adjuster, _ := catalog.ParseAdjuster(names[i])
			l.Adjusters |= adjuster
		}
	}
	l.InStock, _ = o.get("in_stock").flag()
	l.MaxPrice, l.HasMaxPrice = o.get("max_price").price()
	if i, ok := o.get("mounting").choice(mountings); ok {
		l.Mounting = fit.Mounting(i)
	}
	if i, ok := o.get("adapters").choice(adapterRules); ok {
		l.NoAdapters = adapterRules[i] == "none"
	}
	o.close()
}
