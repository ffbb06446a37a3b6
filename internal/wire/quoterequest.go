package wire

import (
	"bytes"
	"encoding/json"
	"strconv"
	"strings"

	"github.com/go-json-experiment/json/jsontext"

	"midstroke/internal/fault"
	"midstroke/internal/form"
	"midstroke/internal/mount"
	"midstroke/internal/quote"
	"midstroke/internal/unit"
)

// QuoteRequest is what POST /v1/quotes asks.
type QuoteRequest struct {
	Reference, Remark string
	// Days is for how many days the link of the sheet is good.
	Days  int
	Axles []QuoteAxle
}

// QuoteAxle is a damper that was chosen for an axle.
type QuoteAxle struct {
	Axle     quote.Axle
	Damper   string
	Quantity int
	Risk     *quote.Risk // nil where nobody accepts one
	Fits     FitsRequest
	// Raw is the request for fits as it was sent.
	Raw json.RawMessage
}

// The codes of the faults of quotes.
const (
	axleTwice     fault.Code = "not_together.axle"
	locationAlone fault.Code = "not_together.location"
	doesNotFit    fault.Code = "does_not_fit"
	otherCatalog  fault.Code = "contradiction.catalog"
	otherRevision fault.Code = "contradiction.revision"
)

// The members of the body whose parts are read one by one.
const (
	readAxlesMember = "axles"
	readFitsMember  = "request"
)

// quoteTable is the body of POST /v1/quotes. Its axles are read one by one.
var quoteTable = form.NewRecord(
	form.Field("reference", form.Text(0, quote.MostReference), func(r *QuoteRequest) *string { return &r.Reference }),
	form.Field("remark", form.Text(0, quote.MostRemark), func(r *QuoteRequest) *string { return &r.Remark }),
	form.Field(readAxlesMember, form.ListOf(form.Any, 1, quote.MostAxles), func(*QuoteRequest) *[]struct{} { return new([]struct{}) }).Needed(),
	form.Field("sheet_days", form.Whole(0, quote.MostDays), func(r *QuoteRequest) *int { return &r.Days }),
)

// whoAccepts is a text that names somebody.
var whoAccepts = form.Checked(form.Text(1, quote.MostBy), func(text string) bool { return strings.TrimSpace(text) != "" }, form.Blank)

var riskTable = form.NewRecord(
	form.Field("by", whoAccepts, func(r *quote.Risk) *string { return &r.By }).Needed(),
	form.Field("reason", form.Text(0, quote.MostReason), func(r *quote.Risk) *string { return &r.Reason }),
)

var quoteAxleTable = form.NewRecord(
	form.Field("axle", form.OneOf(quote.Axles(), quote.ParseAxle), func(a *QuoteAxle) *quote.Axle { return &a.Axle }).Needed(),
	form.Field("damper", form.Text(1, mount.MostCode), func(a *QuoteAxle) *string { return &a.Damper }).Needed(),
	form.Field("quantity", form.Whole(1, mostDampers), func(a *QuoteAxle) *int { return &a.Quantity }),
	form.Field(readFitsMember, form.Any, func(*QuoteAxle) *struct{} { return new(struct{}) }).Needed(),
	form.Part("accepted_risk", riskTable, func(a *QuoteAxle) *quote.Risk { return orNew(&a.Risk) }),
)

// ReadQuote reads the body of POST /v1/quotes.
func ReadQuote(body []byte) (*QuoteRequest, error) {
	f, err := form.OfBody(body, form.MostValues)
	if err != nil {
		return nil, unread(err)
	}
	r := &QuoteRequest{Days: quote.UsualDays}
	faults := form.Read(f, quoteTable, r, nil)
	for i, entry := range f.Entries(readAxlesMember) {
		r.Axles = append(r.Axles, QuoteAxle{})
		faults.AddUnder(axlePointer(i), readQuoteAxle(entry, &r.Axles[i]))
	}
	faults = append(faults, r.together()...)
	if len(faults) > 0 {
		return nil, refused(faults, r.units())
	}
	return r, r.keepRaw(body)
}

func axlePointer(i int) string { return "/" + readAxlesMember + "/" + strconv.Itoa(i) }

func readQuoteAxle(f *form.Form, a *QuoteAxle) fault.List {
	faults := form.Read(f, quoteAxleTable, a, nil)
	if !f.Has(readFitsMember) {
		return faults
	}
	request, found := readFits(f.Entry(readFitsMember))
	faults.AddUnder("/"+readFitsMember, found)
	a.Fits = *request
	if a.Quantity == 0 {
		a.Quantity = request.Fit.Dampers
	}
	return faults
}

