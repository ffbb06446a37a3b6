package mount_test

import (
	"testing"

	"midstroke/internal/mount"
	"midstroke/internal/unit"
)

func TestBarPin(t *testing.T) {
	m12 := bolt(t, "M12")
	for _, c := range []struct {
		what                string
		spacing, slot, hole unit.Length // of the bar pin
		bolt                mount.Bolt
		bracket             unit.Length
		possible, open      bool
		reasons             string
	}{
		{"the same", 60 * mm, 0, 12500 * um, m12, 60 * mm, true, false, ""},
		// The slot lets it differ by 6 in all, so 3 either way; two bolts of 12 in
		// holes of 12.5 lie aside by 0.25 each and give 0.5 together.
		{"wider by slot and clearance", 60 * mm, 6 * mm, 12500 * um, m12, 63500 * um, true, false, ""},
		{"wider by more", 60 * mm, 6 * mm, 12500 * um, m12, 63500*um + 1, false, false, "hole_spacing_differs"},
		{"narrower by slot and clearance", 60 * mm, 6 * mm, 12500 * um, m12, 56500 * um, true, false, ""},
		{"narrower by more", 60 * mm, 6 * mm, 12500 * um, m12, 56500*um - 1, false, false, "hole_spacing_differs"},
		{"bolt as large as the hole", 60 * mm, 0, 12 * mm, m12, 60 * mm, true, false, ""},
		{"bolt too large", 60 * mm, 0, 12*mm - 1, m12, 60 * mm, false, false, "bolt_larger_than_pin_hole"},
		{"both", 60 * mm, 0, 11 * mm, m12, 70 * mm, false, false, "bolt_larger_than_pin_hole hole_spacing_differs"},
		{"no bolt, spacing alone", 60 * mm, 0, 12500 * um, mount.Bolt{}, 60 * mm, true, true, "bar_pin_left_open"},
		{"no bolt, no clearance to count", 60 * mm, 0, 12500 * um, mount.Bolt{}, 60500 * um, false, false, "hole_spacing_differs"},
		{"the bracket's spacing not given", 60 * mm, 0, 12500 * um, m12, 0, true, true, "bar_pin_left_open"},
	} {
		end := mount.End{Style: mount.BarPin, HoleSpacing: c.spacing, Slot: c.slot, Hole: c.hole}
		bracket := mount.Bracket{Bolt: c.bolt, HoleSpacing: c.bracket}
		shelf := mount.NewShelf(nil, nil, nil, mount.UsualLimits())
		r := shelf.BoltUp(end, bracket, mount.Options{Detail: true})
		same(t, c.what, r.Possible, c.possible)
		same(t, c.what+", open", r.Open, c.open)
		same(t, c.what, reasonsOf(r), c.reasons)
		for _, cure := range r.Cures {
			if !cure.Alone {
				continue
			}
			cured := bracket
			switch cure.Kind {
			case mount.MoveHoles:
				cured.HoleSpacing += cure.By
			case mount.OtherBolt:
				cured.Bolt = cure.Bolt
			default:
				t.Errorf("%s: cured by %s", c.what, cure.Kind)
			}
			if again := shelf.BoltUp(end, cured, mount.Options{}); !again.Possible {
				t.Errorf("%s: %s by %d does not cure it", c.what, cure.Kind, cure.By)
			}
		}
	}
}

// A pin's hole may be as loose on the bolt as the coarse series of ISO 273, or the
// loose one of ASME B18.2.8, makes a clearance hole, and no looser: our choice
// of that limit. Where the series has no row the next smaller row's play is taken.
func TestAPinHoleTooLooseOnItsBolt(t *testing.T) {
	shelf := mount.NewShelf(nil, nil, nil, mount.UsualLimits())
	for _, c := range []struct {
		bolt string
		most unit.Length
	}{
		{"M6", 1 * mm}, {"M10", 2 * mm}, {"M12", 2500 * um}, {"M12x1.25", 2500 * um}, {"M24", 4 * mm}, // ISO 273
		{"1/2 in", 7 * unit.Inch / 64}, {"5/8 in", 7 * unit.Inch / 64}, // ASME B18.2.8: 39/64 and 47/64
		{"9/16 in", 7 * unit.Inch / 64},                             // not in it: as 1/2 in
		{"12.2 mm", 2500 * um}, {"5 mm", 1 * mm}, {"30 mm", 4 * mm}, // pins: as M12, M6, M24
	} {
		b := bolt(t, c.bolt)
		end := mount.End{Style: mount.BarPin, HoleSpacing: 60 * mm, Hole: b.Diameter + c.most}
		bracket := mount.Bracket{Bolt: b, HoleSpacing: 60 * mm}
		same(t, c.bolt+" at the limit", shelf.BoltUp(end, bracket, mount.Options{}).Possible, true)
		end.Hole++
		r := shelf.BoltUp(end, bracket, mount.Options{Detail: true})
		same(t, c.bolt+" past it", reasonsOf(r), "pin_hole_loose_on_bolt")
		// Play beyond the limit counts as no more slack than the limit.
		bracket.HoleSpacing += c.most + 1
		same(t, c.bolt, reasonsOf(shelf.BoltUp(end, bracket, mount.Options{Detail: true})), "pin_hole_loose_on_bolt hole_spacing_differs")
	}
}

// A smaller bolt is no cure for a bar pin whose holes are farther apart than
// their clearance: pins of 13 at 70 on holes at 77 for M12. The bracket's holes
// were made for the larger.
func TestNoSmallerBoltForABarPin(t *testing.T) {
	end := mount.End{Style: mount.BarPin, HoleSpacing: 70 * mm, Hole: 13 * mm}
	bracket := mount.Bracket{Bolt: bolt(t, "M12"), HoleSpacing: 77 * mm}
	shelf := mount.NewShelf(nil, nil, nil, mount.UsualLimits())
	r := shelf.BoltUp(end, bracket, mount.Options{Detail: true})
	same(t, "possible", r.Possible, false)
	if c := cureOf(r, mount.OtherBolt); c != nil {
		t.Errorf("%s is offered", c.Bolt.Thread)
	}
	same(t, "together by", cureOf(r, mount.MoveHoles).By, -(6 * mm).Up(unit.MaxLength))
	bracket.Bolt = bolt(t, "M6")
	same(t, "M6", shelf.BoltUp(end, bracket, mount.Options{}).Possible, false)
	// For a bolt that is too small a larger one is: 7/16 in (11.1125) still leaves
	// 1.8875 where 3/64 in is allowed.
	bracket.HoleSpacing = 70 * mm
	r = shelf.BoltUp(end, bracket, mount.Options{Detail: true})
	same(t, "larger", cureOf(r, mount.OtherBolt).Bolt.Thread.String(), "M12x1.75")
}

func TestBarPinBolts(t *testing.T) {
	end := mount.End{Style: mount.BarPin, HoleSpacing: 60 * mm, Hole: 13 * mm}
	r := mount.NewShelf(nil, nil, nil, mount.UsualLimits()).BoltUp(end,
		mount.Bracket{Bolt: bolt(t, "M12"), HoleSpacing: 60 * mm, Grade: "8.8"}, mount.Options{Detail: true, Load: 5000})
	near(t, "torque", r.Bolt.Torque, 87.97, 0.3) // as for any M12 8.8, T = K d F
	same(t, "shear", r.Bolt.ShearCapacity, 0)
	same(t, "factor", r.Bolt.SafetyFactor, 0)
	same(t, "caution", codes(r)["bar_pin_bolts_are_pulled"], true)
	same(t, "hole", r.BracketHole.Fits[0].Diameter, 13*mm)
}
