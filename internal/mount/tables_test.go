package mount_test

import (
	"fmt"
	"strings"
	"testing"

	"midstroke/internal/mount"
	"midstroke/internal/unit"
)

const squareInch = 25.4 * 25.4 // mm²

// Tensile stress areas as the standards' tables print them, to half of their
// last place.
func TestStressAreas(t *testing.T) {
	// ISO 898-1, table of nominal stress areas, mm²: M12 and M24 as fastener
	// suppliers print it, the others from memory.
	for thread, want := range map[string]string{
		"M6": "20.1", "M8": "36.6", "M10": "58.0", "M12": "84.3", "M14": "115", "M16": "157",
		"M18": "192", "M20": "245", "M22": "303", "M24": "353",
		"M8x1": "39.2", "M10x1.25": "61.2", "M10x1": "64.5", "M12x1.5": "88.1", "M12x1.25": "92.1",
		"M14x1.5": "125", "M16x1.5": "167", "M18x1.5": "216", "M20x1.5": "272", "M22x1.5": "333", "M24x2": "384",
	} {
		got := mount.StressArea(bolt(t, thread).Thread)
		printed := fmt.Sprintf("%.3g", got)
		if strings.TrimSuffix(printed, ".0") != strings.TrimSuffix(want, ".0") {
			t.Errorf("%s: %s (%.4f) mm², the table prints %s", thread, printed, got, want)
		}
	}
	// The same formula to more places, computed apart.
	near(t, "M12", mount.StressArea(bolt(t, "M12").Thread), 84.27, 0.01)
	near(t, "M24", mount.StressArea(bolt(t, "M24").Thread), 352.5, 0.01)

	// Shigley, 9th ed., table 8-2, in²: 1/2-13 and 7/16-14 as printed, to the
	// last place; the others from memory, to half a hundredth, since that table
	// and others differ on 3/4-10 (0.334, 0.335).
	for thread, row := range map[string]struct{ want, tolerance float64 }{
		"1/2-13": {0.1419, 5e-5}, "7/16-14": {0.1063, 5e-5},
		"1/4-20": {0.0318, 0.0318 * 0.005}, "5/16-18": {0.0524, 0.0524 * 0.005}, "3/8-16": {0.0775, 0.0775 * 0.005},
		"9/16-12": {0.182, 0.182 * 0.005}, "5/8-11": {0.226, 0.226 * 0.005}, "3/4-10": {0.334, 0.334 * 0.005},
		"7/8-9": {0.462, 0.462 * 0.005}, "1-8": {0.606, 0.606 * 0.005},
		"1/4-28": {0.0364, 0.0364 * 0.005}, "3/8-24": {0.0878, 0.0878 * 0.005}, "1/2-20": {0.1599, 0.1599 * 0.005},
		"5/8-18": {0.256, 0.256 * 0.005}, "3/4-16": {0.373, 0.373 * 0.005}, "1-12": {0.663, 0.663 * 0.005},
	} {
		near(t, thread, mount.StressArea(bolt(t, thread).Thread)/squareInch, row.want, row.tolerance)
	}
}

// Minor areas of Shigley, 9th ed., tables 8-1 and 8-2, from memory, to half a
// hundredth.
func TestMinorAreas(t *testing.T) {
	for thread, want := range map[string]float64{"M10": 52.3, "M12": 76.3, "M16": 144, "M20": 225, "M24": 324} {
		near(t, thread, mount.MinorArea(bolt(t, thread).Thread), want, want*0.005)
	}
	for thread, want := range map[string]float64{"3/8-16": 0.0678, "1/2-13": 0.1257, "5/8-11": 0.202, "3/4-10": 0.302, "1-8": 0.551} {
		near(t, thread, mount.MinorArea(bolt(t, thread).Thread)/squareInch, want, want*0.005)
	}
}

// detail is the bolt of an eye that goes straight on it, in a bracket with 6 mm
// plates and a 40 mm opening.
func detail(t testing.TB, b mount.Bolt, grade string, opts mount.Options) mount.Result {
	t.Helper()
	end := mount.End{Style: mount.Eye, Bore: b.Diameter + 200*um, Width: 40 * mm}
	opts.Detail = true
	return mount.NewShelf(nil, nil, nil, mount.UsualLimits()).
		BoltUp(end, mount.Bracket{Bolt: b, Opening: 40 * mm, Plate: 6 * mm, Shear: mount.DoubleShear, Grade: grade}, opts)
}