// together gives what is wrong with the axles beside each other. An axle that names
// no catalogue or no revision has that of the other one.
func (r *QuoteRequest) together() (faults fault.List) {
	if len(r.Axles) != quote.MostAxles {
		return nil
	}
	a, b := &r.Axles[0], &r.Axles[1]
	if a.Axle == b.Axle && a.Axle != 0 {
		faults.Add(axlePointer(1)+"/axle", axleTwice)
	}
	if a.Fits.Catalog != "" && b.Fits.Catalog != "" && a.Fits.Catalog != b.Fits.Catalog {
		faults.Add(axlePointer(1)+"/request/catalog", otherCatalog)
	}
	if a.Fits.Revision != 0 && b.Fits.Revision != 0 && a.Fits.Revision != b.Fits.Revision {
		faults.Add(axlePointer(1)+"/request/revision", otherRevision)
	}
	return faults
}

// Named gives the catalogue and the revision that the request names, and the place of
// the request for fits that names them. They are "" and 0 where it names none.
func (r *QuoteRequest) Named() (catalog string, revision int, at string) {
	for i := range r.Axles {
		f := &r.Axles[i].Fits
		if catalog == "" && f.Catalog != "" || revision == 0 && f.Revision != 0 || at == "" {
			at = axlePointer(i)[1:] + "/" + readFitsMember + "/"
		}
		if catalog == "" {
			catalog = f.Catalog
		}
		if revision == 0 {
			revision = f.Revision
		}
	}
	return catalog, revision, at
}

func (r *QuoteRequest) units() unit.System {
	if len(r.Axles) == 0 {
		return unit.Unset
	}
	return r.Axles[0].Fits.Units
}

// keepRaw keeps each axle's request as it was sent, without space between its parts. The
// body has been read, so it is JSON and names no member twice.
func (r *QuoteRequest) keepRaw(body []byte) error {
	d := jsontext.NewDecoder(bytes.NewBuffer(body))
	return eachMember(d, readAxlesMember, func() error {
		if _, err := d.ReadToken(); err != nil {
			return err
		}
		for i := 0; d.PeekKind() != ']'; i++ {
			if err := eachMember(d, readFitsMember, func() error {
				request, err := d.ReadValue()
				r.Axles[i].Raw = appendWithoutSpace(make([]byte, 0, len(request)), request)
				return err
			}); err != nil {
				return err
			}
		}
		_, err := d.ReadToken()
		return err
	})
}

// eachMember reads an object. It calls read at the value of the member of that name, and
// skips the others.
func eachMember(d *jsontext.Decoder, name string, read func() error) error {
	if _, err := d.ReadToken(); err != nil {
		return err
	}
	for d.PeekKind() != '}' {
		token, err := d.ReadToken()
		switch {
		case err != nil:
		case token.String() == name:
			err = read()
		default:
			err = d.SkipValue()
		}
		if err != nil {
			return err
		}
	}
	_, err := d.ReadToken()
	return err
}

// appendWithoutSpace appends a value without the space around its tokens.
func appendWithoutSpace(dst, value []byte) []byte {
	quoted := false
	for i := 0; i < len(value); i++ {
		switch b := value[i]; {
		case b == '"':
			quoted = !quoted
		case quoted && b == '\\':
			dst = append(dst, b)
			i++
		case !quoted && (b == ' ' || b == '\t' || b == '\n' || b == '\r'):
			continue
		}
		dst = append(dst, value[i])
	}
	return dst
}

var quoteChangeTable = form.NewRecord(
	form.Field("state", form.OneOf(quote.States(), quote.ParseState), func(c *quote.Change) *quote.State { return &c.State }),
	form.Field("location", stockLocation, func(c *quote.Change) *string { return &c.Location }),
	form.Field("by", form.Text(0, quote.MostBy), func(c *quote.Change) *string { return &c.By }),
	form.Field("reference", form.Text(0, quote.MostReference), func(c *quote.Change) *string { return orNew(&c.Reference) }),
	form.Field("remark", form.Text(0, quote.MostRemark), func(c *quote.Change) *string { return orNew(&c.Remark) }),
	form.Field("sheet_days", form.Whole(0, quote.MostDays), func(c *quote.Change) *int { return orNew(&c.Days) }),
)

// ReadQuoteChange reads the body of PATCH /v1/quotes/{id}.
func ReadQuoteChange(body []byte) (*quote.Change, error) {
	f, err := form.OfBody(body, form.MostValues)
	if err != nil {
		return nil, unread(err)
	}
	c := new(quote.Change)
	faults := form.Read(f, quoteChangeTable, c, nil)
	if c.Location != "" && c.State != quote.Ordered {
		faults.Add("/location", locationAlone)
	}
	return c, refused(faults, unit.Unset)
}
