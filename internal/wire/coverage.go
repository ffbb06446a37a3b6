package wire

import (
	"midstroke/internal/coverage"
	"midstroke/internal/unit"
)

// Coverage is the answer to POST /v1/coverage.
type Coverage struct {
	Units unit.System
	From  Edition
	// Rows counts the rows of the file, Unclear those that must be measured again or lie
	// outside the method, and Faulty those with faults.
	Rows, Unclear, Faulty int
	Share                 coverage.Share
	Ends                  []CoveredEnds
	Gaps                  coverage.Map
	// Dampers are what each damper serves alone, the most first; More says that there
	// are further ones.
	Dampers []CoveringDamper
	More    bool
	Set     coverage.Set
	// Wanted is what the set was to serve, 0 where Most dampers were asked for.
	Wanted int64
	Most   int
	// Chosen are the dampers of the set, and Order those of them that aren't in stock.
	Chosen []ChosenDamper
	Order  []string
	Faults []CoverageFault
}

// CoveredEnds is the demand of a pair of ends.
type CoveredEnds struct {
	Upper, Lower     string
	Weight, Unserved int64
}

// CoveringDamper is what one damper serves alone.
type CoveringDamper struct {
	Code         string
	InStock      bool
	Serves, Only int64
}

// ChosenDamper is a damper of the set with what it adds to those before it.
type ChosenDamper struct {
	Code    string
	InStock bool
	Adds    int64
}

// CoverageFault is a row that couldn't be read.
type CoverageFault struct {
	Line        int
	Codes, Text string
}

// share is a part of a whole, 0 of nothing.
func share(part, whole int64) float64 {
	if whole == 0 {
		return 0
	}
	return float64(part) / float64(whole)
}

// gradeShare is what is served at one grade.
type gradeShare struct {
	grade  string
	weight int64
	of     *Coverage
}

func (c *Coverage) grades() []gradeShare {
	var all []gradeShare
	for i, name := range []string{"clear", "tight", "marginal"} {
		all = append(all, gradeShare{name, c.Share.ByGrade[i], c})
	}
	return all
}

// method names how the set was found.
func (c *Coverage) method() string {
	if c.Set.Exact {
		return "exact"
	}
	return "greedy"
}

// gap is by how much a better set might be better: in dampers where a share was wanted,
// else in weight.
func (c *Coverage) gap() int {
	if c.Most == 0 {
		return len(c.Chosen) - c.Set.LeastDampers
	}
	return int(c.Set.MostServed - c.Set.Served)
}

