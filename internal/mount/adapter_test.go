package mount_test

import (
	"testing"

	"pgregory.net/rapid"

	"midstroke/internal/mount"
	_ "midstroke/internal/seeded"
)

func TestWhichAdaptersMate(t *testing.T) {
	m10 := bolt(t, "M10x1.25").Thread
	eye := mount.End{Style: mount.Eye, Bore: 16 * mm, Width: 31 * mm}
	stud := mount.End{Style: mount.Stud, Thread: m10, UsableLength: 40 * mm}
	pin := mount.End{Style: mount.BarPin, HoleSpacing: 60 * mm, Slot: 4 * mm, Hole: 12 * mm}
	for _, c := range []struct {
		what string
		from mount.End
		end  mount.End
		want bool
	}{
		{"an eye like it", eye, eye, true},
		{"any eye", mount.End{Style: mount.Eye}, eye, true},
		{"a bore larger by a sleeve's clearance", eye, mount.End{Style: mount.Eye, Bore: 16300 * um, Width: 31 * mm}, true},
		{"by more", eye, mount.End{Style: mount.Eye, Bore: 16300*um + 1, Width: 31 * mm}, false},
		{"a smaller bore", eye, mount.End{Style: mount.Eye, Bore: 16*mm - 1, Width: 31 * mm}, false},
		{"a bore not known", eye, mount.End{Style: mount.Eye, Width: 31 * mm}, false},
		{"a nominal bore of that size", eye, mount.End{Style: mount.Eye, Bore: 16 * mm, BoreIs: mount.Nominal, Width: 31 * mm}, true},
		{"a nominal bore beside it", eye, mount.End{Style: mount.Eye, Bore: 16100 * um, BoreIs: mount.Nominal, Width: 31 * mm}, false},
		{"narrower by what may be left over", eye, mount.End{Style: mount.Eye, Bore: 16 * mm, Width: 30500 * um}, true},
		{"narrower by more", eye, mount.End{Style: mount.Eye, Bore: 16 * mm, Width: 30500*um - 1}, false},
		{"wider", eye, mount.End{Style: mount.Eye, Bore: 16 * mm, Width: 31*mm + 1}, false},
		{"a width not known", eye, mount.End{Style: mount.Eye, Bore: 16 * mm}, false},
		{"another style", eye, stud, false},
		{"a stud like it", stud, stud, true},
		{"a longer stud", stud, mount.End{Style: mount.Stud, Thread: m10, UsableLength: 50 * mm}, true},
		{"a shorter one", stud, mount.End{Style: mount.Stud, Thread: m10, UsableLength: 39 * mm}, false},
		{"another pitch", stud, mount.End{Style: mount.Stud, Thread: bolt(t, "M10").Thread, UsableLength: 40 * mm}, false},
		{"a bar pin like it", pin, pin, true},
		{"half of both slots off", pin, mount.End{Style: mount.BarPin, HoleSpacing: 64 * mm, Slot: 4 * mm, Hole: 12 * mm}, true},
		{"more off", pin, mount.End{Style: mount.BarPin, HoleSpacing: 64*mm + 1, Slot: 4 * mm, Hole: 12 * mm}, false},
		{"another hole", pin, mount.End{Style: mount.BarPin, HoleSpacing: 60 * mm, Slot: 4 * mm, Hole: 14 * mm}, false},
	} {
		shelf := mount.NewShelf(nil, nil, []mount.Adapter{{Code: "x", From: c.from, To: eye}}, mount.UsualLimits())
		same(t, c.what, len(shelf.Adapted(c.end, mount.Eye)) == 1, c.want)
		same(t, c.what+", to another style", len(shelf.Adapted(c.end, mount.Stud)), 0)
	}
}

