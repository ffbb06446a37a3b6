package table

import (
	"midstroke/internal/catalog"
	"midstroke/internal/mount"
	"midstroke/internal/unit"
)

// thinnestBolt is the thinnest of the thread table, M6; nothing bolts through
// a smaller hole.
const thinnestBolt = 6 * unit.Millimetre

// checkDamper finds lengths that no damper can have. Both of its limits are
// between the ends' reference points, and the rod that comes out over the
// stroke must go back into a body that stands between the ends, so the stroke
// is less than the compressed length less the room of the two ends.
func checkDamper(d *catalog.Damper, bad complain) {
	known := d.Compressed > 0 && d.Extended > 0
	most := 2*d.Compressed - endRoom(&d.Upper) - endRoom(&d.Lower)
	switch {
	case !known:
	case d.Extended <= d.Compressed:
		bad("extended", "not_longer", "the extended length must be more than the compressed length",
			"see whether the two were mixed up, or one is in another unit")
	case d.Extended > most:
		bad("extended", "stroke_impossible", "the rod would be longer than the body that it goes into",
			"check both lengths, which are between the ends' reference points: extended can't be more than twice compressed less the ends")
	case 2*d.LengthTolerance >= d.Stroke():
		bad("length_tolerance", "tolerance_too_large", "the tolerance is half the stroke or more",
			"give how far the lengths may be off each way, as in 1/16 in")
	}
	if d.Compressed > 0 && d.BodyDiameter >= d.Compressed {
		bad("body_diameter", "body_too_large", "the body is as wide as the damper is long",
			"check the diameter and its unit")
	}
	checkEnd("upper", &d.Upper, bad)
	checkEnd("lower", &d.Lower, bad)
}

// endRoom is the least that an end takes of the length between the reference
// points: half its bore for an eye.
func endRoom(e *mount.End) unit.Length {
	if e.Style == mount.Eye {
		return e.Bore / 2
	}
	return 0
}

// checkEnd finds what an end of its style hasn't got, and measures that don't
// go together.
func checkEnd(prefix string, e *mount.End, bad complain) {
	if e.Style == mount.NoStyle {
		return
	}
	for _, f := range []struct {
		name  string
		given bool
		of    mount.Style
	}{
		{"bore", e.Bore != 0, mount.Eye},
		{"bore_is", e.BoreIs != mount.Actual, mount.Eye},
		{"width", e.Width != 0, mount.Eye},
		{"thread", e.Thread != mount.Thread{}, mount.Stud},
		{"usable_length", e.UsableLength != 0, mount.Stud},
		{"spigot", e.Spigot != 0, mount.Stud},
		{"hole_spacing", e.HoleSpacing != 0, mount.BarPin},
		{"slot", e.Slot != 0, mount.BarPin},
		{"hole", e.Hole != 0, mount.BarPin},
	} {
		if f.given && f.of != e.Style {
			bad(prefix+"_"+f.name, "not_of_this_style", "an end of style "+e.Style.String()+" has no such measure",
				"leave the cell empty or correct the style")
		}
	}
	if e.Style == mount.Eye && e.Bore == 0 && e.BoreIs != mount.Actual {
		bad(prefix+"_bore_is", "bore_missing", "there is no bore to be nominal", "give the bore or leave the cell empty")
	}
	if tooThin(e.Bore) {
		badHole(prefix+"_bore", bad)
	}
	if tooThin(e.Hole) {
		badHole(prefix+"_hole", bad)
	}
	if e.Spigot > 0 && e.Spigot <= e.Thread.Diameter {
		bad(prefix+"_spigot", "spigot_too_small", "the bushing's spigot can't be thinner than the stud inside it", "check the diameter and its unit")
	}
	if e.HoleSpacing > 0 && e.Hole >= e.HoleSpacing {
		bad(prefix+"_hole", "holes_overlap", "the two holes would run into each other", "check the hole and the spacing, which is between centres")
	}
	if e.HoleSpacing > 0 && e.Slot >= e.HoleSpacing {
		bad(prefix+"_slot", "slot_too_long", "the slots would run into each other", "give by how much the spacing may differ in all")
	}
}

// tooThin says whether there is a hole that no bolt goes through.
func tooThin(hole unit.Length) bool { return hole > 0 && hole < thinnestBolt }

func badHole(column string, bad complain) {
	bad(column, "hole_too_small", "the thinnest bolt, M6, doesn't go through this", "check the diameter and its unit")
}

func checkSleeve(s *mount.Sleeve, bad complain) {
	if s.Outer > 0 && s.Bore >= s.Outer {
		bad("bore", "no_wall", "the bore must be less than the outer diameter", "see whether the two were mixed up")
	}
	if tooThin(s.Bore) {
		badHole("bore", bad)
	}
}

func checkSpacer(s *mount.Spacer, bad complain) {
	if tooThin(s.Bore) {
		badHole("bore", bad)
	}
}

func checkAdapter(a *mount.Adapter, bad complain) {
	checkEnd("from", &a.From, bad)
	checkEnd("to", &a.To, bad)
}

func checkSettings(s *Settings, bad complain) {
	if s.Currency != "" && !isCurrency(s.Currency) {
		bad("currency", "currency", "this isn't the code of a currency", "write its three letters of ISO 4217, as in EUR")
	}
	for _, pair := range []struct {
		least, most unit.Length
		name        string
	}{
		{s.Limits.SleeveGapLeast, s.Limits.SleeveGapMost, "sleeve_gap_most"},
		{s.Limits.BoltGapLeast, s.Limits.BoltGapMost, "bolt_gap_most"},
	} {
		if pair.most < pair.least {
			bad(pair.name, "most_below_least", "the most is below the least", "see whether the two were mixed up; an empty cell stands for the usual clearance")
		}
	}
}

func isCurrency(code string) bool {
	if len(code) != 3 {
		return false
	}
	for i := range len(code) {
		if code[i] < 'A' || code[i] > 'Z' {
			return false
		}
	}
	return true
}
