package wire

import (
	"bytes"
	"encoding/json"
	"slices"

	"midstroke/internal/catalog"
	"midstroke/internal/fit"
	"midstroke/internal/mount"
	"midstroke/internal/unit"
)

// MostChanges is how many changes are listed; all are counted.
const MostChanges = 1000

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
// another way. Lengths are in units. A sample at fault is an error, a Faults.
func AppendChanges(dst []byte, before, after *catalog.Snapshot, units unit.System, samples []FitsRequest) ([]byte, error) {
	c := catalog.Compare(before, after)
	l := &lister{units: units, before: before, after: after, changes: []changeJSON{}}
	doc := changesJSON{
		Units: units.String(), Catalog: after.Name(), From: before.Revision(), To: after.Revision(),
		Dampers:  listed(l, "damper", c.Dampers, func(d *catalog.Damper) string { return d.Code }, listedDamper),
		Sleeves:  listed(l, "sleeve", c.Sleeves, func(s *mount.Sleeve) string { return s.Code }, listedSleeve),
		Spacers:  listed(l, "spacer", c.Spacers, func(s *mount.Spacer) string { return s.Code }, listedSpacer),
		Adapters: listed(l, "adapter", c.Adapters, func(a *mount.Adapter) string { return a.Code }, listedAdapter),
		Settings: fields(units, writes(settings, before, ""), writes(settings, after, "")),
	}
	doc.Changes, doc.Unlisted = l.changes, l.unlisted
	if samples != nil {
		sampled := make([]sampledJSON, len(samples))
		var faults Faults
		for i := range samples {
			faults = append(faults, sampleFaults(i, sample(&sampled[i], &samples[i], before, after))...)
		}
		if len(faults) > 0 {
			return dst, faults
		}
		doc.Samples = &sampled
	}
	return appendJSON(dst, doc), nil
}

// lister collects changes up to MostChanges.
type lister struct {
	units         unit.System
	before, after *catalog.Snapshot
	changes       []changeJSON
	unlisted      int
}

func listed[T any](l *lister, kind string, d catalog.Difference[T], code func(*T) string, of members[T]) countsJSON {
	for _, part := range d.Removed {
		l.add(func() changeJSON { return changeJSON{kind, code(part), "removed", []fieldJSON{}} })
	}
	for _, part := range d.Added {
		l.add(func() changeJSON { return changeJSON{kind, code(part), "added", []fieldJSON{}} })
	}
	for _, change := range d.Changed {
		l.add(func() changeJSON {
			return changeJSON{kind, code(change.After), "changed", fields(l.units,
				writes(of, change.Before, l.before.Currency()), writes(of, change.After, l.after.Currency()))}
		})
	}
	return countsJSON{len(d.Added), len(d.Removed), len(d.Changed)}
}

func (l *lister) add(change func() changeJSON) {
	if len(l.changes) == MostChanges {
		l.unlisted++
		return
	}
	l.changes = append(l.changes, change())
}

// settings is what a revision has beside its parts.
var settings = members[catalog.Snapshot]{
	aText("currency", (*catalog.Snapshot).Currency),
	aLength("sleeve_gap_least", func(s *catalog.Snapshot) unit.Length { return s.Limits().SleeveGapLeast }),
	aLength("sleeve_gap_most", func(s *catalog.Snapshot) unit.Length { return s.Limits().SleeveGapMost }),
	aLength("bolt_gap_least", func(s *catalog.Snapshot) unit.Length { return s.Limits().BoltGapLeast }),
	aLength("bolt_gap_most", func(s *catalog.Snapshot) unit.Length { return s.Limits().BoltGapMost }),
	aLength("left_over_most", func(s *catalog.Snapshot) unit.Length { return s.Limits().LeftOverMost }),
}

// writes gives what writes the object made from v, with prices in a currency.
func writes[T any](of members[T], v *T, currency string) func(*writer) {
	return func(w *writer) {
		w.currency = currency
		of.write(w, v)
	}
}

// fields gives the members in which two JSON objects differ. They are compared
// in millimetres, in which every length is exact, and shown in units.
func fields(units unit.System, before, after func(*writer)) []fieldJSON {
	from, to := leaves(unit.Millimetres, before), leaves(unit.Millimetres, after)
	var names []string
	for name, value := range from {
		if !bytes.Equal(value, to[name]) {
			names = append(names, name)
		}
	}
	for name := range to {
		if _, ok := from[name]; !ok {
			names = append(names, name)
		}
	}
	slices.Sort(names)
	from, to = leaves(units, before), leaves(units, after)
	differ := []fieldJSON{}
	for _, name := range names {
		differ = append(differ, fieldJSON{name, valueOrNull(from[name]), valueOrNull(to[name])})
	}
	return differ
}

func valueOrNull(value json.RawMessage) json.RawMessage {
	if value == nil {
		return json.RawMessage("null")
	}
	return value
}

// leaves gives the members of an object by their paths, joined by points.
func leaves(units unit.System, write func(*writer)) map[string]json.RawMessage {
	w := writer{units: units}
	write(&w)
	found := map[string]json.RawMessage{}
	var walk func(path string, raw json.RawMessage)
	walk = func(path string, raw json.RawMessage) {
		var members map[string]json.RawMessage
		if raw[0] != '{' || json.Unmarshal(raw, &members) != nil {
			found[path] = raw
			return
		}
		for name, value := range members {
			at := name
			if path != "" {
				at = path + "." + name
			}
			walk(at, value)
		}
	}
	walk("", w.b)
	return found
}

// sample asks one request of both revisions.
func sample(to *sampledJSON, r *FitsRequest, before, after *catalog.Snapshot) Faults {
	// Answers are held against each other as they are written, but for the
	// number of the revision.
	was, found := fit.Find(&r.Fit, before)
	if len(found) > 0 {
		return r.Place(found)
	}
	is, found := fit.Find(&r.Fit, after)
	if len(found) > 0 {
		return r.Place(found)
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
