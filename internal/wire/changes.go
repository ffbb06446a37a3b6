package wire

import (
	"bytes"
	"encoding/json"
	"slices"
	"strconv"
	"strings"

	"midstroke/internal/catalog"
	"midstroke/internal/fault"
	"midstroke/internal/fit"
	"midstroke/internal/mount"
	"midstroke/internal/unit"
)

type changesJSON struct {
	Units    string         `json:"units"`
	Catalog  string         `json:"catalog"`
	From     int            `json:"from"`
	To       int            `json:"to"`
	Dampers  countsJSON     `json:"dampers"`
	Sleeves  countsJSON     `json:"sleeves"`
	Spacers  countsJSON     `json:"spacers"`
	Adapters countsJSON     `json:"adapters"`
	Settings []fieldJSON    `json:"settings"`
	Changes  []changeJSON   `json:"changes"`
	Unlisted int            `json:"unlisted"`
	Samples  *[]sampledJSON `json:"samples,omitempty"`
}

type countsJSON struct {
	Added   int `json:"added"`
	Removed int `json:"removed"`
	Changed int `json:"changed"`
}

type changeJSON struct {
	Kind   string      `json:"kind"`
	Code   string      `json:"code"`
	Change string      `json:"change"`
	Fields []fieldJSON `json:"fields"`
}

type fieldJSON struct {
	Field  string          `json:"field"`
	Before json.RawMessage `json:"before"`
	After  json.RawMessage `json:"after"`
}

type sampledJSON struct {
	Reference *string    `json:"reference"`
	Changed   bool       `json:"changed"`
	Before    answerJSON `json:"before"`
	After     answerJSON `json:"after"`
}

type answerJSON struct {
	Outcome string   `json:"outcome"`
	Codes   []string `json:"codes"`
}

// AppendChanges appends what changed from one revision to another, field by
// field, and, where there are samples, which of them would be answered in
// another way by the two snapshots, which are nil without samples. Lengths are in
// units. Samples at fault are an error, a *Refused.
func AppendChanges(dst []byte, c *catalog.Changes, units unit.System, samples []FitsRequest, before, after *catalog.Snapshot) ([]byte, error) {
	was, is := c.From.Settings, c.To.Settings
	l := &lister{units: units, from: was.Currency, to: is.Currency, changes: []changeJSON{}}
	doc := changesJSON{
		Units: units.String(), Catalog: c.Catalog, From: c.From.Revision, To: c.To.Revision,
		Dampers:  listed(l, catalog.DamperTable(), c.Dampers),
		Sleeves:  listed(l, catalog.SleeveTable(), c.Sleeves),
		Spacers:  listed(l, catalog.SpacerTable(), c.Spacers),
		Adapters: listed(l, catalog.AdapterTable(), c.Adapters),
		Settings: differences(l, catalog.SettingsTable().Fields, &was, &is),
	}
	doc.Changes, doc.Unlisted = l.changes, l.unlisted
	if samples != nil {
		sampled := make([]sampledJSON, len(samples))
		var faults fault.List
		for i := range samples {
			faults.AddUnder("/samples/"+strconv.Itoa(i), sample(&sampled[i], &samples[i], before, after))
		}
		if len(faults) > 0 {
			return dst, refused(faults, units)
		}
		doc.Samples = &sampled
	}
	return appendJSON(dst, doc), nil
}

// A lister collects changes up to catalog.MostChanges; all are counted.
type lister struct {
	units    unit.System
	from, to string // the currencies
	changes  []changeJSON
	unlisted int
}

