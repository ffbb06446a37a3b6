package wire

import (
	"encoding/json"

	"midstroke/internal/fit"
	"midstroke/internal/quote"
)

// quoteContent is the part of a quote that never changes.
type quoteContent struct {
	Language string           `json:"language"`
	Axles    []quotedAxleJSON `json:"axles"`
	PickList json.RawMessage  `json:"pick_list"`
	Total    totalJSON        `json:"total"`
}

type quotedAxleJSON struct {
	Axle     string          `json:"axle"`
	Damper   string          `json:"damper"`
	Quantity int             `json:"quantity"`
	Fits     bool            `json:"fits"`
	Risk     *riskJSON       `json:"accepted_risk"`
	Request  json.RawMessage `json:"request"`
	Answer   json.RawMessage `json:"answer"`
}

// appendTo appends what json.Marshal would give, without reading the raw members again.
func (c *quoteContent) appendTo(dst []byte) []byte {
	w := writer{b: append(dst, `{"language":`...)}
	w.appendText(c.Language)
	w.b = append(w.b, `,"axles":[`...)
	for i := range c.Axles {
		if i > 0 {
			w.nextItem()
		}
		c.Axles[i].write(&w)
	}
	w.b = append(append(w.b, `],"pick_list":`...), c.PickList...)
	w.b = append(w.b, `,"total":{"amount":`...)
	w.appendText(c.Total.Amount)
	w.b = append(w.b, `,"currency":`...)
	w.appendText(c.Total.Currency)
	w.b = append(w.b, `,"complete":`...)
	w.appendFlag(c.Total.Complete)
	return append(w.b, "}}"...)
}

// size is how long the content gets, or a little more.
func (c *quoteContent) size() int {
	const members = 512 // of an axle, or of the content, without what is raw
	size := members + len(c.PickList)
	for i := range c.Axles {
		size += members + len(c.Axles[i].Request) + len(c.Axles[i].Answer)
	}
	return size
}

func (a *quotedAxleJSON) write(w *writer) {
	w.b = append(w.b, `{"axle":`...)
	w.appendText(a.Axle)
	w.b = append(w.b, `,"damper":`...)
	w.appendText(a.Damper)
	w.b = append(w.b, `,"quantity":`...)
	w.appendWhole(a.Quantity)
	w.b = append(w.b, `,"fits":`...)
	w.appendFlag(a.Fits)
	w.b = append(w.b, `,"accepted_risk":`...)
	if a.Risk == nil {
		w.appendNull()
	} else {
		w.b = append(w.b, `{"by":`...)
		w.appendText(a.Risk.By)
		w.b = append(w.b, `,"reason":`...)
		w.appendText(a.Risk.Reason)
		w.b = append(w.b, '}')
	}
	w.b = append(append(w.b, `,"request":`...), a.Request...)
	w.b = append(append(w.b, `,"answer":`...), a.Answer...)
	w.b = append(w.b, '}')
}

// needsOf adds up a pick list by part.
func needsOf(list []fit.Pick) []quote.Need {
	lines := make([]quote.Line, len(list))
	for i := range list {
		lines[i] = quote.Line{Code: list[i].Code, Quantity: list[i].Quantity}
	}
	return quote.NeedsOf(lines)
}
