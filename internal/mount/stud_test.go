package mount_test

import (
	"testing"

	"midstroke/internal/mount"
	"midstroke/internal/unit"
)

func TestStud(t *testing.T) {
	m10 := bolt(t, "M10x1.25").Thread
	for _, c := range []struct {
		what    string
		end     mount.End
		bracket mount.Bracket
		reasons string // "" possible and judged
		open    bool
		cure    mount.CureKind
		by      unit.Length
	}{
		{"fits", mount.End{Thread: m10, UsableLength: 50 * mm, Spigot: 18 * mm},
			mount.Bracket{FrameHole: 19 * mm, FrameThickness: 4 * mm}, "", false, "", 0},
		{"spigot fills the hole", mount.End{Thread: m10, Spigot: 19 * mm}, mount.Bracket{FrameHole: 19 * mm}, "frame_thickness_not_given", true, "", 0},
		{"spigot too large", mount.End{Thread: m10, Spigot: 19*mm + 1}, mount.Bracket{FrameHole: 19 * mm},
			"spigot_larger_than_hole", false, mount.OpenFrameHole, 1},
		// 2 mm of play is the limit, common practice, no source.
		{"hole at its loosest", mount.End{Thread: m10, Spigot: 17 * mm}, mount.Bracket{FrameHole: 19 * mm}, "frame_thickness_not_given", true, "", 0},
		{"hole too loose", mount.End{Thread: m10, Spigot: 17*mm - 1}, mount.Bracket{FrameHole: 19 * mm},
			"hole_loose_on_spigot", false, mount.OtherBushing, 1},
		{"stud too thick", mount.End{Thread: m10}, mount.Bracket{FrameHole: 9 * mm},
			"stud_larger_than_hole", false, mount.OpenFrameHole, 1 * mm},
		// The spigot lies around the stud, so one cure is enough for both.
		{"both too thick", mount.End{Thread: m10, Spigot: 12 * mm}, mount.Bracket{FrameHole: 9 * mm},
			"spigot_larger_than_hole", false, mount.OpenFrameHole, 3 * mm},
		// A stud of 10 mm that goes into a hole says nothing of its bushing's
		// spigot: a hole of 45 mm would let most of them fall through.
		{"spigot unknown in a large hole", mount.End{Thread: m10, UsableLength: 50 * mm},
			mount.Bracket{FrameHole: 45 * mm, FrameThickness: 4 * mm}, "spigot_not_listed", true, "", 0},
		// Two of 12.7, frame 4, nut 8.4 (ISO 4032), two pitches of 1.25: 40.3.
		{"just long enough", mount.End{Thread: m10, UsableLength: 40300 * um}, mount.Bracket{FrameThickness: 4 * mm}, "frame_hole_not_given", true, "", 0},
		{"too short", mount.End{Thread: m10, UsableLength: 40300*um - 1}, mount.Bracket{FrameThickness: 4 * mm},
			"stud_too_short", false, mount.LongerStud, 1},
		// 2 (10 + 1.5) + 4 + 8.4 + 2.5 = 37.9 where both thicknesses are known.
		{"thin bushings", mount.End{Thread: m10, UsableLength: 37900 * um, Spigot: 18 * mm},
			mount.Bracket{FrameHole: 19 * mm, FrameThickness: 4 * mm, Bushing: 10 * mm, Washer: 1500 * um}, "", false, "", 0},
		// One known part is not mixed with a guess of the other.
		{"bushing alone known", mount.End{Thread: m10, UsableLength: 40 * mm},
			mount.Bracket{FrameThickness: 4 * mm, Bushing: 10 * mm}, "stud_too_short", false, mount.LongerStud, 300 * um},
		{"nothing known of the frame", mount.End{Thread: m10, UsableLength: 40 * mm, Spigot: 18 * mm}, mount.Bracket{}, "frame_not_given", true, "", 0},
		{"usable length unknown", mount.End{Thread: m10, Spigot: 18 * mm}, mount.Bracket{FrameHole: 19 * mm, FrameThickness: 4 * mm}, "usable_length_not_listed", true, "", 0},
		{"nothing known of the stud", mount.End{}, mount.Bracket{FrameHole: 19 * mm, FrameThickness: 4 * mm}, "spigot_not_listed stud_thread_not_listed", true, "", 0},
	} {
		c.end.Style = mount.Stud
		r := mount.NewShelf(nil, nil, nil, mount.UsualLimits()).BoltUp(c.end, c.bracket, mount.Options{Detail: true})
		same(t, c.what, reasonsOf(r), c.reasons)
		same(t, c.what+", possible", r.Possible, c.reasons == "" || c.open)
		same(t, c.what+", open", r.Open, c.open)
		same(t, c.what+", parts", r.Parts, 0)
		if c.cure != "" {
			same(t, c.what, r.Cures[0].Kind, c.cure)
			same(t, c.what+", by", r.Cures[0].By, c.by.Up(unit.MaxLength)) // rounded up to be written exactly
			same(t, c.what+", alone", r.Cures[0].Alone, true)
		}
		same(t, c.what+", nut", codes(r)["stud_nut_to_height"], true)
	}
}

