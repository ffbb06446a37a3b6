package batch

import (
	"context"
	"maps"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"sync"

	"midstroke/internal/catalog"
	"midstroke/internal/coverage"
	"midstroke/internal/fault"
	"midstroke/internal/fit"
	"midstroke/internal/note"
	"midstroke/internal/table"
	"midstroke/internal/unit"
	"midstroke/internal/wire"
)

// WeightColumn is the column that says how much a row counts. Without it each counts 1.
const WeightColumn = "weight"

// MostWeight is how much a row may count.
const MostWeight = 1_000_000

// Demands are the rows of a file as what is asked of a catalogue.
type Demands struct {
	Demands []coverage.Demand
	Points  []coverage.Point
	Ends    []EndPair
	// Units are those of the first row that was read.
	Units unit.System
	// Rows counts all rows, Unclear those that must be measured again or lie outside
	// the method, which ask for nothing.
	Rows, Unclear int
	// Faults are the first rows with faults, Faulty is how many there are.
	Faults []RowFault
	Faulty int
}

// EndPair is the demands of a pair of ends.
type EndPair struct {
	Upper, Lower     string
	Weight, Unserved int64
}

// RowFault is what is wrong with a row.
type RowFault struct {
	Line        int
	Text, Codes string
	// Named says that Text begins with the name of a column.
	Named bool
}

// mostRowFaults is how many rows with faults are listed.
const mostRowFaults = 100

// asked is what one row asks for.
type asked struct {
	every  fit.Everyone
	weight int64
	ends   [2]string
	units  unit.System
}

// Demands reads all rows and finds all dampers that fit each, of the grade or a better one.
func (b *Batch) Demands(ctx context.Context, worst fit.Grade) (*Demands, error) {
	d := &Demands{}
	at := map[[2]string]int{}
	asker := asker{Batch: b}
	err := b.each(ctx, asker.ask, func(a *answered) error {
		d.add(a, worst, at)
		return nil
	})
	return d, err
}

// Weighed is a request with how much it counts. Fault is why it can't be read.
type Weighed struct {
	// Of is what the request is of.
	Of      string
	Request wire.FitsRequest
	Fault   error
	Weight  int64
}

// DemandsOf finds all dampers that fit each request, of the grade or a better one.
func DemandsOf(ctx context.Context, all []Weighed, s *catalog.Snapshot, worst fit.Grade, language string, turn func(context.Context, int, func()) error) (*Demands, error) {
	d := &Demands{}
	at := map[[2]string]int{}
	for i := 0; i < len(all); i += chunkRows {
		some := all[i:min(len(all), i+chunkRows)]
		found := make([]answered, len(some))
		if err := turn(ctx, len(some), func() {
			for k := range some {
				some[k].ask(&found[k], s, language)
			}
		}); err != nil {
			return nil, err
		}
		for k := range found {
			found[k].row.Line = i + k + 1
			d.add(&found[k], worst, at)
		}
	}
	return d, ctx.Err()
}

// ask finds what a request asks for.
func (w *Weighed) ask(a *answered, s *catalog.Snapshot, language string) {
	faults := listOf(w.Fault)
	if w.Fault == nil {
		every, found := fit.FindEvery(&w.Request.Fit, s)
		if len(found) == 0 {
			a.asked = askedOf(&w.Request, every, w.Weight)
			return
		}
		faults = placed(&w.Request, found)
	}
	var texts, codes []string
	for i := range faults {
		text, _ := inWords(&faults[i], language, w.Request.Units)
		texts, codes = append(texts, text), append(codes, faults[i].Code.Public())
	}
	a.fault, a.codes = w.Of+": "+strings.Join(texts, "; "), strings.Join(codes, "|")
}

// askedOf says what a request asks for.
func askedOf(request *wire.FitsRequest, every fit.Everyone, weight int64) *asked {
	r := &request.Fit.Readings
	return &asked{every, weight, [2]string{r.Upper.Style.String(), r.Lower.Style.String()}, request.Units}
}

