package mount_test

import (
	"fmt"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"midstroke/internal/mount"
	"midstroke/internal/mount/mounttest"
	"midstroke/internal/unit"
)

const (
	um = unit.Micrometre
	mm = unit.Millimetre
)

// shownWay writes a way of the brute force as shown writes a result, to be
// compared.
func shownWay(w *mounttest.Way) string {
	if w == nil {
		return "none"
	}
	var sleeves, spacers []string
	for _, s := range w.Sleeves {
		sleeves = append(sleeves, s.Code)
	}
	for _, s := range w.Spacers {
		spacers = append(spacers, s.Code)
	}
	filled := "open"
	if w.Filled {
		filled = fmt.Sprintf("%s left %d", strings.Join(spacers, " "), w.Left)
	}
	return fmt.Sprintf("sleeves %s spacers %s", strings.Join(sleeves, " "), filled)
}

func shown(r mount.Result) string {
	if !r.Possible {
		return "none"
	}
	var sleeves, spacers []string
	for _, u := range r.Sleeves {
		sleeves = append(sleeves, u.Sleeve.Code)
	}
	filled := "open"
	if r.Spacers != nil {
		for _, u := range r.Spacers.EachSide {
			for range u.Quantity {
				spacers = append(spacers, u.Spacer.Code)
			}
		}
		slices.Sort(spacers)
		filled = fmt.Sprintf("%s left %d", strings.Join(spacers, " "), r.Spacers.LeftOver)
	}
	return fmt.Sprintf("sleeves %s spacers %s", strings.Join(sleeves, " "), filled)
}

// bench is a random end, bracket and shelf's parts, coarse enough in its sizes
// that things fit and tie often.
type bench struct {
	end     mount.End
	bracket mount.Bracket
	sleeves []mount.Sleeve
	spacers []mount.Spacer
	limits  mount.Limits
}

func drawLength(t *rapid.T, name string, from, to, step unit.Length) unit.Length {
	return from + unit.Length(rapid.IntRange(0, int((to-from)/step)).Draw(t, name))*step
}

func drawPrice(t *rapid.T) mount.Price {
	return rapid.SampledFrom([]mount.Price{mount.NoPrice, 100, 100, 200, 350}).Draw(t, "price")
}

func drawBoreIs(t *rapid.T) mount.BoreIs {
	return rapid.SampledFrom([]mount.BoreIs{mount.Actual, mount.Actual, mount.Actual, mount.Nominal}).Draw(t, "bore is")
}

func drawBench(t *rapid.T) bench {
	b := bench{limits: mount.UsualLimits()}
	b.limits.SleeveGapMost = drawLength(t, "sleeve gap most", 100*um, 500*um, 100*um)
	b.limits.LeftOverMost = drawLength(t, "left over most", 0, 1*mm, 250*um)
	b.end = mount.End{Style: mount.Eye, Bore: drawLength(t, "bore", 12*mm, 16*mm, 100*um), BoreIs: drawBoreIs(t)}
	if rapid.IntRange(0, 9).Draw(t, "width known") > 0 {
		b.end.Width = drawLength(t, "width", 30*mm, 34*mm, 500*um)
	}
	b.bracket.Bolt.Diameter = drawLength(t, "bolt", 10*mm, 13*mm, 100*um)
	if rapid.IntRange(0, 4).Draw(t, "opening known") > 0 {
		b.bracket.Opening = b.end.Width + drawLength(t, "room", -500*um, 8*mm, 250*um)
		if b.end.Width == 0 {
			b.bracket.Opening += 30 * mm
		}
	}
	// A sleeve goes into the bushing, into a sleeve before it, or anywhere; and
	// it goes on the bolt, or has any wall.
	for i := range rapid.IntRange(0, 14).Draw(t, "sleeves") {
		outer := drawLength(t, "outer", 12*mm, 20*mm, 100*um)
		if into := rapid.IntRange(-2, i).Draw(t, "into"); into >= 0 {
			hole, is := b.end.Bore, b.end.BoreIs
			if into > 0 {
				hole, is = b.sleeves[into-1].Bore, b.sleeves[into-1].BoreIs
			}
			outer = hole
			if is == mount.Actual {
				outer -= drawLength(t, "gap", 0, 300*um, 100*um)
			}
		}
		bore := outer - drawLength(t, "wall", 200*um, 2*mm, 100*um)
		is := drawBoreIs(t)
		if rapid.IntRange(0, 2).Draw(t, "on bolt") == 0 {
			bore = b.bracket.Bolt.Diameter
			if is == mount.Actual {
				bore += drawLength(t, "bolt gap", 0, 600*um, 100*um)
			}
		}
		b.sleeves = append(b.sleeves, mount.Sleeve{
			Code: fmt.Sprintf("s%02d", i), Outer: outer, Bore: bore, BoreIs: is,
			Length: max(b.end.Width, 30*mm) + drawLength(t, "longer", -1*mm, 2*mm, 500*um), Price: drawPrice(t),
		})
	}
	for i := range rapid.IntRange(0, 9).Draw(t, "spacers") {
		b.spacers = append(b.spacers, mount.Spacer{
			Code:      fmt.Sprintf("w%02d", i),
			Bore:      b.bracket.Bolt.Diameter + drawLength(t, "spacer gap", -500*um, 2500*um, 500*um),
			Thickness: drawLength(t, "thickness", 125*um, 2500*um, 125*um), Price: drawPrice(t),
		})
	}
	return b
}