// Proof loads as ISO 898-1's table prints them, N: M12 as fastener suppliers
// print it, the others from memory.
func TestProofLoads(t *testing.T) {
	for _, c := range []struct {
		thread, grade string
		want, within  float64
	}{
		{"M12", "8.8", 48875, 30}, // the table prints 48 900
		{"M8", "8.8", 21200, 50}, {"M10", "8.8", 33700, 80}, {"M16", "8.8", 91000, 250},
		// Above 16 mm the class has 600 MPa and not 580.
		{"M20", "8.8", 147000, 250}, {"M24", "8.8", 212000, 550},
		{"M10", "10.9", 48100, 60}, {"M12", "10.9", 70000, 80}, {"M16", "10.9", 130000, 250},
		{"M10", "12.9", 56300, 80}, {"M12", "12.9", 81800, 80},
	} {
		near(t, c.thread+" "+c.grade, detail(t, bolt(t, c.thread), c.grade, mount.Options{}).Bolt.ProofLoad, c.want, c.within)
	}
	// SAE J429's proof strengths, ksi, as fastener suppliers print them. The
	// bolt here is 2 1/2 to 4 in long, so grade 2 has its higher value.
	for _, c := range []struct {
		thread, grade string
		ksi           float64
	}{
		{"1/2", "SAE 2", 55}, {"3/4", "SAE 2", 55}, {"7/8", "SAE 2", 33}, {"1/2", "SAE 5", 85}, {"1", "SAE 5", 85}, {"1/2", "SAE 8", 120},
	} {
		b := bolt(t, c.thread+" in")
		proof := detail(t, b, c.grade, mount.Options{}).Bolt.ProofLoad / mount.StressArea(b.Thread)
		near(t, c.thread+" "+c.grade, proof, c.ksi*6.894757, 1e-3)
	}
}

// Grade 5 falls off above 1 in (SAE J429), seen in the shear of a plain pin.
func TestGrade5AboveOneInch(t *testing.T) {
	for pin, ksi := range map[string]float64{"25.4 mm": 85, "25.5 mm": 74} {
		b := bolt(t, pin)
		got := detail(t, b, "SAE 5", mount.Options{}).Bolt.ShearCapacity / (2 * 0.577 * mount.ShankArea(b))
		near(t, pin, got, ksi*6.894757, 1e-3)
	}
}

// Grade 2 falls off above 6 in of length (SAE J429), and where the length isn't
// known it counts as long.
func TestGrade2InALongBolt(t *testing.T) {
	b := bolt(t, "1/2 in")
	end := mount.End{Style: mount.Eye, Bore: b.Diameter + 200*um, Width: 150 * mm}
	bracket := mount.Bracket{Bolt: b, Opening: 150 * mm, Plate: 6 * mm, Grade: "SAE 2"}
	shelf := mount.NewShelf(nil, nil, nil, mount.UsualLimits())
	long := shelf.BoltUp(end, bracket, mount.Options{Detail: true}).Bolt
	if long.Length <= 6*unit.Inch {
		t.Fatalf("the bolt is only %s", long.Length.Text(unit.Inches))
	}
	near(t, "long", long.ProofLoad/long.StressArea, 33*6.894757, 1e-3)
	bracket.Plate = 0
	unknown := shelf.BoltUp(end, bracket, mount.Options{Detail: true}).Bolt
	same(t, "length", unknown.Length, 0)
	near(t, "unknown", unknown.ProofLoad/unknown.StressArea, 33*6.894757, 1e-3)
}

func TestTorque(t *testing.T) {
	// T = K d F, Shigley, 9th ed., p. 442 and table 8-15: K 0.20 and 75 % of proof.
	m12 := detail(t, bolt(t, "M12"), "8.8", mount.Options{TorqueFactor: 0.2, PreloadFraction: 0.75}).Bolt
	near(t, "M12 8.8, N·m", m12.Torque, 87.97, 0.3)
	half := detail(t, bolt(t, "1/2 in"), "SAE 5", mount.Options{TorqueFactor: 0.2, PreloadFraction: 0.75}).Bolt
	near(t, "1/2-13 SAE 5, lbf·ft", half.PoundFeet, 75.4, 0.3)
	// The defaults are those very figures.
	same(t, "defaults", detail(t, bolt(t, "M12"), "8.8", mount.Options{}).Bolt.Torque, m12.Torque)
	// Twice the factor is twice the torque; the preload stays.
	twice := detail(t, bolt(t, "M12"), "8.8", mount.Options{TorqueFactor: 0.4}).Bolt
	near(t, "twice K", twice.Torque, 2*m12.Torque, 1e-9)
	same(t, "preload", twice.Preload, m12.Preload)
	// 1 lbf·ft = 1.355 817 948 N·m, NIST SP 811 appendix B.8, from memory.
	near(t, "lbf·ft", mount.PoundFeet(1.355817948), 1, 1e-9)
}

