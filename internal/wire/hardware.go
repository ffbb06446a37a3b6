package wire

import (
	"strconv"

	"midstroke/internal/fault"
	"midstroke/internal/mount"
	"midstroke/internal/unit"
)

// HardwareRequest is what POST /v1/hardware asks: how one end bolts up.
type HardwareRequest struct {
	Units unit.System
	// Catalog is "" and Revision 0 where none was named.
	Catalog  string
	Revision int

	// End is the damper's.
	End mount.End
	// Style is that of the place on the vehicle, End's own unless the request
	// names another: then an adapter goes in between.
	Style   mount.Style
	Bracket mount.Bracket
	Options mount.Options
	// Parts, where given, stand in for the catalogue's.
	Parts *Parts
}

// Parts are what a caller has on the bench.
type Parts struct {
	Sleeves  []mount.Sleeve
	Spacers  []mount.Spacer
	Adapters []mount.Adapter
}

// Place puts faults that the core found in the request in its sender's terms.
func (r *HardwareRequest) Place(core fault.List) Faults { return inBody(core, r.Units) }

// The bounds of a hardware request, which keep a bench from being a warehouse.
// Our choice.
const (
	mostSleeves  = 500
	mostSpacers  = 200
	mostAdapters = 100
)

// ReadHardware reads the body of POST /v1/hardware. What could be read is
// returned with an error, too.
func ReadHardware(body []byte) (HardwareRequest, error) {
	f, err := newForm(body)
	if err != nil {
		return HardwareRequest{}, err
	}
	var r HardwareRequest
	r.read(f)
	told, more := f.all(f.settled(r.check()))
	return r, append(inBody(told, r.Units), unlisted(more)...).Err()
}

// check gives what the core finds wrong with what was read.
func (r *HardwareRequest) check() fault.List {
	faults := mount.Validate(r.End, r.Bracket, r.Options)
	if r.Parts == nil {
		return faults
	}
	for i := range r.Parts.Sleeves {
		faults.AddUnder("/parts/sleeves/"+strconv.Itoa(i), r.Parts.Sleeves[i].Faults())
	}
	for i := range r.Parts.Spacers {
		faults.AddUnder("/parts/spacers/"+strconv.Itoa(i), r.Parts.Spacers[i].Faults())
	}
	for i := range r.Parts.Adapters {
		faults.AddUnder("/parts/adapters/"+strconv.Itoa(i), r.Parts.Adapters[i].Faults())
	}
	return faults
}

func (r *HardwareRequest) read(f *form) {
	o := f.top()
	readUnits(o)
	r.Units = f.units
	r.Catalog, r.Revision = readCatalog(o)
	r.End = readEnd(o.need("end").object())
	r.Style = r.End.Style
	b := o.need("bracket").object()
	if i, ok := b.get("style").choice(mount.BoltedStyleNames()); ok {
		r.Style = mount.BoltedStyles()[i]
	}
	r.Bracket = readBracket(b)
	r.Bracket.Bushing, _ = b.get("bushing_thickness").length(positive)
	b.close()
	bolt := o.get("bolt").object()
	r.Bracket.Grade = bolt.get("grade").grade()
	r.Options.Detail = true
	r.Options.TorqueFactor, _ = bolt.get("torque_factor").number(torqueFactors)
	r.Options.PreloadFraction, _ = bolt.get("preload_fraction").number(preloads)
	if yes, ok := bolt.get("threads_in_shear_plane").flag(); ok {
		r.Options.ThreadsInShearPlane = mount.No
		if yes {
			r.Options.ThreadsInShearPlane = mount.Yes
		}
	}
	bolt.close()
	r.Options.Load, _ = o.get("load_n").number(span{least: 0, most: mount.MostLoad, above: true})
	if v := o.get("parts"); v.given() {
		r.Parts = readParts(v.object())
	}
	o.close()
}

var (
	// K of T = K d F lies between 0.1 and 0.4 for any finish that is listed.
	torqueFactors = span{least: 0, most: 1, above: true}
	preloads      = span{least: 0, most: 1, above: true}
)

// grade reads a property class or a grade, "" where it is absent or at fault.
func (v value) grade() string {
	if i, ok := v.choice(mount.Grades()); ok {
		return mount.Grades()[i]
	}
	return ""
}

