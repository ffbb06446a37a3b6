package fit_test

import (
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// change puts one text in the place of another, which a file has once.
type change struct{ file, right, wrong string }

// smallLeaves makes every bound matter.
var smallLeaves = change{"../catalog/index.go", "const leafSize = 32", "const leafSize = 2"}

// planted are faults in the search's bounds, each of which loses a fit or a near miss
// somewhere, or puts one in a wrong place.
var planted = []struct {
	name string
	change
}{
	{"the stroke of a node is too long", change{"search.go", "stroke: max(box.StrokeLeast, w.strokeLeast())", "stroke: max(box.StrokeLeast, w.strokeLeast()) + 1"}},
	{"the step of a node is one too far", change{"search.go", "(off-hair)*stepsPerWhole))-1)", "(off-hair)*stepsPerWhole)))"}},
	{"a node takes one part more", change{"search.go", "step: t.stepBound(box, r.adds, w), parts: parts,", "step: t.stepBound(box, r.adds, w), parts: parts + 1,"}},
	// Two later would cost only the fit after the last one listed, which tells whether there are more.
	{"a node's damper comes later", change{"search.go", "inverted: asRank(r.inverted), damper: box.DamperLeast,\n\t}, true", "inverted: asRank(r.inverted), damper: box.DamperLeast + 3,\n\t}, true"}},
	{"a shorter list than asked", change{"shortlist.go", "len(l.items) < l.most || !l.worst.less(k)", "len(l.items) < l.most || k.less(l.worst)"}},
	{"a box's least price is its last", change{"../catalog/index.go", "b.PriceLeast = min(b.PriceLeast, o.PriceLeast)", "b.PriceLeast = o.PriceLeast"}},
	{"a box's least stroke is its first", change{"../catalog/index.go", "b.StrokeLeast = min(b.StrokeLeast, o.StrokeLeast)", ""}},
	{"a box's least tolerance is its last", change{"../catalog/index.go", "b.ToleranceLeast = min(b.ToleranceLeast, o.ToleranceLeast)", "b.ToleranceLeast = o.ToleranceLeast"}},
	{"a box forgets ends", change{"../catalog/index.go", "b.LowerEnds |= o.LowerEnds", ""}},
	{"a box forgets traits", change{"../catalog/index.go", "b.Traits = b.Traits.With(&o.Traits)", ""}},
	{"ends that share a bit are taken for one", change{"leg.go", "fewest = min(fewest, int(known), partsCounted)", "fewest = min(int(parts), partsCounted)"}},
	{"an end not worked out takes a part", change{"leg.go", "fewest = min(fewest, int(l.adapters()))", "fewest = min(fewest, 1+int(l.adapters()))"}},
	{"price before stroke", change{"rank.go", "first = first<<strokeBits | uint64(max(0, a.stroke))", "first = first<<strokeBits | min(mostStroke, uint64(a.price))"}},
	{"inverted counts before price", change{"rank.go", "(price<<1|uint64(a.inverted))<<damperBits", "(uint64(a.inverted)<<priceBits|price)<<damperBits"}},
	{"a limit on the price hides dearer ones' neighbours", change{"task.go", "(!l.HasMaxPrice || b.PriceLeast <= l.MaxPrice)", "(!l.HasMaxPrice || b.PriceLeast < l.MaxPrice)"}},
	{"exactly at a limit is outside", change{"task.go", "c, e = c+b.ToleranceLeast, e-b.ToleranceLeast\n\t}\n\treturn c <= w.compressedMost && e >= w.extendedLeast", "c, e = c+b.ToleranceLeast, e-b.ToleranceLeast\n\t}\n\treturn c < w.compressedMost && e >= w.extendedLeast"}},
	{"a near miss lacks more than it does", change{"miss.go", "b.CompressedLeast+t.rodStop", "b.CompressedMost+t.rodStop"}},
	{"hardware that can be cured is given up", change{"miss.go", "return bound, ok && least <= remedyMost", "return bound, ok && least < 0"}},
	{"an end not settled can't be cured", change{"leg.go", "if of&^l.settled != 0 {", "if false {"}},
	{"the most that hardware adds is its last", change{"endadds.go", "max(r.most, a.AddsLength)", "a.AddsLength"}},
	{"the least that hardware adds is that of an end as it is", change{"endadds.go", "min(r.least, a.AddsLength)", "min(r.least, 0)"}},
	{"a box is as short as its longest", change{"every.go", "box.CompressedLeast, box.ExtendedMost", "box.CompressedMost, box.ExtendedMost"}},
	{"an adapter that can't be bolted up adds its length", change{"endadds.go", " && f.Adapter(number, false).Possible", ""}},
	{"a damper's own tolerance is forgotten", change{"every.go", "c, e := s.compressed+s.tolerance, s.extended-s.tolerance", "c, e := s.compressed, s.extended"}},
	{"a bump stop is in time with whatever adapter", change{"every.go", "return g.demoted(grade, s)", "return grade"}},
	{"an end upside down keeps its site", change{"every.go", "atSites(w.inverted, p.Upper, p.Lower)", "atSites(false, p.Upper, p.Lower)"}},
}

// The tests of the search must notice each of the planted faults: one that they didn't
// could be there already. Each takes the compiler and a run of those tests.
func TestPlantedFaultsAreNoticed(t *testing.T) {
	if os.Getenv("MIDSTROKE_TEST_LONG") == "" {
		t.Skip("takes minutes; make test-long runs it")
	}
	if out, ok := searched(t, smallLeaves); !ok {
		t.Fatalf("they fail without a fault: %s", out)
	}
	for _, p := range planted {
		t.Run(strings.ReplaceAll(p.name, " ", "_"), func(t *testing.T) {
			out, ok := searched(t, smallLeaves, p.change)
			switch {
			case ok:
				t.Error("no test noticed it")
			case !strings.Contains(out, "--- FAIL"):
				t.Fatalf("the tests didn't run: %s", out)
			}
		})
	}
}

// searched runs the tests of the search with changes made to the code, and says
// whether they passed.
func searched(t *testing.T, changes ...change) (out string, ok bool) {
	t.Helper()
	dir, replaced := t.TempDir(), map[string]string{}
	for i, c := range changes {
		path, err := filepath.Abs(c.file)
		if err != nil {
			t.Fatal(err)
		}
		from := path
		if changed, twice := replaced[path]; twice {
			from = changed
		}
		code, err := os.ReadFile(from)
		if err != nil {
			t.Fatal(err)
		}
		if n := strings.Count(string(code), c.right); n != 1 {
			t.Fatalf("%s has %q %d times, want once", c.file, c.right, n)
		}
		replaced[path] = filepath.Join(dir, fmt.Sprint(i, filepath.Base(path)))
		if err := os.WriteFile(replaced[path], []byte(strings.Replace(string(code), c.right, c.wrong, 1)), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	list, err := json.Marshal(map[string]any{"Replace": replaced})
	if err != nil {
		t.Fatal(err)
	}
	overlay := filepath.Join(dir, "overlay.json")
	if err := os.WriteFile(overlay, list, 0o600); err != nil {
		t.Fatal(err)
	}
	text, err := exec.CommandContext(t.Context(), "go", "test", "-vet=off", "-overlay", overlay, "-run",
		"^(TestFindsWhatBruteForceFinds|TestCodesAgreeWithTheSearch|TestAdaptersThatPairUp|TestNearMissesWhereNoEndBoltsUp|TestKeysKeepTheOrder|TestWhatHasTheKeyOfTheLastMayBeBetter|TestDampersAlikeComeByTheirCodes|TestEndsThatTakeFewerPartsComeFirst)$", "midstroke/internal/fit", "-rapid.checks=300").CombinedOutput()
	return string(text), err == nil
}