// asker finds what the rows of a file ask for. Rows often ask the same, so what was found
// for one serves the others.
type asker struct {
	*Batch
	known sync.Map // requestKey → fit.Everyone
}

// ask finds what a row asks for.
func (b *asker) ask(a *answered) {
	weight, bad := b.weight(&a.row)
	values, blank, faults := b.values(&a.row)
	if blank {
		return
	}
	var request wire.FitsRequest
	if len(faults) == 0 {
		var err error
		request, err = wire.ReadFitsQuery(values)
		faults = listOf(err)
	}
	if bad != nil {
		faults = append(faults, *bad)
	}
	if len(faults) == 0 {
		every, found := b.every(&request, requestKey(values))
		if len(found) == 0 {
			a.asked = askedOf(&request, every, weight)
			return
		}
		faults = placed(&request, found)
	}
	b.refuse(a, faults, request.Units)
}

// every finds all dampers that fit, once for all rows of the same key.
func (b *asker) every(request *wire.FitsRequest, key string) (fit.Everyone, fault.List) {
	if known, ok := b.known.Load(key); ok {
		return known.(fit.Everyone), nil
	}
	every, faults := fit.FindEvery(&request.Fit, b.Snapshot)
	if len(faults) == 0 {
		b.known.Store(key, every)
	}
	return every, faults
}

// requestKey is the same for rows that ask the same, whatever they call it.
func requestKey(values url.Values) string {
	values = maps.Clone(values)
	values.Del("reference")
	return values.Encode()
}

// weight reads how much a row counts.
func (b *Batch) weight(row *table.Row) (int64, *fault.Fault) {
	text := ""
	for i := range min(len(row.Cells), len(b.columns)) {
		if name, _ := table.ColumnName(b.columns[i].header); name == WeightColumn {
			text = row.Cells[i]
		}
	}
	for i := range row.Members {
		if row.Members[i].Name == WeightColumn {
			text = row.Members[i].Text
		}
	}
	if text == "" {
		return 1, nil
	}
	n, err := strconv.ParseInt(text, 10, 64)
	if err != nil || n < 1 || n > MostWeight {
		return 0, &fault.Fault{Place: fault.Place{Parameter: WeightColumn}, Code: badWeight, Values: []note.Value{note.Num("most", MostWeight, "")}}
	}
	return n, nil
}

func (d *Demands) add(a *answered, worst fit.Grade, at map[[2]string]int) {
	d.Rows++
	switch {
	case a.fault != "":
		if d.Faulty++; len(d.Faults) < mostRowFaults {
			d.Faults = append(d.Faults, RowFault{a.row.Line, a.fault, a.codes, a.named})
		}
		return
	case a.asked == nil: // a blank row
		return
	case a.asked.every.Outcome != fit.Fits && a.asked.every.Outcome != fit.NoFit:
		d.Unclear++
		return
	}
	if d.Units == unit.Unset {
		d.Units = a.asked.units
	}
	one := coverage.Demand{Weight: a.asked.weight, By: ofGrade(a.asked.every.Served, worst)}
	served := len(one.By) > 0
	d.Demands = append(d.Demands, one)
	d.Points = append(d.Points, coverage.Point{
		CompressedMost: a.asked.every.CompressedMost, ExtendedLeast: a.asked.every.ExtendedLeast, Weight: one.Weight, Served: served,
	})
	pair, ok := at[a.asked.ends]
	if !ok {
		pair = len(d.Ends)
		at[a.asked.ends] = pair
		d.Ends = append(d.Ends, EndPair{Upper: a.asked.ends[0], Lower: a.asked.ends[1]})
	}
	d.Ends[pair].Weight += one.Weight
	if !served {
		d.Ends[pair].Unserved += one.Weight
	}
}

// ofGrade gives the dampers that serve with a grade or a better one. Rows may share the
// list, so it isn't changed.
func ofGrade(all []fit.Served, worst fit.Grade) []fit.Served {
	if worst == fit.Marginal {
		return all
	}
	return slices.DeleteFunc(slices.Clone(all), func(s fit.Served) bool { return s.Grade > worst })
}
