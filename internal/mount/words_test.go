package mount_test

import (
	"strings"
	"testing"

	"midstroke/internal/mount"
	"midstroke/internal/note"
	"midstroke/internal/unit"
)

// Every note has its words, and every gap in them is filled.
func TestEveryNoteHasItsWords(t *testing.T) {
	seen := map[string]bool{}
	all, own := sections()
	look := func(section string, notes ...note.Note) {
		for _, n := range notes {
			seen[string(n.Code)] = true
			if all[string(n.Code)] != section {
				t.Errorf("%s is one of the %s, but stands among the %s", n.Code, section, all[string(n.Code)])
			}
			text := n.Text("en", unit.Inches)
			if text == string(n.Code) || strings.ContainsAny(text, "{}") {
				t.Errorf("%s reads %q", n.Code, text)
			}
		}
	}
	lookAt := func(r mount.Result) {
		look("reasons", r.Reasons...)
		look("cautions", r.Cautions...)
		look("parts", r.Summary()...)
		for _, c := range r.Cures {
			look("remedies", c.Note)
		}
		for _, s := range r.Working {
			look("steps", s.Note)
			if s.Result.Kind == note.Nothing {
				t.Errorf("step %s comes to nothing", s.Code)
			}
		}
	}
	bolts := []mount.Bolt{{}, bolt(t, "M10"), bolt(t, "1/2 in"), bolt(t, "9/16 in"), bolt(t, "M24"), bolt(t, "12.2 mm")}
	examples(400, func(i int, b bench) {
		for j, grade := range []string{"", "8.8", "SAE 5"} {
			bracket := b.bracket
			if i%2 == 0 {
				bracket.Bolt = bolts[(i/2+j)%len(bolts)]
			}
			bracket.Grade, bracket.Shear = grade, mount.Shear(i%3)
			if i%5 > 0 {
				bracket.Plate = 5 * mm
			}
			if i%7 > 3 {
				bracket.Washer = 2 * mm
			}
			lookAt(b.shelf().BoltUp(b.end, bracket, mount.Options{Detail: true, Load: float64(i%4) * 20_000, ThreadsInShearPlane: mount.Told(i % 3)}))
		}
	})
	thread := bolt(t, "M10").Thread
	for _, hole := range []unit.Length{0, 9 * mm, 18 * mm, 30 * mm} {
		for _, usable := range []unit.Length{0, 20 * mm, 80 * mm} {
			shelf := mount.NewShelf(nil, nil, nil, mount.UsualLimits())
			lookAt(shelf.BoltUp(mount.End{Style: mount.Stud, Thread: thread, UsableLength: usable, Spigot: 17 * mm},
				mount.Bracket{FrameHole: hole, FrameThickness: usable / 10}, mount.Options{Detail: true}))
			for _, thickness := range []unit.Length{0, 4 * mm} {
				for _, known := range []mount.End{{Style: mount.Stud}, {Style: mount.Stud, Thread: thread}} {
					lookAt(shelf.BoltUp(known, mount.Bracket{FrameHole: hole, FrameThickness: thickness}, mount.Options{Detail: true}))
				}
			}
			lookAt(shelf.BoltUp(mount.End{Style: mount.BarPin, HoleSpacing: 60 * mm, Hole: hole},
				mount.Bracket{HoleSpacing: 50*mm + hole, Bolt: bolt(t, "M10")}, mount.Options{Detail: true, Load: 1}))
			lookAt(shelf.BoltUp(mount.End{Style: mount.BarPin, HoleSpacing: 60 * mm},
				mount.Bracket{HoleSpacing: 50*mm + usable/2}, mount.Options{Detail: true}))
		}
	}
	shelf := mount.NewShelf([]mount.Sleeve{{Code: "short", Outer: 16 * mm, Bore: 10300 * um, Length: 20 * mm}}, nil, nil, mount.UsualLimits())
	lookAt(shelf.BoltUp(mount.End{Style: mount.Eye, Bore: 16 * mm, Width: 31 * mm}, mount.Bracket{Bolt: bolt(t, "M10")}, mount.Options{Detail: true}))
	lookAt(shelf.BoltUp(mount.End{Style: mount.Eye, Bore: 22 * mm}, mount.Bracket{Bolt: bolt(t, "M10")}, mount.Options{Detail: true}))
	lookAt(shelf.BoltUp(mount.End{Style: mount.Eye, Width: 31 * mm}, mount.Bracket{Bolt: bolt(t, "M10")}, mount.Options{Detail: true}))
	lookAt(shelf.BoltUp(mount.End{Style: mount.Fork}, mount.Bracket{}, mount.Options{Detail: true}))
	lookAt(shelf.BoltUpAs(mount.End{Style: mount.Stud}, mount.Eye, mount.Bracket{}, mount.Options{Detail: true}))
	lookAt(detailOver(t, bolt(t, "M12"), 40*mm))  // no thread in the plane
	lookAt(detailOver(t, bolt(t, "M10"), 900*mm)) // past the preferred lengths
	lookAt(shelf.BoltUp(mount.End{Style: mount.Eye, Bore: 10 * mm}, mount.Bracket{Bolt: bolt(t, "M10")}, mount.Options{Detail: true}))
	strong := mount.Bracket{Bolt: bolt(t, "M12"), Grade: "12.9"}
	lookAt(mount.NewShelf([]mount.Sleeve{{Code: "thin", Outer: 15900 * um, Bore: 12300 * um, Length: 31 * mm}}, nil, nil, mount.UsualLimits()).
		BoltUp(mount.End{Style: mount.Eye, Bore: 16 * mm, Width: 31 * mm}, strong, mount.Options{Detail: true}))
	single := mount.Bracket{Bolt: bolt(t, "M10"), Shear: mount.SingleShear, Grade: "8.8"}
	lookAt(shelf.BoltUp(mount.End{Style: mount.Eye, Bore: 10200 * um}, single, mount.Options{Detail: true, Load: 1}))

	lookAt(shelf.BoltUpThrough(&mount.Adapter{Code: "x", To: mount.End{Style: mount.Stud}}, mount.Bracket{}, mount.Options{Detail: true}))

	// And no words are there that nothing says.
	for _, code := range own {
		if !seen[code] {
			t.Errorf("nothing here says %s", code)
		}
	}
}

// detailOver is an eye straight on its bolt in an opening of its own width.
func detailOver(t *testing.T, b mount.Bolt, opening unit.Length) mount.Result {
	t.Helper()
	return mount.NewShelf(nil, nil, nil, mount.UsualLimits()).BoltUp(
		mount.End{Style: mount.Eye, Bore: b.Diameter + 200*um, Width: opening},
		mount.Bracket{Bolt: b, Opening: opening, Plate: 6 * mm}, mount.Options{Detail: true})
}

// sections are the codes of all notes, each with the section of the message
// file that it stands in, and those of them that are this package's own.
func sections() (all map[string]string, own []string) {
	all = map[string]string{}
	for _, e := range note.Entries() {
		if e.Section == note.SectionFaults || e.Section == note.SectionProblems {
			continue
		}
		all[e.Code] = e.Section
		if e.Package == "mount" {
			own = append(own, e.Code)
		}
	}
	return all, own
}
