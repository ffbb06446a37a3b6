package fit_test

import (
	"cmp"
	"math/big"
	"slices"

	"midstroke/internal/catalog"
	"midstroke/internal/fit"
	"midstroke/internal/mount"
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

func choices(s *catalog.Snapshot, end mount.End, style mount.Style, b mount.Bracket, adapters bool) []choice {
	var list []choice
	if end.Style == style {
		r := s.Shelf().BoltUp(end, b, mount.Options{})
		list = append(list, choice{parts: r.Parts, ok: r.Possible, price: r.Cost})
	}
	if adapters {
		for _, a := range s.Shelf().Adapted(end, style) {
			r := s.Shelf().BoltUpThrough(a, b, mount.Options{})
			list = append(list, choice{adds: a.AddsLength, parts: r.Parts, used: 1, ok: r.Possible, price: r.Cost, code: a.Code})
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
		l.HasMaxPrice && (d.Price == mount.NoPrice || d.Price > l.MaxPrice),
		lean > 45 && d.Construction == catalog.TwinTube && !d.Gas:
		return false
	}
	return true
}

func bruteForce(r *fit.Request, s *catalog.Snapshot, n need) []bruteFit {
	var all []bruteFit
	dampers := s.Dampers()
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
			for _, u := range choices(s, top, n.upperStyle, r.Upper, !r.Limits.NoAdapters) {
				for _, l := range choices(s, bottom, n.lowerStyle, r.Lower, !r.Limits.NoAdapters) {
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
	c, e := d.Compressed+u.adds+l.adds, d.Extended+u.adds+l.adds
	if !u.ok || !l.ok || n.shorter-c < n.c.Least || e-n.longer < n.e.Least {
		return nil
	}
	f := &bruteFit{
		code: d.Code, grade: 2, adapters: u.used + l.used, parts: u.parts + l.parts,
		stroke: d.Extended - d.Compressed, price: d.Price,
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
