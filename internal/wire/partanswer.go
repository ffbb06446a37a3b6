package wire

import (
	"midstroke/internal/catalog"
	"midstroke/internal/mount"
	"midstroke/internal/unit"
)

// damperMembers are what an answer says of a damper.
var damperMembers = members[catalog.Damper]{
	aText("code", func(d *catalog.Damper) string { return d.Code }),
	aText("description", func(d *catalog.Damper) string { return d.Description }),
	aText("construction", func(d *catalog.Damper) string { return d.Construction.String() }),
	aFlag("gas", func(d *catalog.Damper) bool { return d.Gas }),
	aListOf("adjusters", textKind, func(d *catalog.Damper) []string { return adjusterNames[d.Adjusters] }, (*writer).appendText),
	aLength("compressed", func(d *catalog.Damper) unit.Length { return d.Compressed }),
	aLength("extended", func(d *catalog.Damper) unit.Length { return d.Extended }),
	aLength("stroke", (*catalog.Damper).Stroke),
	aLengthOrNull("body_diameter", func(d *catalog.Damper) unit.Length { return d.BodyDiameter }),
}

// adjusterNames are the names in each set of adjusters.
var adjusterNames = func() (names [1 << 8][]string) {
	for set := range names {
		names[set] = catalog.Adjusters(set).Names()
	}
	return names
}()

// adapterMembers are what an answer says of an adapter.
var adapterMembers = members[mount.Adapter]{
	aText("code", func(a *mount.Adapter) string { return a.Code }),
	aText("description", func(a *mount.Adapter) string { return a.Description }),
	aText("from_style", func(a *mount.Adapter) string { return a.From.Style.String() }),
	aText("to_style", func(a *mount.Adapter) string { return a.To.Style.String() }),
	aLength("adds_length", func(a *mount.Adapter) unit.Length { return a.AddsLength }),
	anObject("from", endMembers, func(a *mount.Adapter) *mount.End { return &a.From }),
	anObject("to", endMembers, func(a *mount.Adapter) *mount.End { return &a.To }),
}

// endMembers are the style of an end and the measures that its style has.
var endMembers = members[mount.End]{
	aText("style", func(e *mount.End) string { return e.Style.String() }),
	aLengthOrNull("bore", func(e *mount.End) unit.Length { return e.Bore }).when(styled(mount.Eye)),
	aText("bore_is", func(e *mount.End) string { return e.BoreIs.String() }).when(styled(mount.Eye)),
	aLengthOrNull("width", func(e *mount.End) unit.Length { return e.Width }).when(styled(mount.Eye)),
	aTextOrNull("thread", func(e *mount.End) string { return e.Thread.String() }).when(styled(mount.Stud)),
	aLengthOrNull("usable_length", func(e *mount.End) unit.Length { return e.UsableLength }).when(styled(mount.Stud)),
	aLengthOrNull("spigot", func(e *mount.End) unit.Length { return e.Spigot }).when(styled(mount.Stud)),
	aLengthOrNull("hole_spacing", func(e *mount.End) unit.Length { return e.HoleSpacing }).when(styled(mount.BarPin)),
	aLength("slot", func(e *mount.End) unit.Length { return e.Slot }).when(styled(mount.BarPin)),
	aLengthOrNull("hole", func(e *mount.End) unit.Length { return e.Hole }).when(styled(mount.BarPin)),
}

func styled(s mount.Style) func(*mount.End) bool {
	return func(e *mount.End) bool { return e.Style == s }
}