func (b *bench) parts() mounttest.Parts {
	return mounttest.Parts{Sleeves: b.sleeves, Spacers: b.spacers, Limits: b.limits}
}

func (b *bench) shelf() *mount.Shelf {
	return mount.NewShelf(b.sleeves, b.spacers, nil, b.limits)
}

// examples are the same random benches in every run.
func examples(n int, f func(i int, b bench)) {
	of := rapid.Custom(drawBench)
	for i := range n {
		f(i, of.Example(i))
	}
}

// The solver against the brute force, on so many benches that plans of every
// number of sleeves are among them.
func TestTheBestPlanIsFound(t *testing.T) {
	seen := map[int]int{}
	examples(1500, func(i int, b bench) {
		want := mounttest.Best(b.end, b.bracket, b.parts())
		got := b.shelf().BoltUp(b.end, b.bracket, mount.Options{})
		if shown(got) != shownWay(want) {
			t.Fatalf("bench %d: got %s, want %s; %+v", i, shown(got), shownWay(want), b)
		}
		if want == nil {
			seen[-1]++
			return
		}
		seen[len(want.Sleeves)]++
		same(t, "parts", got.Parts, want.Parts())
		same(t, "cost", got.Cost, want.Cost().Price())
	})
	t.Log("plans by number of sleeves, -1 for none:", seen)
	for n := -1; n <= 3; n++ {
		if seen[n] == 0 {
			t.Errorf("no bench had a plan of %d sleeves, so nothing is proved of those", n)
		}
	}
}

// The pile against every multiset of up to three spacers, where a bushing
// straight on its bolt leaves nothing else to choose: the fewest that leave no more
// than the limit, and of those the least left over. Where none does, the least left
// over is told, with the fewest spacers.
func TestTheStackIsTheShortestThatFills(t *testing.T) {
	possible := map[bool]int{}
	rapid.Check(t, func(t *rapid.T) {
		bolt := 12 * mm
		var spacers []mount.Spacer
		for i := range rapid.IntRange(0, 12).Draw(t, "spacers") {
			spacers = append(spacers, mount.Spacer{
				Code: fmt.Sprintf("w%02d", i), Bore: bolt, Price: drawPrice(t),
				Thickness: unit.Length(rapid.IntRange(1, 4_000_000).Draw(t, "nanometres")),
			})
		}
		room := unit.Length(rapid.IntRange(0, 30_000_000).Draw(t, "room"))
		limits := mount.UsualLimits()
		limits.LeftOverMost = unit.Length(rapid.SampledFrom([]int{0, 1_000, 50_000, 500_000, 2_000_000}).Draw(t, "left over most"))
		// filled are the number of spacers a side and what is left over of the best
		// pile within the limit, nearest of the best pile without one.
		type pile struct {
			ok   bool
			n    int
			left unit.Length
		}
		var filled, nearest pile
		mounttest.EveryPile(spacers, bolt, func(side []mount.Spacer) {
			p := pile{true, len(side), room}
			for _, s := range side {
				p.left -= 2 * s.Thickness
			}
			if p.left < 0 {
				return
			}
			if p.left <= limits.LeftOverMost && (!filled.ok || p.n < filled.n || p.n == filled.n && p.left < filled.left) {
				filled = p
			}
			if !nearest.ok || p.left < nearest.left || p.left == nearest.left && p.n < nearest.n {
				nearest = p
			}
		})
		want := filled
		if !filled.ok {
			want = nearest
		}
		end := mount.End{Style: mount.Eye, Bore: bolt + 100*um, Width: 30 * mm}
		r := mount.NewShelf(nil, spacers, nil, limits).
			BoltUp(end, mount.Bracket{Bolt: mount.Bolt{Diameter: bolt}, Opening: end.Width + room}, mount.Options{Detail: true})
		n := 0
		for _, u := range r.Spacers.EachSide {
			n += u.Quantity
		}
		if r.Possible != filled.ok || n != want.n || r.Spacers.LeftOver != want.left {
			t.Fatalf("possible %t with %d a side that leave %d, want %t with %d that leave %d",
				r.Possible, n, r.Spacers.LeftOver, filled.ok, want.n, want.left)
		}
		possible[r.Possible]++
	})
	if possible[true] == 0 || possible[false] == 0 {
		t.Errorf("possible and impossible gaps: %v", possible)
	}
}