var coverageMembers = members[Coverage]{
	aText("units", func(c *Coverage) string { return c.Units.String() }),
	anObject("catalog", editionMembers, func(c *Coverage) *Edition { return &c.From }),
	aWhole("rows", func(c *Coverage) int { return c.Rows }),
	aWhole("rows_unclear", func(c *Coverage) int { return c.Unclear }),
	aWhole("rows_with_faults", func(c *Coverage) int { return c.Faulty }),
	aWhole("weight", func(c *Coverage) int { return int(c.Share.Total) }),
	anObject("served", members[Coverage]{
		aWhole("weight", func(c *Coverage) int { return int(c.Share.Served) }),
		aNumber("share", decimals, func(c *Coverage) float64 { return share(c.Share.Served, c.Share.Total) }),
		aList("grades", members[gradeShare]{
			aText("grade", func(g *gradeShare) string { return g.grade }),
			aWhole("weight", func(g *gradeShare) int { return int(g.weight) }),
			aNumber("share", decimals, func(g *gradeShare) float64 { return share(g.weight, g.of.Share.Total) }),
		}, (*Coverage).grades),
	}, itself),
	aList("ends", members[CoveredEnds]{
		aText("upper", func(e *CoveredEnds) string { return e.Upper }),
		aText("lower", func(e *CoveredEnds) string { return e.Lower }),
		aWhole("weight", func(e *CoveredEnds) int { return int(e.Weight) }),
		aWhole("unserved", func(e *CoveredEnds) int { return int(e.Unserved) }),
	}, func(c *Coverage) []CoveredEnds { return c.Ends }),
	anObject("gaps", members[coverage.Map]{
		aLength("step", func(m *coverage.Map) unit.Length { return m.Step }),
		aList("cells", members[coverage.Cell]{
			aLength("compressed_most", func(c *coverage.Cell) unit.Length { return c.CompressedMost }),
			aLength("extended_least", func(c *coverage.Cell) unit.Length { return c.ExtendedLeast }),
			aWhole("weight", func(c *coverage.Cell) int { return int(c.Weight) }),
			aWhole("unserved", func(c *coverage.Cell) int { return int(c.Unserved) }),
		}, func(m *coverage.Map) []coverage.Cell { return m.Cells }),
	}, func(c *Coverage) *coverage.Map { return &c.Gaps }),
	aList("dampers", coveringMembers, func(c *Coverage) []CoveringDamper { return c.Dampers }),
	aFlag("more", func(c *Coverage) bool { return c.More }),
	anObject("set", members[Coverage]{
		aText("method", (*Coverage).method),
		aList("dampers", chosenMembers, func(c *Coverage) []ChosenDamper { return c.Chosen }),
		aWhole("weight", func(c *Coverage) int { return int(c.Set.Served) }),
		aNumber("share", decimals, func(c *Coverage) float64 { return share(c.Set.Served, c.Share.Total) }),
		aFlag("reached", func(c *Coverage) bool { return c.Set.Served >= c.Wanted }),
		aWhole("least_dampers", func(c *Coverage) int { return c.Set.LeastDampers }),
		aWhole("most_weight", func(c *Coverage) int { return int(c.Set.MostServed) }),
		aWhole("gap", (*Coverage).gap),
	}, itself),
	aListOf("order", textKind, func(c *Coverage) []string { return c.Order }, (*writer).appendText),
	aList("faults", members[CoverageFault]{
		aWhole("line", func(f *CoverageFault) int { return f.Line }),
		aText("codes", func(f *CoverageFault) string { return f.Codes }),
		aText("text", func(f *CoverageFault) string { return f.Text }),
	}, func(c *Coverage) []CoverageFault { return c.Faults }),
}

var coveringMembers = members[CoveringDamper]{
	aText("code", func(d *CoveringDamper) string { return d.Code }),
	aFlag("in_stock", func(d *CoveringDamper) bool { return d.InStock }),
	aWhole("serves", func(d *CoveringDamper) int { return int(d.Serves) }),
	aWhole("only", func(d *CoveringDamper) int { return int(d.Only) }),
}

var chosenMembers = members[ChosenDamper]{
	aText("code", func(d *ChosenDamper) string { return d.Code }),
	aFlag("in_stock", func(d *ChosenDamper) bool { return d.InStock }),
	aWhole("adds", func(d *ChosenDamper) int { return int(d.Adds) }),
}

// AppendCoverage appends the answer to POST /v1/coverage as JSON.
func AppendCoverage(dst []byte, c *Coverage) []byte {
	return appendAnswer(writer{b: dst, units: c.Units}, coverageMembers, c)
}

// coverageRow is a line of the CSV form: a damper, and its place in the set.
type coverageRow struct {
	damper *CoveringDamper
	rank   int // 0 for none
	adds   int64
	of     *Coverage
}

var coverageColumns = columnsOf(members[coverageRow]{
	allOf(coveringMembers, func(r *coverageRow) *CoveringDamper { return r.damper }),
	aWhole("rank", func(r *coverageRow) int { return r.rank }),
	aWhole("adds", func(r *coverageRow) int { return int(r.adds) }),
	anObject("catalog", editionMembers, func(r *coverageRow) *Edition { return &r.of.From }),
})

// AppendCoverageCSV appends the dampers of that answer by RFC 4180: a header line and one
// line a damper, with its place in the set, 0 for none.
func AppendCoverageCSV(dst []byte, c *Coverage) []byte {
	w := writer{b: dst, units: c.Units, bare: true}
	w.b = appendHeader(w.b, coverageColumns)
	for i := range c.Dampers {
		row := coverageRow{damper: &c.Dampers[i], of: c}
		for at := range c.Chosen {
			if c.Chosen[at].Code == row.damper.Code {
				row.rank, row.adds = at+1, c.Chosen[at].Adds
			}
		}
		appendLine(&w, coverageColumns, &row)
	}
	return w.b
}
