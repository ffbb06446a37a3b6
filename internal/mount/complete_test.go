package mount_test

import (
	"strings"
	"testing"

	"midstroke/internal/mount"
	"midstroke/internal/unit"
)

// said is what an end takes, in English.
func said(r mount.Result) string {
	var parts []string
	for _, n := range r.Summary() {
		parts = append(parts, n.Text("en", unit.Inches))
	}
	return strings.Join(parts, ", ")
}

// TestWhatAnEndTakes: each figure that is missing is named, in the order in which
// to ask, and the end is said in a few words. Lengths of bolts by hand: 31 of
// bushing or 32 of opening, two plates of 5, two washers of 2.5, ISO 4032's nut of
// 10.8 for M12 and two threads of 1.75 are 61.3 or 62.3, and 65 is the next of ISO
// 888; 2 in, two plates of 1/4, two washers of 0.095, ASME B18.2.2's nut of 0.448
// and two threads of 1/13 are 3.292, and 3 1/2 is the next by quarters.
func TestWhatAnEndTakes(t *testing.T) {
	shelf := mount.NewShelf(
		[]mount.Sleeve{{Code: "a", Outer: 15900 * um, Bore: 12200 * um, Length: 31 * mm}},
		[]mount.Spacer{{Code: "s", Bore: 13 * mm, Thickness: 400 * um}}, nil, mount.UsualLimits())
	eye := mount.End{Style: mount.Eye, Bore: 16 * mm, Width: 31 * mm}
	m12, half := bolt(t, "M12"), bolt(t, "1/2 in")
	inches := mount.End{Style: mount.Eye, Bore: 13 * mm, Width: 2 * unit.Inch}
	stud := mount.End{Style: mount.Stud, Thread: bolt(t, "M10").Thread, UsableLength: 60 * mm, Spigot: 18 * mm}
	pin := mount.End{Style: mount.BarPin, HoleSpacing: 60 * mm, Hole: 12 * mm}
	for _, c := range []struct {
		end      mount.End
		bracket  mount.Bracket
		complete bool
		lacks    string
		said     string
	}{
		{eye, mount.Bracket{}, false, "bolt opening plate", "left open: measure the bolt"},
		{eye, mount.Bracket{Bolt: m12}, false, "opening plate", "sleeve a, bolt M12x1.75, the rest left open: measure the bracket's inside width"},
		{eye, mount.Bracket{Bolt: m12, Opening: 32 * mm}, false, "plate", "sleeve a, 2 spacers s, bolt M12x1.75, the rest left open: measure the plate's thickness"},
		{eye, mount.Bracket{Bolt: m12, Opening: 32 * mm, Plate: 5 * mm}, true, "", "sleeve a, 2 spacers s, bolt M12x1.75 × 65"},
		{inches, mount.Bracket{Bolt: half, Opening: 2 * unit.Inch, Plate: unit.Inch / 4}, true, "", "bolt 1/2-13 UNC × 3 1/2"},
		{inches, mount.Bracket{Bolt: bolt(t, "12.8 mm"), Opening: 2 * unit.Inch}, true, "", "pin of 0.504 in"},
		{mount.End{Style: mount.Eye, Width: 31 * mm}, mount.Bracket{Bolt: m12, Opening: 32 * mm, Plate: 5 * mm}, false, "",
			"bolt M12x1.75 × 65, the rest left open: the list lacks figures of this end"},
		{mount.End{Style: mount.Eye, Bore: 12200 * um}, mount.Bracket{Bolt: m12, Opening: 900 * mm, Plate: 5 * mm}, false, "",
			"bolt M12x1.75, the rest left open: the list lacks figures of this end"}, // past ISO 888
		{stud, mount.Bracket{}, false, "frame_hole frame_thickness", "left open: measure the frame's hole"},
		{stud, mount.Bracket{FrameHole: 18 * mm}, false, "frame_thickness", "left open: measure the frame's thickness"},
		{stud, mount.Bracket{FrameHole: 18 * mm, FrameThickness: 4 * mm}, true, "", "no parts needed"},
		{mount.End{Style: mount.Stud}, mount.Bracket{FrameHole: 18 * mm, FrameThickness: 4 * mm}, false, "", "left open: the list lacks figures of this end"},
		{pin, mount.Bracket{}, false, "hole_spacing bolt", "left open: measure the spacing of the bracket's holes"},
		{pin, mount.Bracket{HoleSpacing: 60 * mm, Bolt: bolt(t, "M10")}, true, "", "bolt M10x1.5"},
	} {
		r := shelf.BoltUp(c.end, c.bracket, mount.Options{Detail: true})
		if r.Complete != c.complete || strings.Join(r.Lacks, " ") != c.lacks || said(r) != c.said {
			t.Errorf("%s: complete %v, lacks %v, %q; want %v, %s, %q", c.end.Style, r.Complete, r.Lacks, said(r), c.complete, c.lacks, c.said)
		}
	}
	through := shelf.BoltUpThrough(&mount.Adapter{Code: "x", To: stud}, mount.Bracket{}, mount.Options{Detail: true})
	same(t, "through an adapter", said(through), "adapter x, the rest left open: measure the frame's hole")
	too := shelf.BoltUp(eye, mount.Bracket{Bolt: bolt(t, "M24")}, mount.Options{Detail: true})
	if too.Possible || too.Complete || too.Lacks != nil {
		t.Errorf("an end that can't be done: %+v", too)
	}
}

// TestStandardsOfBolts: a bolt that is threaded up to its head has a standard of
// its own, ISO 4017. By hand: M20 has 2 d + 6 = 46 mm of thread by ISO 4014.
func TestStandardsOfBolts(t *testing.T) {
	for _, c := range []struct {
		bolt     string
		opening  unit.Length
		plate    unit.Length
		length   string
		standard string
	}{
		{"M12", 32 * mm, 5 * mm, "M12x1.75 × 65", "ISO 4014"},
		{"M20", 2 * mm, mm, "M20x2.5 × 35", "ISO 4017"}, // 2 + 2 + 6 + 18 + 5 = 33; 46 of thread
		{"1/2 in", 32 * mm, 5 * mm, "1/2-13 UNC × 2 1/2", "ASME B18.2.1"},
	} {
		d := shelfless().BoltUp(mount.End{Style: mount.Eye, Bore: bolt(t, c.bolt).Diameter + 200*um, Width: c.opening},
			mount.Bracket{Bolt: bolt(t, c.bolt), Opening: c.opening, Plate: c.plate}, mount.Options{Detail: true}).Bolt
		if d.Order != c.length || d.Standard() != c.standard {
			t.Errorf("%s: %q by %s, want %q by %s", c.bolt, d.Order, d.Standard(), c.length, c.standard)
		}
	}
}

func shelfless() *mount.Shelf { return mount.NewShelf(nil, nil, nil, mount.UsualLimits()) }
