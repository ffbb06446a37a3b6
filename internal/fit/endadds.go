package fit

import (
	"math"
	"slices"

	"midstroke/internal/mount"
	"midstroke/internal/unit"
)

// appendAdds appends the lengths that an end can add at a site, each once: 0 where it
// bolts up as it is, and those of the adapters with which it does.
func (b *bolting) appendAdds(all []unit.Length, at int, end int32, adapters bool) []unit.Length {
	f, style := b.fastenings[at], b.sites[at].style
	if b.snapshot.Index().End(end).Style == style && f.End(end, false).Possible {
		all = append(all, 0)
	}
	if !adapters {
		return all
	}
	for _, number := range b.snapshot.Adapted(end, style) {
		a := &b.snapshot.Adapters()[number]
		if !slices.Contains(all, a.AddsLength) && b.takes(a) && f.Adapter(number, false).Possible {
			all = append(all, a.AddsLength)
		}
	}
	return all
}

// addsRange bounds what ends of a style may add at a site, whatever hardware there is for
// each of them.
func (b *bolting) addsRange(at int, style mount.Style, adapters bool) addsRange {
	r := addsRange{math.MaxInt64, math.MinInt64}
	if style == b.sites[at].style {
		r = addsRange{0, 0}
	}
	if !adapters {
		return r
	}
	for i := range b.snapshot.Adapters() {
		if a := &b.snapshot.Adapters()[i]; a.From.Style == style && a.To.Style == b.sites[at].style {
			r = addsRange{min(r.least, a.AddsLength), max(r.most, a.AddsLength)}
		}
	}
	return r
}