func TestAdaptersComeByCode(t *testing.T) {
	eye := mount.End{Style: mount.Eye}
	pin := mount.End{Style: mount.BarPin, HoleSpacing: 60 * mm}
	rapid.Check(t, func(t *rapid.T) {
		list := rapid.Permutation([]mount.Adapter{
			{Code: "a", From: eye, To: pin}, {Code: "b", From: pin, To: pin}, {Code: "c", From: eye, To: pin}, {Code: "d", From: eye, To: eye}, {Code: "e", From: eye, To: pin},
		}).Draw(t, "adapters")
		got := ""
		for _, a := range mount.NewShelf(nil, nil, list, mount.UsualLimits()).Adapted(mount.End{Style: mount.Eye, Bore: 16 * mm}, mount.BarPin) {
			got += a.Code
		}
		if got != "ace" {
			t.Fatalf("adapters %s", got)
		}
	})
}

func TestThroughAnAdapter(t *testing.T) {
	eye := mount.End{Style: mount.Eye, Bore: 16 * mm, Width: 31 * mm}
	adapters := []mount.Adapter{
		// Both make a stud an eye; the first wants a sleeve for M10, the second none.
		{Code: "a", From: mount.End{Style: mount.Stud}, To: eye, AddsLength: 12 * mm, Price: 900},
		{Code: "b", From: mount.End{Style: mount.Stud}, To: mount.End{Style: mount.Eye, Bore: 10200 * um, Width: 31 * mm}, AddsLength: -5 * mm, Price: 1100},
		{Code: "c", From: mount.End{Style: mount.Stud}, To: mount.End{Style: mount.Eye, Bore: 10200 * um, Width: 31 * mm}, Price: 1000},
	}
	sleeves := []mount.Sleeve{{Code: "s", Outer: 16 * mm, Bore: 10200 * um, Length: 31 * mm, Price: 150}}
	shelf := mount.NewShelf(sleeves, nil, adapters, mount.UsualLimits())
	m10 := mount.Bracket{Bolt: bolt(t, "M10"), Opening: 31 * mm}
	stud := mount.End{Style: mount.Stud, Thread: bolt(t, "M10").Thread}

	r := shelf.BoltUpThrough(shelf.Adapted(stud, mount.Eye)[0], m10, mount.Options{})
	same(t, "possible", r.Possible, true)
	same(t, "adapter", r.Adapter.Code, "a")
	same(t, "parts", r.Parts, 2)
	same(t, "cost", r.Cost, mount.Price(1050))

	r = shelf.BoltUpAs(stud, mount.Eye, m10, mount.Options{})
	same(t, "fewest parts, then cheapest", r.Adapter.Code, "c")
	same(t, "parts", r.Parts, 1)

	// Straight where it can be done, even where it takes more parts.
	r = shelf.BoltUpAs(eye, mount.Eye, m10, mount.Options{})
	same(t, "straight", r.Possible && r.Adapter == nil, true)

	// M14 goes with none of them: the styles differ all the same.
	m14 := mount.Bracket{Bolt: bolt(t, "M14")}
	r = shelf.BoltUpAs(stud, mount.Eye, m14, mount.Options{Detail: true})
	same(t, "possible", r.Possible, false)
	same(t, "reason", reasonsOf(r), "end_styles_differ")
	same(t, "cure", r.Cures[0].Kind, mount.AddAdapter)
	// Where they are alike the straight way is told of.
	r = shelf.BoltUpAs(eye, mount.Eye, m14, mount.Options{Detail: true})
	same(t, "reason", reasonsOf(r), "no_sleeve_fits")
}

func TestStylesOutsideTheMethod(t *testing.T) {
	shelf := mount.NewShelf(nil, nil, nil, mount.UsualLimits())
	for _, style := range []mount.Style{mount.Fork, mount.SpindleStrut} {
		r := shelf.BoltUp(mount.End{Style: style}, mount.Bracket{}, mount.Options{Detail: true})
		same(t, style.String(), r.Possible, false)
		same(t, style.String(), reasonsOf(r), "end_outside_method")
		same(t, "adapters", len(shelf.Adapted(mount.End{Style: style}, mount.Eye)), 0)
	}
}
