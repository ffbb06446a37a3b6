package wire

import (
	"net/url"

	"midstroke/internal/fault"
	"midstroke/internal/fit"
	"midstroke/internal/form"
	"midstroke/internal/mount"
	"midstroke/internal/unit"
)

// FitsRequest is what POST /v1/fits, or its flat form, asks.
type FitsRequest struct {
	Units unit.System
	// Reference is a text of the caller's, which the answer repeats.
	Reference string
	// Catalog is "" and Revision 0 where none was named.
	Catalog  string
	Revision int

	Fit fit.Request

	flat *form.Flat // nil for a body
}

// Place gives faults that the core found as an error. Where the request came in
// flat names, each pointer becomes the name that the sender used.
func (r *FitsRequest) Place(core fault.List) error {
	if r.flat != nil {
		core = r.flat.Place(core)
	}
	return refused(core, r.Units)
}

// Flat says that the request came in flat names, so that its faults have a
// parameter's or column's name and no pointer.
func (r *FitsRequest) Flat() bool { return r.flat != nil }

// ReadFits reads the body of POST /v1/fits. What could be read is returned
// with an error, too.
func ReadFits(body []byte) (FitsRequest, error) {
	f, err := form.OfBody(body, form.MostValues)
	if err != nil {
		return FitsRequest{}, unread(err)
	}
	defer f.Release()
	r, faults := readFits(f)
	return *r, refused(faults, r.Units)
}

// ReadFitsQuery reads the flat form of a query: values holds the parameters
// without those that say how the answer is shown, which [ReadShow] takes out. A
// parameter without a value counts as not given.
func ReadFitsQuery(values url.Values) (FitsRequest, error) {
	flat := flatNames.Read(values)
	r, faults := readFits(&flat.Form)
	r.flat = flat
	return *r, refused(flat.All(faults), r.Units)
}

func readFits(f *form.Form) (*FitsRequest, fault.List) {
	r := &FitsRequest{Fit: fit.Request{
		LeanDeg: -1, Top: fit.DefaultTop, Dampers: fit.DefaultDampers,
		Travel: fit.Travel{Reserve: fit.DefaultReserve},
	}}
	return r, form.Read(f, fitsTable, r, judgeFits)
}

// judgeFits gives the core's faults. If own has faults there won't be an answer, so the
// whole request is judged now; otherwise the core does that when it makes the answer.
func judgeFits(own fault.List, r *FitsRequest) fault.List {
	var core fault.List
	core.AddUnder("/upper", gradeFaults(&r.Fit.Upper))
	core.AddUnder("/lower", gradeFaults(&r.Fit.Lower))
	if len(own)+len(core) > 0 {
		core = append(core, fit.Check(judged(own, r.Fit))...)
	}
	return core
}

// judged gives a request that the core can judge. If the basis of the travel couldn't
// be read, a basis that needs no other field takes its place.
func judged(own fault.List, q fit.Request) *fit.Request {
	for i := range own {
		if p := own[i].Pointer; p == "/travel" || p == "/travel/basis" {
			q.Travel = fit.Travel{Basis: fit.Stated}
			q.BumpStop, q.Strap = nil, nil
		}
		if own[i].Pointer == "/bump_stop/on" {
			q.BumpStop = nil
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

// flatNames are the names of the flat form of POST /v1/fits, in the contract's
// order.
var flatNames = form.NamesOf(fitsTable)
