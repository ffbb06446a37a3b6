package catalog

import (
	"cmp"
	"encoding/binary"
	"math"
	"slices"
	"sync"
	"unique"

	"midstroke/internal/damping"
)

// Forces is what a list says of a damper's forces: its force table, and what was
// known of the test. It is comparable, and takes the room of one pointer: many
// dampers of a list have the same valving, so equal ones share their memory. The
// zero value says nothing.
type Forces struct{ listed unique.Handle[listedForces] }

type listedForces struct {
	// curves are as damping.FormatCurves writes them, zero for none. Texts are long,
	// and so compared once.
	curves           unique.Handle[string]
	gasForce         float64
	celsius          float64
	temperatureKnown bool
}

// NewForces takes what Forces holds from a table. Whether the gas force is included,
// and where the gas is, are fields of a damper.
func NewForces(t *damping.Table) Forces {
	return forcesOf(listedForces{
		curves: listedCurves(t.Curves), gasForce: t.GasForce,
		celsius: t.Celsius, temperatureKnown: t.TemperatureKnown,
	})
}

func listedCurves(curves []damping.Curve) unique.Handle[string] {
	if len(curves) == 0 {
		return unique.Handle[string]{}
	}
	return unique.Make(damping.FormatCurves(curves))
}

func forcesOf(l listedForces) Forces {
	if l == (listedForces{}) {
		return Forces{}
	}
	return Forces{unique.Make(l)}
}

func (f Forces) value() listedForces {
	if f == (Forces{}) {
		return listedForces{}
	}
	return f.listed.Value()
}

// Text gives the force table as damping.FormatCurves writes it, "" where there is
// none.
func (f Forces) Text() string {
	if curves := f.value().curves; curves != (unique.Handle[string]{}) {
		return curves.Value()
	}
	return ""
}

// Curves gives the force table, none where there is none.
func (f Forces) Curves() []damping.Curve {
	text := f.Text()
	if text == "" {
		return nil
	}
	curves, _, _ := damping.ParseCurves(text) // which was written by FormatCurves
	return curves
}

// CurvesOnly is a force table without anything else about its test.
func CurvesOnly(curves []damping.Curve) Forces {
	return NewForces(&damping.Table{Curves: curves})
}

// ForcesReader reads force tables from their texts. It remembers those that it has read,
// since many dampers of a list have the same one. It is for one user at a time.
type ForcesReader struct{ known map[string]Forces }

// mostRemembered is how many force tables of a list are remembered, longestRemembered
// the length of the longest. Together they bound the memory.
const (
	mostRemembered    = 1 << 13
	longestRemembered = 2 << 10
)

// Read gives a force table as damping.ParseCurves reads it, without anything else about
// its test. Where it can't be read, unread is the part that is to blame.
func (r *ForcesReader) Read(raw []byte) (f Forces, unread string, ok bool) {
	if f, ok = r.known[string(raw)]; ok {
		return f, "", true
	}
	text := string(raw)
	curves, unread, ok := damping.ParseCurves(text)
	if !ok {
		return Forces{}, unread, false
	}
	f = CurvesOnly(curves)
	if len(text) <= longestRemembered {
		if r.known == nil || len(r.known) >= mostRemembered {
			r.known = map[string]Forces{}
		}
		r.known[text] = f
	}
	return f, "", true
}

// SetCurvesOf sets the force table to that of other, and leaves the rest.
func (f *Forces) SetCurvesOf(other Forces) {
	l := f.value()
	l.curves = other.value().curves
	*f = forcesOf(l)
}

// GasForce is in N, and known says whether it is.
func (f Forces) GasForce() (n float64, known bool) {
	n = f.value().gasForce
	return n, n != 0
}

// SetGasForce sets the gas force in N; 0 is for one that isn't known, or isn't there.
func (f *Forces) SetGasForce(n float64) {
	l := f.value()
	l.gasForce = n
	*f = forcesOf(l)
}

// Celsius is the temperature of the test, and known says whether it is.
func (f Forces) Celsius() (n float64, known bool) {
	l := f.value()
	return l.celsius, l.temperatureKnown
}

// SetCelsius sets the temperature of the test.
func (f *Forces) SetCelsius(n float64) {
	l := f.value()
	l.celsius, l.temperatureKnown = n, true
	*f = forcesOf(l)
}

