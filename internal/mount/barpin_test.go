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

// A larger clearance of a smaller bolt may make up for the spacing.
func TestASmallerBoltForABarPin(t *testing.T) {
	end := mount.End{Style: mount.BarPin, HoleSpacing: 60 * mm, Hole: 13 * mm}
	bracket := mount.Bracket{Bolt: bolt(t, "M12"), HoleSpacing: 62 * mm}
	r := mount.NewShelf(nil, nil, nil, mount.UsualLimits()).BoltUp(end, bracket, mount.Options{Detail: true})
	// 2 mm need 2 mm of clearance: 7/16 in (11.1125) leaves 1.8875 and M10 3.
	same(t, "bolt", cureOf(r, mount.OtherBolt).Bolt.Thread.String(), "M10x1.5")
	same(t, "together by", cureOf(r, mount.MoveHoles).By, -1*mm)
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
