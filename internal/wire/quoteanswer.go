package wire

import (
	"bytes"
	"cmp"
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"time"

	"midstroke/internal/catalog"
	"midstroke/internal/fault"
	"midstroke/internal/fit"
	"midstroke/internal/note"
	"midstroke/internal/quote"
	"midstroke/internal/unit"
)

type riskJSON struct {
	By     string `json:"by"`
	Reason string `json:"reason"`
}

type totalJSON struct {
	Amount   string `json:"amount"`
	Currency string `json:"currency"`
	Complete bool   `json:"complete"`
}

type quoteEditionJSON struct {
	Name     string `json:"name"`
	Revision int    `json:"revision"`
}

type quoteEventJSON struct {
	State string    `json:"state"`
	At    time.Time `json:"at"`
	Key   string    `json:"key"`
	By    *string   `json:"by"`
}

type sheetLinkJSON struct {
	Link    string    `json:"link"`
	URL     string    `json:"url"`
	Expires time.Time `json:"expires_at"`
}

// quoteJSON is a quote up to what never changes; quoteEndJSON comes behind that.
type quoteJSON struct {
	ID        string           `json:"id"`
	State     string           `json:"state"`
	Reference string           `json:"reference"`
	Remark    string           `json:"remark"`
	Catalog   quoteEditionJSON `json:"catalog"`
	CreatedAt time.Time        `json:"created_at"`
	CreatedBy string           `json:"created_by"`
	ChangedAt time.Time        `json:"changed_at"`
	History   []quoteEventJSON `json:"history"`
}

type quoteEndJSON struct {
	Taken []quote.Taken  `json:"taken"`
	Sheet *sheetLinkJSON `json:"sheet"`
}

// chosen is the answer for a damper that was chosen for an axle.
type chosen struct {
	answer []byte     // nil where the catalogue doesn't have the damper
	fits   bool       //
	picks  []fit.Pick // what to take off the shelf
	whole  bool       // the list lacks no line
}

// answerFor judges the chosen damper by its request. Faults have pointers from the
// axle.
func (a *QuoteAxle) answerFor(s *catalog.Snapshot, from Edition, lang string) (c chosen, _ fault.List) {
	request := a.Fits
	one := 1
	request.Fit.Codes, request.Fit.Top, request.Fit.NearMisses = []string{a.Damper}, 1, &one
	request.Fit.Explain, request.Fit.Dampers = false, a.Quantity
	found, faults := fit.Find(&request.Fit, s)
	if len(faults) > 0 {
		var placed fault.List
		for i := range faults {
			if strings.HasPrefix(faults[i].Pointer, "/codes/") {
				faults[i].Pointer = "/damper"
			} else {
				faults[i].Pointer = "/" + readFitsMember + faults[i].Pointer
			}
			placed = append(placed, faults[i])
		}
		return c, placed
	}
	const usual = 8 << 10 // bytes of an answer with one fit
	c.answer = bytes.TrimSpace(AppendFits(make([]byte, 0, usual), found, &request, from, lang))
	if len(found.Fits) > 0 {
		f := &found.Fits[0]
		c.fits, c.picks, c.whole = true, f.PickList(), f.Upper.Complete && f.Lower.Complete
	} else {
		damper, _ := s.Damper(a.Damper)
		c.picks = fit.PickDampers(s, damper, a.Quantity)
	}
	return c, nil
}

// pickListJSON writes lines of a pick list.
func pickListJSON(list []fit.Pick, from Edition, lang string) json.RawMessage {
	w := writer{lang: lang, currency: from.Currency}
	lines := aList("pick_list", pickMembers, func(all *[]fit.Pick) []fit.Pick { return *all })
	lines.json(&w, &list)
	return w.b
}

func totalOf(list []fit.Pick, whole bool, from Edition) totalJSON {
	t := fit.TotalOf(list, whole)
	return totalJSON{Amount: string(appendAmount(nil, t.Amount)), Currency: from.Currency, Complete: t.Complete}
}