// Shigley, 9th ed., p. 454, published answer: four shank areas of 3/4 in, 85
// ksi proof, a factor of 1.5: 57.8 kip.
func TestShearOfShigley(t *testing.T) {
	const ksi, kip = 6.894757, 4448.222
	b := bolt(t, "3/4 in")
	near(t, "kip", mount.ProofShear(85*ksi, mount.ShankArea(b), 4)/1.5/kip, 57.8, 0.1)
}

// A 4 + 40 + 4 mm bracket with M12 and washers of 2.5 mm: 67.3 mm of bolt at
// least, 70 to buy (nut of ISO 4032, two pitches showing; the preferred lengths
// from memory).
func TestBoltLength(t *testing.T) {
	end := mount.End{Style: mount.Eye, Bore: 12200 * um, Width: 40 * mm}
	bracket := mount.Bracket{Bolt: bolt(t, "M12"), Opening: 40 * mm, Plate: 4 * mm, Washer: 2500 * um}
	b := mount.NewShelf(nil, nil, nil, mount.UsualLimits()).BoltUp(end, bracket, mount.Options{Detail: true}).Bolt
	same(t, "least", b.LeastLength, length(t, "67.3 mm"))
	same(t, "length", b.Length, 70*mm)
}

// ISO 273 fine, medium, coarse in mm, as fastener suppliers print it; M18 and
// M22 from an older list that agrees on the others.
func TestMetricHoles(t *testing.T) {
	for thread, want := range map[string]string{
		"M6": "6.4 6.6 7", "M8": "8.4 9 10", "M10": "10.5 11 12", "M12": "13 13.5 14.5", "M14": "15 15.5 16.5",
		"M16": "17 17.5 18.5", "M18": "19 20 21", "M20": "21 22 24", "M22": "23 24 26", "M24": "25 26 28",
		"M12x1.25": "13 13.5 14.5", // a hole doesn't know the pitch
	} {
		h := mount.BracketHole(bolt(t, thread))
		same(t, thread, holes(h, unit.Millimetres), "ISO 273 fine medium coarse "+want)
	}
}

// ASME B18.2.8-1999 close, normal, loose in inches: loose read in Machinery's
// Handbook, 31st ed., p. 1741, close and normal in a chart that agrees with it.
func TestInchHoles(t *testing.T) {
	for thread, want := range map[string]string{
		"1/4": "17/64 9/32 19/64", "5/16": "21/64 11/32 23/64", "3/8": "25/64 13/32 27/64", "7/16": "29/64 15/32 31/64",
		"1/2": "17/32 9/16 39/64", "5/8": "21/32 11/16 47/64", "3/4": "25/32 13/16 29/32", "7/8": "29/32 15/16 1 1/32",
		"1": "1 1/32 1 3/32 1 5/32",
	} {
		h := mount.BracketHole(bolt(t, thread+" in"))
		same(t, thread, holes(h, unit.Inches), "ASME B18.2.8 close normal loose "+want)
	}
	// 9/16 in is absent from it, and a plain pin is no bolt.
	for _, none := range []string{"9/16 in", "12 mm", "12.7 mm"} {
		if h := mount.BracketHole(bolt(t, none)); h != nil {
			t.Errorf("%s has a hole: %v", none, h)
		}
	}
	same(t, "1/2 in normal", mount.BracketHole(bolt(t, "1/2 in")).Fits[1].Diameter, unit.Inch*5625/10000)
}

func holes(h *mount.Hole, s unit.System) string {
	words := []string{h.Standard}
	for _, f := range h.Fits {
		words = append(words, f.Name)
	}
	for _, f := range h.Fits {
		words = append(words, strings.TrimSuffix(f.Diameter.Text(s), " "+s.String()))
	}
	return strings.Join(words, " ")
}