// ForceTable gives everything that the list says of the damper's forces.
func (d *Damper) ForceTable() damping.Table {
	t := damping.Table{Curves: d.Forces.Curves(), GasIncluded: d.GasIncluded, Reservoir: d.Reservoir}
	t.GasForce, _ = d.Forces.GasForce()
	t.Celsius, t.TemperatureKnown = d.Forces.Celsius()
	return t
}

// forceTables are the different force tables of a snapshot's dampers.
type forceTables struct {
	tables []damping.Table
	// numbers has each damper's place in tables, by its place in the list by code;
	// -1 where it has none. It is nil where no damper has one.
	numbers []int32
	// valvings are the places in tables of the first ones of those with the same sums of
	// both forces. valvingOf has the place in valvings of each table.
	valvings, valvingOf []int32
	// groups has the group of each valving: about equally firm ones are together.
	groups []uint8
	// powers are those of the valvings, made when a corner is first asked about; nil
	// where there are very many.
	powers     *damping.Powers
	makePowers sync.Once
}

// gathered finds the force tables of dampers.
func gathered(dampers []Damper) *forceTables {
	type key struct {
		forces      Forces
		gasIncluded bool
	}
	f := new(forceTables)
	known := map[key]int32{}
	for i := range dampers {
		d := &dampers[i]
		if d.Forces == (Forces{}) || d.Forces.Text() == "" {
			continue
		}
		if f.numbers == nil {
			f.numbers = make([]int32, len(dampers))
			for j := range f.numbers {
				f.numbers[j] = -1
			}
		}
		k := key{d.Forces, d.GasIncluded}
		number, ok := known[k]
		if !ok {
			number = int32(len(f.tables))
			known[k] = number
			f.tables = append(f.tables, d.ForceTable())
		}
		f.numbers[i] = number
	}
	f.findValvings()
	f.group()
	return f
}

// findValvings finds the tables with the same sums of both forces. Tables of dampers
// that differ in their gas force alone are among them.
func (f *forceTables) findValvings() {
	known := map[string]int32{}
	var b []byte
	for i := range f.tables {
		b = b[:0]
		for j := range f.tables[i].Curves {
			for _, p := range f.tables[i].Curves[j].Points {
				b = binary.LittleEndian.AppendUint64(b, math.Float64bits(p.Velocity))
				b = binary.LittleEndian.AppendUint64(b, math.Float64bits(p.Compression+p.Rebound))
			}
			b = binary.LittleEndian.AppendUint64(b, math.Float64bits(math.Inf(1))) // no velocity
		}
		valving, ok := known[string(b)]
		if !ok {
			valving = int32(len(f.valvings))
			known[string(b)] = valving
			f.valvings = append(f.valvings, int32(i))
		}
		f.valvingOf = append(f.valvingOf, valving)
	}
}

// mostGroups is how many groups of valvings there are at most: those of a ForceSet but
// one, which is for dampers without a force table.
const mostGroups = 31

// group puts valvings that are about equally firm in one group.
func (f *forceTables) group() {
	firmness := make([]float64, len(f.valvings))
	order := make([]int32, len(f.valvings))
	for i, table := range f.valvings {
		firmness[i], order[i] = f.tables[table].Firmness(), int32(i)
	}
	slices.SortFunc(order, func(a, b int32) int { return cmp.Or(cmp.Compare(firmness[a], firmness[b]), cmp.Compare(a, b)) })
	f.groups = make([]uint8, len(f.valvings))
	for i, valving := range order {
		f.groups[valving] = uint8(i * min(mostGroups, len(order)) / len(order))
	}
}

// knownPowers gives the powers of the valvings, nil where there are very many.
func (f *forceTables) knownPowers() *damping.Powers {
	if len(f.valvings) > mostPowers {
		return nil
	}
	f.makePowers.Do(func() {
		tables := make([]*damping.Table, len(f.valvings))
		for i, table := range f.valvings {
			tables[i] = &f.tables[table]
		}
		f.powers = damping.NewPowers(tables)
	})
	return f.powers
}

// Briefs gives the damping of force tables in brief, for one request: tables of one
// valving are worked out once where the gas force doesn't count.
type Briefs struct {
	rater  *damping.Rater
	forces *forceTables
	one    damping.OneOf
	known  []briefly
}

// briefly is what was found of a valving, or of a table where the gas force counts.
type briefly struct {
	number int32
	damping.Brief
	ok bool
}

// Briefs begins with none.
func (s *Snapshot) Briefs(r *damping.Rater) Briefs {
	return Briefs{rater: r, forces: s.forces, one: damping.OneOf{Powers: s.forces.knownPowers()}}
}