// KeepQuote judges what was chosen and gives the content of the quote, with texts in
// lang. A damper that doesn't fit is a fault unless somebody accepts the risk.
func KeepQuote(q *quote.Quote, r *QuoteRequest, s *catalog.Snapshot, from Edition, lang string) error {
	content := quoteContent{Language: lang}
	var lists [][]fit.Pick
	var faults fault.List
	whole := true
	for i := range r.Axles {
		a := &r.Axles[i]
		c, found := a.answerFor(s, from, lang)
		switch {
		case len(found) > 0:
			faults.AddUnder(axlePointer(i), found)
			continue
		case !c.fits && a.Risk == nil:
			faults.Add(axlePointer(i)+"/damper", doesNotFit, note.Word("damper", a.Damper))
			continue
		}
		axle := quotedAxleJSON{Axle: a.Axle.String(), Damper: a.Damper, Quantity: a.Quantity, Fits: c.fits, Request: a.Raw, Answer: c.answer}
		if a.Risk != nil {
			axle.Risk = &riskJSON{a.Risk.By, a.Risk.Reason}
		}
		content.Axles, lists, whole = append(content.Axles, axle), append(lists, c.picks), whole && c.whole
		q.Dampers = append(q.Dampers, a.Damper)
	}
	if len(faults) > 0 {
		return refused(faults, r.units())
	}
	all := fit.Joined(lists...)
	content.PickList, content.Total = pickListJSON(all, from, lang), totalOf(all, whole, from)
	for i := range all {
		if all[i].Listed() {
			q.Codes = append(q.Codes, all[i].Code)
		}
	}
	q.Needs = needsOf(all)
	q.Catalog, q.Revision, q.Total = from.Name, from.Revision, quote.Total(content.Total)
	q.Reference, q.Remark = r.Reference, r.Remark
	q.Content = content.appendTo(make([]byte, 0, content.size()))
	return nil
}

// AppendQuote appends a quote as JSON.
func AppendQuote(dst []byte, q *quote.Quote) ([]byte, error) {
	j := quoteJSON{
		ID: q.ID, State: q.State.String(), Reference: q.Reference, Remark: q.Remark, Catalog: quoteEditionJSON{q.Catalog, q.Revision},
		CreatedAt: q.Created.UTC(), CreatedBy: q.CreatedBy, ChangedAt: q.Changed.UTC(), History: []quoteEventJSON{},
	}
	for i := range q.History {
		e := &q.History[i]
		event := quoteEventJSON{State: e.State.String(), At: e.At.UTC(), Key: e.Key}
		if e.By != "" {
			event.By = &e.By
		}
		j.History = append(j.History, event)
	}
	end := quoteEndJSON{Taken: append([]quote.Taken{}, q.Taken...)}
	if q.Link.Secret != "" {
		end.Sheet = &sheetLinkJSON{q.Link.Secret, "/sheet?quote=" + q.Link.Secret, q.Link.Expires.UTC()}
	}
	dst = openObject(appendJSON(dst, j))
	if len(q.Content) == 0 || q.Content[0] != '{' {
		return dst, fmt.Errorf("the content of the quote %s is no object", q.ID)
	}
	dst = openObject(append(append(dst, ','), q.Content[1:]...))
	dst = append(dst, ',')
	from := len(dst)
	dst = appendJSON(dst, end)
	return slices.Delete(dst, from, from+1), nil
}

// openObject takes off the brace that ends an object, so that members can follow.
func openObject(object []byte) []byte {
	return bytes.TrimSuffix(bytes.TrimSpace(object), []byte("}"))
}

type quoteItemJSON struct {
	ID        string           `json:"id"`
	State     string           `json:"state"`
	Reference string           `json:"reference"`
	Catalog   quoteEditionJSON `json:"catalog"`
	Dampers   []string         `json:"dampers"`
	Total     totalJSON        `json:"total"`
	CreatedAt time.Time        `json:"created_at"`
	ChangedAt time.Time        `json:"changed_at"`
}

// AppendQuotes appends a page of quotes as JSON; next is the cursor of the next page,
// "" on the last one.
func AppendQuotes(dst []byte, list []quote.Quote, next string) []byte {
	page := struct {
		Items      []quoteItemJSON `json:"items"`
		NextCursor *string         `json:"next_cursor"`
	}{Items: []quoteItemJSON{}}
	for i := range list {
		q := &list[i]
		page.Items = append(page.Items, quoteItemJSON{
			q.ID, q.State.String(), q.Reference, quoteEditionJSON{q.Catalog, q.Revision}, q.Dampers, totalJSON(q.Total), q.Created.UTC(), q.Changed.UTC(),
		})
	}
	if next != "" {
		page.NextCursor = &next
	}
	return appendJSON(dst, page)
}

type quoteTodayJSON struct {
	ID       string            `json:"id"`
	Kept     quoteEditionJSON  `json:"kept"`
	Today    json.RawMessage   `json:"today"`
	Differs  bool              `json:"differs"`
	Changes  []quoteChangeJSON `json:"changes"`
	Axles    []axleTodayJSON   `json:"axles"`
	PickList json.RawMessage   `json:"pick_list"`
	Total    totalJSON         `json:"total"`
}

type quoteChangeJSON struct {
	Axle   *string         `json:"axle"`
	Code   note.Code       `json:"code"`
	Text   string          `json:"text"`
	Values json.RawMessage `json:"values"`
}