func listed[T any](l *lister, kind *catalog.Table[T], d catalog.Difference[T]) countsJSON {
	for _, part := range d.Removed {
		l.add(func() changeJSON { return changeJSON{kind.Item, *kind.Code(part), "removed", []fieldJSON{}} })
	}
	for _, part := range d.Added {
		l.add(func() changeJSON { return changeJSON{kind.Item, *kind.Code(part), "added", []fieldJSON{}} })
	}
	for _, c := range d.Changed {
		l.add(func() changeJSON {
			return changeJSON{kind.Item, *kind.Code(c.After), "changed", differences(l, kind.Fields, c.Before, c.After)}
		})
	}
	l.unlisted += d.AddedCount + d.RemovedCount + d.ChangedCount - len(d.Added) - len(d.Removed) - len(d.Changed)
	return countsJSON{d.AddedCount, d.RemovedCount, d.ChangedCount}
}

func (l *lister) add(change func() changeJSON) {
	if len(l.changes) == catalog.MostChanges {
		l.unlisted++
		return
	}
	l.changes = append(l.changes, change())
}

// differences lists the fields in which two parts differ, by their paths.
func differences[T any](l *lister, fields []catalog.Field[T], before, after *T) []fieldJSON {
	differ := []fieldJSON{}
	add := func(path string, was, is json.RawMessage) {
		if string(was) != "null" || string(is) != "null" {
			differ = append(differ, fieldJSON{path, was, is})
		}
	}
	for i := range fields {
		f := &fields[i]
		switch {
		case f.Same(before, after):
		case f.Kind == catalog.KindMoney:
			was, is := l.price(*f.Price(before), l.from), l.price(*f.Price(after), l.to)
			add(f.Path()+".amount", was[0], is[0])
			if !bytes.Equal(was[1], is[1]) {
				add(f.Path()+".currency", was[1], is[1])
			}
		default:
			was, is := valueOf(l, f, before), valueOf(l, f, after)
			add(f.Path(), was, is)
			if f.Beside {
				add(f.Name, was, is)
			}
		}
	}
	slices.SortFunc(differ, func(a, b fieldJSON) int { return strings.Compare(a.Field, b.Field) })
	return differ
}

// valueOf gives a part's value of a field as JSON, null where the part hasn't
// got the field.
func valueOf[T any](l *lister, f *catalog.Field[T], part *T) json.RawMessage {
	if !f.In(part) {
		return json.RawMessage("null")
	}
	w := writer{units: l.units}
	m := fieldValue(f, f.Name)
	m.json(&w, part)
	return w.b
}

// price gives the amount and the currency of a price as JSON, null where there
// is none.
func (l *lister) price(p mount.Price, currency string) [2]json.RawMessage {
	if p == mount.NoPrice {
		return [2]json.RawMessage{json.RawMessage("null"), json.RawMessage("null")}
	}
	var w writer
	w.appendText(currency)
	return [2]json.RawMessage{append(appendAmount([]byte{'"'}, p), '"'), w.b}
}

// sample asks one request of both revisions.
func sample(to *sampledJSON, r *FitsRequest, before, after *catalog.Snapshot) fault.List {
	// The answers are compared as they are written, without the number of the
	// revision.
	was, found := fit.Find(&r.Fit, before)
	if len(found) > 0 {
		return found
	}
	is, found := fit.Find(&r.Fit, after)
	if len(found) > 0 {
		return found
	}
	from := Edition{Name: after.Name(), Currency: before.Currency()}
	now := Edition{Name: after.Name(), Currency: after.Currency()}
	var reference *string // null where there is none, as in fits
	if r.Reference != "" {
		reference = &r.Reference
	}
	*to = sampledJSON{
		Reference: reference,
		Changed:   !bytes.Equal(AppendFits(nil, was, r, from, "en"), AppendFits(nil, is, r, now, "en")),
		Before:    shortAnswer(was), After: shortAnswer(is),
	}
	return nil
}

func shortAnswer(a *fit.Answer) answerJSON {
	short := answerJSON{Outcome: a.Outcome.String(), Codes: []string{}}
	for i := range a.Fits {
		short.Codes = append(short.Codes, a.Fits[i].Damper.Code)
	}
	return short
}
