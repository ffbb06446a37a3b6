package fit_test

import (
	"cmp"
	"math/big"
	"slices"

	"midstroke/internal/catalog"
	"midstroke/internal/fit"
	"midstroke/internal/mount"
	"midstroke/internal/mount/mounttest"
	"midstroke/internal/unit"
)

// bruteFit is a fit as a plain loop over everything finds it. It shares no
// code with the search: lengths are added up here, and nearness is counted
// with big rationals.
type bruteFit struct {
	code     string
	grade    int
	adapters int
	step     int64
	parts    int
	stroke   unit.Length
	price    mount.Price
	inverted bool
	unpriced int         // ends with a part that has no price
	cost     mount.Price // of the hardware of the others
	codes    [2]string   // of the adapters, the upper one first
}

// need is the working length and the travel asked for, as the test worked them out
// itself.
type need struct {
	value, shorter, longer unit.Length
	low, high              unit.Length
	c, e                   fit.Need
	prefer                 *big.Rat
	upperStyle, lowerStyle mount.Style
	// rod is what a stop on the rod adds to every compressed length.
	rod unit.Length
	// unsure gives the case up where rounding decides; nil where all is exact.
	unsure func(f bruteFit, compressed, extended, tolerance unit.Length)
	// late says whether the bump stop comes late for a damper of that usable
	// compressed length.
	late func(compressed unit.Length) bool
}

// choice is an end as it is, or with an adapter on it.
type choice struct {
	adds  unit.Length
	parts int
	used  int
	ok    bool
	price mount.Price
	code  string
}

// hardware is the parts that a request may use, and what became of the ends that
// were judged already.
type hardware struct {
	parts mounttest.Parts
	known map[atBracket]*mounttest.Way
}

type atBracket struct {
	end     mount.End
	bracket mount.Bracket
}

func newHardware(s *catalog.Snapshot, inStock bool) *hardware {
	h := &hardware{known: map[atBracket]*mounttest.Way{}, parts: mounttest.Parts{
		Sleeves: s.Sleeves(), Spacers: s.Spacers(), Adapters: s.Adapters(), Limits: s.Limits(),
	}}
	if inStock {
		h.parts = h.parts.InStock()
	}
	return h
}

func (h *hardware) best(end mount.End, b mount.Bracket) *mounttest.Way {
	at := atBracket{end, b}
	if _, known := h.known[at]; !known {
		h.known[at] = mounttest.Best(end, b, h.parts)
	}
	return h.known[at]
}

// choices are all ways to bring an end to a place, by rules that share no code with
// package mount.
func (h *hardware) choices(end mount.End, style mount.Style, b mount.Bracket, adapters bool) []choice {
	var list []choice
	add := func(c choice, w *mounttest.Way, adapter mount.Price) {
		if w == nil {
			return
		}
		cost := w.Cost()
		if c.used > 0 {
			cost = cost.Add(adapter)
		}
		c.ok, c.price, c.parts = true, cost.Price(), c.used+w.Parts()
		list = append(list, c)
	}
	if end.Style == style {
		add(choice{}, h.best(end, b), 0)
	}
	for i := range h.parts.Adapters {
		if a := &h.parts.Adapters[i]; adapters && a.To.Style == style && mounttest.Mates(a.From, end, h.parts.Limits) {
			add(choice{adds: a.AddsLength, used: 1, code: a.Code}, h.best(a.To, b), a.Price)
		}
	}
	return list
}

// allowed holds a damper against the limits, one by one.
func allowed(d *catalog.Damper, l fit.Limits, lean float64) bool {
	switch {
	case l.MaxBodyDiameter > 0 && d.BodyDiameter > l.MaxBodyDiameter,
		l.MaxCompressed > 0 && d.Compressed > l.MaxCompressed,
		l.Construction != 0 && d.Construction != l.Construction,
		l.Adjusters&^d.Adjusters != 0,
		l.InStock && !d.InStock,
		d.Adjusters&catalog.RideHeight != 0 && !l.LoadCarrying && l.Adjusters&catalog.RideHeight == 0,
		l.HasMaxPrice && (d.Price == mount.NoPrice || d.Price > l.MaxPrice),
		lean > 45 && d.Construction == catalog.TwinTube && !d.Gas:
		return false
	}
	return true
}