// Nut heights, max: ISO 4032 as fastener suppliers print it (8.0 for M10 and
// 10.0 for M12 are the older standard's), ASME B18.2.2 as in Machinery's
// Handbook, 31st ed., p. 1677. Washers: ISO 7089 (one supplier; M22 from
// memory), ASME B18.21.1 type A narrow as on p. 1694 for 7/16 to 3/4 in, the
// others from memory. What is left of a bolt's least length without plates,
// opening and two pitches is the nut and two washers.
func TestNutsAndWashers(t *testing.T) {
	for thread, want := range map[string][2]float64{ // mm
		"M6": {5.2, 1.6}, "M8": {6.8, 1.6}, "M10": {8.4, 2}, "M12": {10.8, 2.5}, "M14": {12.8, 2.5},
		"M16": {14.8, 3}, "M18": {15.8, 3}, "M20": {18, 3}, "M22": {19.4, 3}, "M24": {21.5, 4},
	} {
		near(t, thread, nutAndWashers(t, thread).Mm(), want[0]+2*want[1], 1e-9)
	}
	for thread, want := range map[string][2]float64{ // in
		"1/4": {.226, .065}, "5/16": {.273, .065}, "3/8": {.337, .065}, "7/16": {.385, .065}, "1/2": {.448, .095},
		"9/16": {.496, .095}, "5/8": {.559, .095}, "3/4": {.665, .134}, "7/8": {.776, .134}, "1": {.887, .134},
	} {
		near(t, thread, nutAndWashers(t, thread+" in").In(unit.Inches), want[0]+2*want[1], 1e-9)
	}
}

func nutAndWashers(t testing.TB, name string) unit.Length {
	t.Helper()
	b := bolt(t, name)
	return detail(t, b, "", mount.Options{}).Bolt.LeastLength - 2*6*mm - 40*mm - 2*b.Thread.Pitch
}

// Preferred lengths: ISO 888 from memory, inch lengths by common practice, no
// source. Thread lengths: ISO 4014 as fastener suppliers print it, ASME B18.2.1.
func TestLengthsAndThreads(t *testing.T) {
	for _, c := range []struct {
		bolt, opening    string
		length, threaded string
	}{
		{"M10", "3 mm", "35 mm", "26 mm"},    // plates 12 + 3 + washers 4 + nut 8.4 + threads 3 = 30.4
		{"M10", "40 mm", "70 mm", "26 mm"},   // 67.4
		{"M10", "45 mm", "80 mm", "26 mm"},   // 72.4: by tens from 70
		{"M10", "100 mm", "130 mm", "32 mm"}, // 127.4: past 125 the thread is 2 d + 12
		{"M10", "150 mm", "180 mm", "32 mm"}, // 177.4: by twenties from 160
		{"M10", "180 mm", "220 mm", "45 mm"}, // 207.4: past 200 the thread is 2 d + 25
		{"M10", "600 mm", "", ""},            // past the series
		{"1/2 in", "1 in", "2 1/2 in", "1 1/4 in"},
		{"1/2 in", "4 in", "5 1/2 in", "1 1/4 in"}, // by halves from 5 in
		{"1/2 in", "5 in", "6 1/2 in", "1 1/2 in"}, // past 6 in the thread is 2 D + 1/2
		{"1/2 in", "7 in", "", ""},
		{"M22", "3 mm", "50 mm", "50 mm"},          // 45.4: threaded all along
		{"1 in", "1/8 in", "2 1/4 in", "2 1/4 in"}, // 2.0024: threaded all along
	} {
		b, s := bolt(t, c.bolt), unit.Millimetres
		if b.Thread.Inch() {
			s = unit.Inches
		}
		w := length(t, c.opening)
		end := mount.End{Style: mount.Eye, Bore: b.Diameter + 200*um, Width: w}
		bracket := mount.Bracket{Bolt: b, Opening: w, Plate: 6 * mm}
		d := mount.NewShelf(nil, nil, nil, mount.UsualLimits()).BoltUp(end, bracket, mount.Options{Detail: true}).Bolt
		got, threaded := "", ""
		if d.Length != 0 {
			got, threaded = d.Length.Text(s), d.ThreadLength.Text(s)
		}
		if got != c.length || threaded != c.threaded {
			t.Errorf("%s over %s: %q with %q of thread, want %q with %q (least %s)",
				c.bolt, c.opening, got, threaded, c.length, c.threaded, d.LeastLength.Text(s))
		}
	}
}