// outcome is what must never get worse: whether it is possible, then its place in
// the order but for the codes. Smaller is better.
func outcome(r mount.Result) [6]int64 {
	if !r.Possible {
		return [6]int64{1}
	}
	var gap unit.Length
	for _, u := range r.Sleeves {
		gap += u.GapOutside
	}
	if n := len(r.Sleeves); n > 0 {
		gap += r.Sleeves[n-1].GapInside
	}
	of := [6]int64{0, int64(len(r.Sleeves)), int64(gap), int64(r.Parts), 0, int64(r.Cost.OrDearest())}
	if r.Spacers != nil {
		of[4] = int64(r.Spacers.LeftOver)
	}
	return of
}

func allActual(b *bench) {
	b.end.BoreIs = mount.Actual
	for i := range b.sleeves {
		b.sleeves[i].BoreIs = mount.Actual
	}
}

func TestALooserPolicyLosesNothing(t *testing.T) {
	possible := 0
	examples(1000, func(i int, b bench) {
		before := b.shelf().BoltUp(b.end, b.bracket, mount.Options{})
		if !before.Possible {
			return
		}
		possible++
		for name, loosen := range map[string]func(*mount.Limits){
			"sleeve gap least": func(l *mount.Limits) { l.SleeveGapLeast -= 100 * um },
			"sleeve gap most":  func(l *mount.Limits) { l.SleeveGapMost += 100 * um },
			"bolt gap least":   func(l *mount.Limits) { l.BoltGapLeast -= 50 * um },
			"bolt gap most":    func(l *mount.Limits) { l.BoltGapMost += 200 * um },
			"left over":        func(l *mount.Limits) { l.LeftOverMost += 250 * um },
		} {
			looser := b
			loosen(&looser.limits)
			after := looser.shelf().BoltUp(b.end, b.bracket, mount.Options{})
			if !after.Possible || len(after.Sleeves) > len(before.Sleeves) {
				t.Fatalf("bench %d: a looser %s turned %s into %s", i, name, shown(before), shown(after))
			}
		}
	})
	if possible < 50 {
		t.Errorf("only %d benches had anything to lose", possible)
	}
}