func bruteForce(r *fit.Request, s *catalog.Snapshot, n need) []bruteFit {
	var all []bruteFit
	dampers := s.Dampers()
	parts := newHardware(s, r.Limits.InStock)
	for i := range dampers {
		d := &dampers[i]
		if !allowed(d, r.Limits, r.LeanDeg) {
			continue
		}
		var best *bruteFit
		for _, inverted := range []bool{false, true} {
			// A twin-tube damper without gas must stand upright.
			oil := d.Construction == catalog.TwinTube && !d.Gas
			if inverted && (!d.Invertible || oil) || inverted && r.Limits.Mounting == fit.AsListed || !inverted && r.Limits.Mounting == fit.Inverted {
				continue
			}
			top, bottom := d.Upper, d.Lower
			if inverted {
				top, bottom = bottom, top
			}
			for _, u := range parts.choices(top, n.upperStyle, r.Upper, !r.Limits.NoAdapters) {
				for _, l := range parts.choices(bottom, n.lowerStyle, r.Lower, !r.Limits.NoAdapters) {
					f := bruteOne(d, n, u, l)
					if f == nil {
						continue
					}
					f.inverted = inverted
					if best == nil || order(*f, *best) < 0 {
						best = f
					}
				}
			}
		}
		if best != nil {
			all = append(all, *best)
		}
	}
	slices.SortFunc(all, order)
	return all
}

func bruteOne(d *catalog.Damper, n need, u, l choice) *bruteFit {
	c, e := d.Compressed+u.adds+l.adds+n.rod, d.Extended+u.adds+l.adds
	if n.unsure != nil && u.ok && l.ok && c < e {
		n.unsure(bruteFit{stroke: e - c}, c, e, d.LengthTolerance)
	}
	if !u.ok || !l.ok || c >= e || n.shorter-c < n.c.Least || e-n.longer < n.e.Least {
		return nil
	}
	f := &bruteFit{
		code: d.Code, grade: 2, adapters: u.used + l.used, parts: u.parts + l.parts,
		stroke: e - c, price: d.Price,
	}
	f.codes = [2]string{u.code, l.code}
	for _, price := range []mount.Price{u.price, l.price} {
		if price == mount.NoPrice {
			f.unpriced++
		} else {
			f.cost += price
		}
	}
	worstC, worstE := n.low-c-d.LengthTolerance, e-d.LengthTolerance-n.high
	switch {
	case worstC >= n.c.WantedWorst && worstE >= n.e.WantedWorst:
		f.grade = 0
	case worstC >= n.c.LeastWorst && worstE >= n.e.LeastWorst:
		f.grade = 1
	}
	if f.grade < 2 && n.late(c) {
		f.grade = 2
	}
	off := new(big.Rat).SetFrac64(int64(n.value-c), int64(f.stroke))
	off.Sub(off, n.prefer).Abs(off)
	for limit := big.NewRat(1, 20); off.Cmp(limit) > 0; limit.Add(limit, big.NewRat(1, 20)) {
		f.step++
	}
	return f
}

func order(a, b bruteFit) int {
	price := func(p mount.Price) mount.Price {
		if p == mount.NoPrice {
			return 1 << 62
		}
		return p
	}
	way := func(inverted bool) int {
		if inverted {
			return 1
		}
		return 0
	}
	return cmp.Or(
		cmp.Compare(a.grade, b.grade), cmp.Compare(a.adapters, b.adapters), cmp.Compare(a.step, b.step),
		cmp.Compare(a.parts, b.parts), cmp.Compare(a.stroke, b.stroke), cmp.Compare(price(a.price), price(b.price)),
		cmp.Compare(way(a.inverted), way(b.inverted)), cmp.Compare(a.code, b.code),
		cmp.Compare(a.unpriced, b.unpriced), cmp.Compare(a.cost, b.cost), slices.Compare(a.codes[:], b.codes[:]),
	)
}