// Of gives the damping of a force table, by its place in ForceTables; false where it
// can't be told.
func (b *Briefs) Of(table int32) (damping.Brief, bool) {
	t, number := &b.forces.tables[table], table
	if !b.rater.GasCounts() {
		number = b.forces.valvingOf[table]
	}
	for i := range b.known {
		if found := &b.known[i]; found.number == number {
			brief := found.Brief
			if found.ok { // the sums are the same, names and gas force may differ
				brief.Start = t.Curves[brief.Curve].Position
				brief.GasRise, _ = b.rater.GasRise(t.GasForce)
			}
			return brief, found.ok
		}
	}
	brief, ok := b.rater.Brief(t, b.among(b.forces.valvingOf[table]))
	b.known = append(b.known, briefly{number, brief, ok})
	return brief, ok
}

// Verdict gives the verdict on a valving, where the gas force doesn't count.
func (b *Briefs) Verdict(valving int32) damping.Verdict {
	return b.rater.Verdict(&b.forces.tables[b.forces.valvings[valving]], b.among(valving))
}

// VerdictOf gives the verdict on a force table, by its place in ForceTables.
func (b *Briefs) VerdictOf(table int32) damping.Verdict {
	return b.rater.Verdict(&b.forces.tables[table], b.among(b.forces.valvingOf[table]))
}

// among gives a valving among the known powers, nil where there are none.
func (b *Briefs) among(valving int32) *damping.OneOf {
	if b.one.Powers == nil {
		return nil
	}
	b.one.Table = valving
	return &b.one
}

// ForceSet is a set of groups of valvings, and of dampers without a force table.
type ForceSet uint32

// NoForces is the set of the dampers without a force table.
const NoForces ForceSet = 1 << mostGroups

// set gives the set of a damper alone, by its place in the list by code.
func (f *forceTables) set(damper int32) ForceSet {
	if f.numbers == nil || f.numbers[damper] < 0 {
		return NoForces
	}
	return 1 << f.groups[f.valvingOf[f.numbers[damper]]]
}

// mostPowers is for how many valvings powers are made: they take room and time.
const mostPowers = 1024

// Verdicts are what a rater is sure of without a look at any force table.
type Verdicts struct {
	// Of has the verdict on each valving, or damping.Undecided.
	Of []damping.Verdict
	// InRange is the set of the dampers that may be in range, and Unknown of those that
	// may not be judged.
	InRange, Unknown ForceSet
}

// Verdicts gives what a rater is sure of.
func (s *Snapshot) Verdicts(r *damping.Rater) Verdicts {
	f := s.forces
	v := Verdicts{Of: make([]damping.Verdict, 0, len(f.valvings)), Unknown: NoForces}
	if powers := f.knownPowers(); powers != nil {
		v.Of = r.Verdicts(powers, v.Of)
	} else {
		for range f.valvings {
			v.Of = append(v.Of, damping.Undecided)
		}
	}
	for valving, verdict := range v.Of {
		switch group := ForceSet(1) << f.groups[valving]; verdict {
		case damping.InRange:
			v.InRange |= group
		case damping.Undecided:
			v.InRange |= group
			v.Unknown |= group
		case damping.Soft, damping.Firm:
		}
	}
	return v
}

// ForceTables lists the different force tables of the dampers. Callers change
// nothing in it.
func (s *Snapshot) ForceTables() []damping.Table { return s.forces.tables }

// ForceTable gives the place in ForceTables of the force table of a damper, by its
// place in the list by code; -1 where it has none.
func (s *Snapshot) ForceTable(damper int32) int32 {
	if s.forces.numbers == nil {
		return -1
	}
	return s.forces.numbers[damper]
}

// Valving gives the number of a damper's valving, -1 where it has no force table.
// Tables of one valving have the same sums of both forces: unless the gas force
// counts, they get the same verdict.
func (s *Snapshot) Valving(p *Point) int32 {
	if p.valving != farValving {
		return int32(p.valving) - 1
	}
	return s.forces.valvingOf[s.forces.numbers[p.Damper]]
}

// farValving stands for a valving whose number has no room in a Point. The search asks
// for valvings so often that looking them up elsewhere takes much of its time.
const farValving = math.MaxUint16

// near is a damper's valving as its Point has it.
func (f *forceTables) near(damper int32) uint16 {
	if f.numbers == nil || f.numbers[damper] < 0 {
		return 0
	}
	return uint16(min(f.valvingOf[f.numbers[damper]]+1, farValving))
}
