package wire

import (
	"strconv"

	"midstroke/internal/fault"
	"midstroke/internal/form"
	"midstroke/internal/mount"
	"midstroke/internal/note"
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

// Parts are a caller's own parts.
type Parts struct {
	Sleeves  []mount.Sleeve
	Spacers  []mount.Spacer
	Adapters []mount.Adapter
}

// How many parts of its own a hardware request may have. Our choice.
const (
	mostSleeves  = 500
	mostSpacers  = 200
	mostAdapters = 100
)

// ReadHardware reads the body of POST /v1/hardware. What could be read is
// returned with an error, too.
func ReadHardware(body []byte) (HardwareRequest, error) {
	f, err := form.OfBody(body, form.MostValues)
	if err != nil {
		return HardwareRequest{}, unread(err)
	}
	r := HardwareRequest{Options: mount.Options{Detail: true}}
	faults := form.Read(f, hardwareTable, &r, judgeHardware)
	return r, refused(faults, r.Units)
}

// judgeHardware gives what the core finds wrong with what was read.
func judgeHardware(_ fault.List, r *HardwareRequest) fault.List {
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

// hardwareTable is the fields of POST /v1/hardware, in the contract's order.
var hardwareTable = form.NewRecord(
	form.Field("units", form.Units, func(r *HardwareRequest) *unit.System { return &r.Units }).Needed(),
	form.Field("catalog", catalogName, func(r *HardwareRequest) *string { return &r.Catalog }),
	form.Field("revision", revision, func(r *HardwareRequest) *int { return &r.Revision }),
	form.Part("end", endTable, func(r *HardwareRequest) *mount.End { return &r.End }).Needed(),
	form.Part("bracket", form.NewRecord(
		form.Field("style", boltedStyle, func(r *HardwareRequest) *mount.Style { return &r.Style }),
		form.Field("bolt", bolt, func(r *HardwareRequest) *mount.Bolt { return &r.Bracket.Bolt }),
		form.Field("opening", form.Length, func(r *HardwareRequest) *unit.Length { return &r.Bracket.Opening }),
		form.Field("plate", form.Length, func(r *HardwareRequest) *unit.Length { return &r.Bracket.Plate }),
		form.Field("washer", form.Length, func(r *HardwareRequest) *unit.Length { return &r.Bracket.Washer }),
		form.Field("shear", shear, func(r *HardwareRequest) *mount.Shear { return &r.Bracket.Shear }),
		form.Field("hole_spacing", form.Length, func(r *HardwareRequest) *unit.Length { return &r.Bracket.HoleSpacing }),
		form.Field("frame_hole", form.Length, func(r *HardwareRequest) *unit.Length { return &r.Bracket.FrameHole }),
		form.Field("frame_thickness", form.Length, func(r *HardwareRequest) *unit.Length { return &r.Bracket.FrameThickness }),
		form.Field("bushing_thickness", form.Length, func(r *HardwareRequest) *unit.Length { return &r.Bracket.Bushing }),
	), itself[HardwareRequest]).Needed(),
	form.Part("bolt", form.NewRecord(
		form.Field("grade", grade, func(r *HardwareRequest) *string { return &r.Bracket.Grade }),
		// K of T = K d F lies between 0.1 and 0.4 for any finish that is listed.
		form.Field("torque_factor", form.Number(upTo(1)), func(r *HardwareRequest) *float64 { return &r.Options.TorqueFactor }),
		form.Field("preload_fraction", form.Number(upTo(1)), func(r *HardwareRequest) *float64 { return &r.Options.PreloadFraction }),
		form.Field("threads_in_shear_plane", form.As(form.Flag, answerOf), func(r *HardwareRequest) *mount.Told { return &r.Options.ThreadsInShearPlane }),
	), itself[HardwareRequest]),
	form.Field("load_n", form.Number(upTo(mount.MostLoad)), func(r *HardwareRequest) *float64 { return &r.Options.Load }),
	form.Part("parts", partsTable, func(r *HardwareRequest) *Parts { return orNew(&r.Parts) }),
).Settle(func(_ form.Value, r *HardwareRequest) {
	if r.Style == mount.NoStyle {
		r.Style = r.End.Style
	}
})

func answerOf(yes bool) mount.Told {
	if yes {
		return mount.Yes
	}
	return mount.No
}

// partsTable is the fields of a caller's own parts. They count as in stock and
// have no price.
var partsTable = form.NewRecord(
	form.Field("sleeves", form.Records(sleeveTable, 0, mostSleeves, mount.Sleeve{InStock: true, Price: mount.NoPrice}), func(p *Parts) *[]mount.Sleeve { return &p.Sleeves }),
	form.Field("spacers", form.Records(spacerTable, 0, mostSpacers, mount.Spacer{InStock: true, Price: mount.NoPrice}), func(p *Parts) *[]mount.Spacer { return &p.Spacers }),
	form.Field("adapters", form.Records(adapterTable, 0, mostAdapters, mount.Adapter{InStock: true, Price: mount.NoPrice}), func(p *Parts) *[]mount.Adapter { return &p.Adapters }),
).Settle(func(v form.Value, p *Parts) {
	refuseTwins(v.Member("sleeves"), p.Sleeves, func(s *mount.Sleeve) string { return s.Code })
	refuseTwins(v.Member("spacers"), p.Spacers, func(s *mount.Spacer) string { return s.Code })
	refuseTwins(v.Member("adapters"), p.Adapters, func(a *mount.Adapter) string { return a.Code })
})

var partCode = form.Text(1, mount.MostCode)

var sleeveTable = form.NewRecord(
	form.Field("code", partCode, func(s *mount.Sleeve) *string { return &s.Code }).Needed(),
	form.Field("outer", form.Length, func(s *mount.Sleeve) *unit.Length { return &s.Outer }).Needed(),
	form.Field("bore", form.Length, func(s *mount.Sleeve) *unit.Length { return &s.Bore }).Needed(),
	form.Field("bore_is", boreIs, func(s *mount.Sleeve) *mount.BoreIs { return &s.BoreIs }),
	form.Field("length", form.Length, func(s *mount.Sleeve) *unit.Length { return &s.Length }).Needed(),
)

var spacerTable = form.NewRecord(
	form.Field("code", partCode, func(s *mount.Spacer) *string { return &s.Code }).Needed(),
	form.Field("bore", form.Length, func(s *mount.Spacer) *unit.Length { return &s.Bore }).Needed(),
	form.Field("thickness", form.Length, func(s *mount.Spacer) *unit.Length { return &s.Thickness }).Needed(),
)

var adapterTable = form.NewRecord(
	form.Field("code", partCode, func(a *mount.Adapter) *string { return &a.Code }).Needed(),
	form.Part("from", endTable, func(a *mount.Adapter) *mount.End { return &a.From }).Needed(),
	form.Part("to", endTable, func(a *mount.Adapter) *mount.End { return &a.To }).Needed(),
	form.Field("adds_length", form.SignedLength, func(a *mount.Adapter) *unit.Length { return &a.AddsLength }).Needed(),
)

// refuseTwins notes parts of one list that have the same code.
func refuseTwins[P any](list form.Value, parts []P, code func(*P) string) {
	if len(parts) == 0 {
		return
	}
	seen := make(map[string]bool, len(parts))
	for i, v := range list.Items()[:len(parts)] {
		c := code(&parts[i])
		if c != "" && seen[c] {
			v.Fail(sameCode, note.Word("code", form.Quoted(c)))
		}
		seen[c] = true
	}
}
