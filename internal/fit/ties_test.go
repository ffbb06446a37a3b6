package fit_test

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"

	"midstroke/internal/catalog"
	"midstroke/internal/fit"
	"midstroke/internal/mount"
	"midstroke/internal/unit"
)

// Dampers that are alike in everything that ranks come by their codes, however many
// are asked for. Their lengths differ by a hair and in no order, so that the index
// puts together others than their codes do.
func TestDampersAlikeComeByTheirCodes(t *testing.T) {
	const n = 60
	random := rand.New(rand.NewPCG(60, 7)) // any seed
	for range 20 {
		order := random.Perm(n)
		var dampers []catalog.Damper
		var codes []string
		for i := range n {
			off := unit.Length(order[i]) * 10 * unit.Micrometre
			d := eyes(fmt.Sprintf("d-%02d", i), 330*mm+off, 530*mm+off)
			d.Price = 9000
			dampers, codes = append(dampers, d), append(codes, d.Code)
		}
		firstAre(t, stocked(dampers...), codes)
	}
}

// Every third damper's eye goes straight on the bolt, those of the others take a
// sleeve; there are far more ends than a node of the index can tell apart. By hand:
// of two that are alike otherwise, the one that takes fewer parts comes first.
func TestEndsThatTakeFewerPartsComeFirst(t *testing.T) {
	for step := range 12 {
		c := catalog.Contents{Currency: "USD", Limits: mount.UsualLimits()}
		c.Sleeves = []mount.Sleeve{{Code: "s", Outer: 15900 * unit.Micrometre, Bore: 12200 * unit.Micrometre, Length: 32 * mm, InStock: true, Price: mount.NoPrice}}
		var straight, sleeved []string
		for i := range 300 {
			off := unit.Length(i*(step+7)%301) * unit.Micrometre
			d := eyes(fmt.Sprintf("d-%03d", i), 330*mm+off, 530*mm+off)
			d.Upper.Bore += unit.Length(i*13%89) * unit.Micrometre
			d.Lower.Bore = 16 * mm
			if i%3 == 1 {
				d.Lower.Bore = 12150 * unit.Micrometre
				straight = append(straight, d.Code)
			} else {
				sleeved = append(sleeved, d.Code)
			}
			d.Lower.Bore += unit.Length(i*(2*step+1)%41) * unit.Micrometre
			c.Dampers = append(c.Dampers, d)
		}
		firstAre(t, catalog.NewSnapshot("many ends", 1, c), append(straight, sleeved...))
	}
}

// Two dampers that differ in their eyes alone, on 1/2 in bolts in openings of 38.1 mm.
// By hand: the eyes of "z" take one sleeve of 38.1 mm each and no spacers, 2 parts.
// With sleeves of 31.75 mm and 1/8 in spacers they would take 2 × 3. Those of "a" go
// straight on the bolt, and 6.35 mm beside them take 1/8 in on each side, 2 × 2. So "z"
// comes first, though its sleeves are dearer.
func TestALongerSleeveSavesSpacers(t *testing.T) {
	const um = unit.Micrometre
	c := catalog.Contents{Currency: "USD", Limits: mount.UsualLimits()}
	c.Sleeves = []mount.Sleeve{
		{Code: "short", Outer: 19050 * um, Bore: 13096875, Length: 31750 * um, Price: 220},
		{Code: "long", Outer: 19050 * um, Bore: 13096875, Length: 38100 * um, Price: 630},
	}
	c.Spacers = []mount.Spacer{{Code: "eighth", Bore: 13096875, Thickness: 3175 * um, Price: 65}}
	for code, bore := range map[string]unit.Length{"a": 13 * mm, "z": 19050 * um} {
		d := eyes(code, 340*mm, 540*mm)
		d.Upper = mount.End{Style: mount.Eye, Bore: bore, Width: 31750 * um}
		d.Lower = d.Upper
		c.Dampers = append(c.Dampers, d)
	}
	r := metric(t, 440, 60)
	half, err := mount.ParseBolt("1/2 in", unit.Inches)
	if err != nil {
		t.Fatal(err)
	}
	r.Upper = mount.Bracket{Bolt: half, Opening: 38100 * um, Plate: 5 * mm}
	r.Lower = r.Upper
	fits := find(t, r, catalog.NewSnapshot("sleeves", 1, c)).Fits
	if len(fits) != 2 || fits[0].Damper.Code != "z" || fits[1].Damper.Code != "a" {
		t.Fatalf("%d fits, want z before a: %+v", len(fits), fits)
	}
	for i, want := range []int{2, 4} {
		if got := fits[i].Upper.Parts + fits[i].Lower.Parts; got != want {
			t.Errorf("%s takes %d parts, want %d", fits[i].Damper.Code, got, want)
		}
	}
}

// firstAre asks for one fit, for two and so on.
func firstAre(t *testing.T, s *catalog.Snapshot, want []string) {
	t.Helper()
	for top := 1; top <= fit.MostListed; top++ {
		r := metric(t, 430, 60)
		r.Top = top
		var got []string
		for _, f := range find(t, r, s).Fits {
			got = append(got, f.Damper.Code)
		}
		if !slices.Equal(got, want[:top]) {
			t.Fatalf("the first %d are %v, want %v", top, got, want[:top])
		}
	}
}