// readEnd reads an end of a damper or of an adapter.
func readEnd(o object) mount.End {
	var e mount.End
	styles := mount.BoltedStyles()
	if i, ok := o.need("style").choice(mount.BoltedStyleNames()); ok {
		e.Style = styles[i]
	}
	for i := range mount.Measures() {
		m := &mount.Measures()[i]
		if e.Style != mount.NoStyle && m.Style != e.Style {
			o.refuse(notWithStyle, "is not for the style ", e.Style.String(), m.Name)
		}
		get := o.get
		if m.Needed && m.Style == e.Style {
			get = o.need
		}
		v := get(m.Name)
		switch {
		case m.Thread != nil:
			*m.Thread(&e), _ = v.thread()
		case m.BoreIs != nil:
			*m.BoreIs(&e) = v.boreIs()
		case m.ZeroIsNone:
			*m.Length(&e), _ = v.length(noughtToo)
		default:
			*m.Length(&e), _ = v.length(positive)
		}
	}
	o.close()
	return e
}

func (v value) boreIs() mount.BoreIs {
	i, ok := v.choice(mount.BoreIsNames())
	if !ok {
		return mount.Actual
	}
	is, _ := mount.ParseBoreIs(mount.BoreIsNames()[i])
	return is
}

// thread reads a thread by its bolt's name.
func (v value) thread() (mount.Thread, bool) {
	b, ok := v.bolt()
	if ok && !b.Threaded() && v.f.units == unit.Unset {
		if _, err := mount.ParseBolt(v.raw(), unit.Unset); v.f.unitless(err) {
			return mount.Thread{Diameter: b.Diameter}, true // it may be one
		}
	}
	if ok && !b.Threaded() {
		v.fail(notAllowed, `must be a thread such as "M12x1.25" or "1/2-20", not a plain diameter`)
		return mount.Thread{}, false
	}
	return b.Thread, ok
}

// readParts reads what is on the bench. All of it counts as in stock and
// without a price.
func readParts(o object) *Parts {
	p := &Parts{}
	for _, v := range o.get("sleeves").items(0, mostSleeves) {
		s := v.object()
		part := mount.Sleeve{InStock: true, Price: mount.NoPrice}
		part.Code, _ = s.need("code").text(1, mount.MostCode)
		part.Outer, _ = s.need("outer").length(positive)
		part.Bore, _ = s.need("bore").length(positive)
		part.BoreIs = s.get("bore_is").boreIs()
		part.Length, _ = s.need("length").length(positive)
		s.close()
		p.Sleeves = append(p.Sleeves, part)
	}
	for _, v := range o.get("spacers").items(0, mostSpacers) {
		s := v.object()
		part := mount.Spacer{InStock: true, Price: mount.NoPrice}
		part.Code, _ = s.need("code").text(1, mount.MostCode)
		part.Bore, _ = s.need("bore").length(positive)
		part.Thickness, _ = s.need("thickness").length(positive)
		s.close()
		p.Spacers = append(p.Spacers, part)
	}
	for _, v := range o.get("adapters").items(0, mostAdapters) {
		s := v.object()
		part := mount.Adapter{InStock: true, Price: mount.NoPrice}
		part.Code, _ = s.need("code").text(1, mount.MostCode)
		part.From = readEnd(s.need("from").object())
		part.To = readEnd(s.need("to").object())
		part.AddsLength, _ = s.need("adds_length").length(signed)
		s.close()
		p.Adapters = append(p.Adapters, part)
	}
	o.close()
	refuseTwins(o, "sleeves", p.Sleeves, func(s mount.Sleeve) string { return s.Code })
	refuseTwins(o, "spacers", p.Spacers, func(s mount.Spacer) string { return s.Code })
	refuseTwins(o, "adapters", p.Adapters, func(a mount.Adapter) string { return a.Code })
	return p
}

// refuseTwins notes parts of one list that have the same code.
func refuseTwins[P any](o object, name string, parts []P, code func(P) string) {
	seen := make(map[string]bool, len(parts))
	for i, v := range o.get(name).items(0, len(parts)) {
		c := code(parts[i])
		if c != "" && seen[c] {
			v.fail(sameCode, "the code "+quoted(c)+" stands before in this list")
		}
		seen[c] = true
	}
}