func TestStudStackInOrder(t *testing.T) {
	end := mount.End{Style: mount.Stud, Thread: bolt(t, "3/8-24 in").Thread, UsableLength: 60 * mm}
	bracket := mount.Bracket{FrameThickness: length(t, "3/16 in"), Bushing: length(t, "3/8 in"), Washer: length(t, "1/16 in")}
	shelf := mount.NewShelf(nil, nil, nil, mount.UsualLimits())
	r := shelf.BoltUp(end, bracket, mount.Options{Detail: true})
	want := []struct {
		kind      mount.LayerKind
		thickness string
	}{
		{mount.WasherLayer, "1/16 in"}, {mount.BushingLayer, "3/8 in"}, {mount.FrameLayer, "3/16 in"},
		{mount.BushingLayer, "3/8 in"}, {mount.WasherLayer, "1/16 in"},
		{mount.NutLayer, "0.337 in"},    // ASME B18.2.2, 3/8 in
		{mount.ShowingLayer, "1/12 in"}, // two of 24 threads
	}
	same(t, "layers", len(r.StudStack), len(want))
	var from unit.Length
	for i, l := range r.StudStack {
		same(t, "layer", l.Kind, want[i].kind)
		near(t, string(l.Kind), float64(l.Thickness), float64(length(t, want[i].thickness)), 1)
		same(t, "from", l.From, from)
		from += l.Thickness
	}
	same(t, "assumed", codes(r)["stud_stack_parts_assumed"], false)

	bracket.Washer = 0
	r = shelf.BoltUp(end, bracket, mount.Options{Detail: true})
	same(t, "layers", len(r.StudStack), 5)
	same(t, "bushing with washer", r.StudStack[0].Thickness, unit.Inch/2)
	same(t, "assumed", codes(r)["stud_stack_parts_assumed"], true)
}

// What to measure of a stud whose spigot isn't listed: the spigot that goes into
// the hole with 0 to 2 mm of play (common practice, no source).
func TestWhatToMeasureOfASpigot(t *testing.T) {
	end := mount.End{Style: mount.Stud, Thread: bolt(t, "M10").Thread, UsableLength: 60 * mm}
	r := mount.NewShelf(nil, nil, nil, mount.UsualLimits()).BoltUp(end, mount.Bracket{FrameHole: 45 * mm, FrameThickness: 4 * mm}, mount.Options{Detail: true})
	same(t, "open", r.Open, true)
	same(t, "from", valueOf(&r.Reasons[0], "least").Length, 43*mm)
	same(t, "to", valueOf(&r.Reasons[0], "hole").Length, 45*mm)
}