func TestOneMorePartNeverWorsens(t *testing.T) {
	const benches = 1000
	others := rapid.Custom(drawBench)
	possible := 0
	examples(benches, func(i int, b bench) {
		more := others.Example(benches + i)
		allActual(&b) // the gap of a nominal bore isn't known, so it isn't compared
		allActual(&more)
		before := b.shelf().BoltUp(b.end, b.bracket, mount.Options{})
		for i, s := range more.sleeves {
			s.Code = fmt.Sprintf("a%02d", i)
			b.sleeves = append(b.sleeves, s)
		}
		withSleeves := b.shelf().BoltUp(b.end, b.bracket, mount.Options{})
		if x, y := outcome(before), outcome(withSleeves); slices.Compare(y[:], x[:]) > 0 {
			t.Fatalf("bench %d: more sleeves turned %s into %s", i, shown(before), shown(withSleeves))
		}
		for i, s := range more.spacers {
			s.Code, s.Bore = fmt.Sprintf("b%02d", i), b.bracket.Bolt.Diameter
			b.spacers = append(b.spacers, s)
		}
		withBoth := b.shelf().BoltUp(b.end, b.bracket, mount.Options{})
		if x, y := outcome(withSleeves), outcome(withBoth); slices.Compare(y[:], x[:]) > 0 {
			t.Fatalf("bench %d: more spacers turned %s into %s", i, shown(withSleeves), shown(withBoth))
		}
		if before.Possible {
			possible++
		}
	})
	if possible < 50 {
		t.Errorf("only %d benches had anything to lose", possible)
	}
}

func TestTheOrderOfPartsNeverMatters(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := drawBench(t)
		want := b.shelf().BoltUp(b.end, b.bracket, mount.Options{Detail: true})
		b.sleeves = rapid.Permutation(b.sleeves).Draw(t, "sleeves")
		b.spacers = rapid.Permutation(b.spacers).Draw(t, "spacers")
		got := b.shelf().BoltUp(b.end, b.bracket, mount.Options{Detail: true})
		if !reflect.DeepEqual(got, want) {
			t.Fatalf("got  %+v\nwant %+v", got, want)
		}
	})
}

// A bench in thousandths of an inch is written once in inches and once in
// millimetres, and read back: 0.001 in is 25.4 µm exactly.
func TestUnitsDoNotMatter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := drawBench(t)
		const thou = unit.Inch / 1000
		var in, metric bench
		for _, c := range []struct {
			into *bench
			as   unit.System
		}{{&in, unit.Inches}, {&metric, unit.Millimetres}} {
			read := func(l unit.Length) unit.Length {
				text := strconv.FormatFloat((l / thou * thou).In(c.as), 'f', -1, 64)
				got, err := unit.Parse(text, c.as)
				if err != nil {
					t.Fatal(err)
				}
				return got
			}
			*c.into = b
			c.into.end.Bore, c.into.end.Width = read(b.end.Bore), read(b.end.Width)
			c.into.bracket.Bolt.Diameter, c.into.bracket.Opening = read(b.bracket.Bolt.Diameter), read(b.bracket.Opening)
			c.into.sleeves, c.into.spacers = slices.Clone(b.sleeves), slices.Clone(b.spacers)
			for i := range c.into.sleeves {
				s := &c.into.sleeves[i]
				s.Outer, s.Bore, s.Length = read(s.Outer), read(s.Bore), read(s.Length)
			}
			for i := range c.into.spacers {
				s := &c.into.spacers[i]
				s.Bore, s.Thickness = read(s.Bore), read(s.Thickness)
			}
		}
		got := in.shelf().BoltUp(in.end, in.bracket, mount.Options{Detail: true})
		want := metric.shelf().BoltUp(metric.end, metric.bracket, mount.Options{Detail: true})
		if !reflect.DeepEqual(got, want) {
			t.Fatalf("got  %+v\nwant %+v", got, want)
		}
	})
}

// What the quick answer says the detailed one says too.
func TestDetailAddsAndChangesNothing(t *testing.T) {
	examples(600, func(i int, b bench) {
		shelf := b.shelf()
		quick, detail := shelf.BoltUp(b.end, b.bracket, mount.Options{}), shelf.BoltUp(b.end, b.bracket, mount.Options{Detail: true})
		if quick.Possible != detail.Possible || quick.Open != detail.Open || shown(quick) != shown(detail) {
			t.Fatalf("bench %d: quick %s, detailed %s", i, shown(quick), shown(detail))
		}
		if !detail.Possible && len(detail.Reasons) == 0 {
			t.Fatalf("bench %d is refused without a reason: %+v", i, b)
		}
		if detail.Possible && !detail.Open && len(detail.Reasons)+len(detail.Cures) > 0 {
			t.Fatalf("bench %d is possible and yet %v", i, detail.Reasons)
		}
	})
}