type axleTodayJSON struct {
	Axle   string          `json:"axle"`
	Damper string          `json:"damper"`
	Fits   bool            `json:"fits"`
	Answer json.RawMessage `json:"answer"`
}

// AppendToday answers a quote's requests from another snapshot and appends what
// differs, with texts in lang.
func AppendToday(dst []byte, q *quote.Quote, s *catalog.Snapshot, from Edition, lang string) ([]byte, error) {
	var content quoteContent
	if err := json.Unmarshal(q.Content, &content); err != nil {
		return dst, err
	}
	var edition writer
	writeObject(&edition, editionMembers, &from)
	j := quoteTodayJSON{ID: q.ID, Kept: quoteEditionJSON{q.Catalog, q.Revision}, Today: edition.b, Changes: []quoteChangeJSON{}}
	var lists [][]fit.Pick
	var gone []string
	whole := true
	for i := range content.Axles {
		kept := &content.Axles[i]
		c, err := kept.today(s, from, lang)
		if err != nil {
			return dst, err
		}
		j.Axles = append(j.Axles, axleTodayJSON{kept.Axle, kept.Damper, c.fits, c.answer})
		lists, whole = append(lists, c.picks), whole && c.whole
		was, is := verdictOf(kept.Answer), verdictOf(c.answer)
		j.add(&kept.Axle, is.Since(&was, kept.Damper), lang)
		if is.Gone {
			gone = append(gone, kept.Damper)
		}
	}
	all := fit.Joined(lists...)
	j.PickList, j.Total = pickListJSON(all, from, lang), totalOf(all, whole, from)
	// The texts of bolts are compared, so both lists are in one language.
	j.add(nil, quote.LinesSince(linesOf(content.PickList), linesOf(pickListJSON(all, from, content.Language)), gone), lang)
	j.add(nil, quote.Total(j.Total).Since(quote.Total(content.Total)), lang)
	j.Differs = len(j.Changes) > 0
	return appendJSON(dst, j), nil
}

// QuotedRequest is the request of an axle of a quote. Fault says why it can't be read any more.
type QuotedRequest struct {
	Request FitsRequest
	Fault   error
}

// QuotedRequests gives the requests of a quote's axles.
func QuotedRequests(q *quote.Quote) ([]QuotedRequest, error) {
	var content quoteContent
	if err := json.Unmarshal(q.Content, &content); err != nil {
		return nil, err
	}
	all := make([]QuotedRequest, len(content.Axles))
	for i := range content.Axles {
		all[i].Request, all[i].Fault = ReadFits(content.Axles[i].Request)
	}
	return all, nil
}

// today answers an axle's request again.
func (a *quotedAxleJSON) today(s *catalog.Snapshot, from Edition, lang string) (c chosen, err error) {
	if _, there := s.Damper(a.Damper); !there {
		return chosen{}, nil
	}
	request, err := ReadFits(a.Request)
	if err != nil {
		return c, err
	}
	c, faults := (&QuoteAxle{Damper: a.Damper, Quantity: a.Quantity, Fits: request}).answerFor(s, from, lang)
	return c, refused(faults, request.Units)
}

func (j *quoteTodayJSON) add(axle *string, changes []note.Note, lang string) {
	for i := range changes {
		n := &changes[i]
		j.Changes = append(j.Changes, quoteChangeJSON{axle, n.Code, n.Text(lang, unit.Millimetres), AppendValues(nil, n.Values, unit.Millimetres)})
	}
}

// verdictOf reads what an answer says of the one damper that it judges.
func verdictOf(answer json.RawMessage) (v quote.Verdict) {
	if answer == nil {
		return quote.Verdict{Gone: true}
	}
	var read struct {
		Fits []struct {
			Grade, Mounted string
			Damper         struct{ Compressed, Extended json.RawMessage }
		}
	}
	if err := json.Unmarshal(answer, &read); err != nil || len(read.Fits) == 0 {
		return v
	}
	f := &read.Fits[0]
	return quote.Verdict{Fits: true, Grade: f.Grade, Mounted: f.Mounted, Lengths: string(f.Damper.Compressed) + " " + string(f.Damper.Extended)}
}

// linesOf reads the lines of a pick list.
func linesOf(list json.RawMessage) (lines []quote.Line) {
	var read []struct {
		Kind, Text string
		Code, Each *string
		Quantity   int
	}
	if err := json.Unmarshal(list, &read); err != nil {
		return nil
	}
	for i := range read {
		l := &read[i]
		lines = append(lines, quote.Line{Kind: l.Kind, Text: l.Text, Quantity: l.Quantity, Code: textOr(l.Code), Each: textOr(l.Each)})
	}
	return lines
}

func textOr(text *string) string { return *cmp.Or(text, new(string)) }
