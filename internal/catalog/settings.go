package catalog

import (
	"midstroke/internal/fault"
	"midstroke/internal/mount"
	"midstroke/internal/note"
	"midstroke/internal/unit"
)

// Settings are what a catalogue sets for all of its parts.
type Settings struct {
	Currency string // ISO 4217, "" where no part has a price
	Limits   mount.Limits
}

// Settings gives the settings of the contents.
func (c *Contents) Settings() Settings { return Settings{Currency: c.Currency, Limits: c.Limits} }

var settingsTable = Table[Settings]{
	Name: "catalog", Item: "catalog", Blank: Settings{Limits: mount.UsualLimits()}, Faults: (*Settings).Faults,
	Fields: settingsFields,
}

var settingsFields = []Field[Settings]{
	{Name: "currency", Kind: KindText, Text: func(s *Settings) *string { return &s.Currency }, About: "field_currency"},
	limit("sleeve_gap_least", "field_sleeve_gap_least", func(l *mount.Limits) *unit.Length { return &l.SleeveGapLeast }),
	limit("sleeve_gap_most", "field_sleeve_gap_most", func(l *mount.Limits) *unit.Length { return &l.SleeveGapMost }),
	limit("bolt_gap_least", "field_bolt_gap_least", func(l *mount.Limits) *unit.Length { return &l.BoltGapLeast }),
	limit("bolt_gap_most", "field_bolt_gap_most", func(l *mount.Limits) *unit.Length { return &l.BoltGapMost }),
	limit("left_over_most", "field_left_over_most", func(l *mount.Limits) *unit.Length { return &l.LeftOverMost }),
}

func limit(name string, about note.Code, field func(*mount.Limits) *unit.Length) Field[Settings] {
	return Field[Settings]{
		Name: name, Kind: KindLength, Zero: ZeroCounts, About: about,
		Length: func(s *Settings) *unit.Length { return field(&s.Limits) },
	}
}

// Faults gives every fault of the settings, with pointers from them.
func (s *Settings) Faults() fault.List {
	var faults fault.List
	if s.Currency != "" && !IsCurrency(s.Currency) {
		faults.Add("/currency", currencyUnknown)
	}
	for _, pair := range [...]struct {
		least, most unit.Length
		name        string
	}{
		{s.Limits.SleeveGapLeast, s.Limits.SleeveGapMost, "sleeve_gap"},
		{s.Limits.BoltGapLeast, s.Limits.BoltGapMost, "bolt_gap"},
	} {
		if pair.most < pair.least {
			faults.Add("/"+pair.name+"_most", mostBelowLeast)
		}
	}
	for i := range settingsFields {
		settingsFields[i].check(s, &faults)
	}
	return faults
}

// IsCurrency says whether a code has the form of ISO 4217.
func IsCurrency(code string) bool {
	if len(code) != 3 {
		return false
	}
	for i := range len(code) {
		if code[i] < 'A' || code[i] > 'Z' {
			return false
		}
	}
	return true
}
