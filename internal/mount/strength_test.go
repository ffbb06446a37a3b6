package mount_test

import (
	"math"
	"testing"

	"midstroke/internal/mount"
)

func codes(r mount.Result) map[string]bool {
	has := map[string]bool{}
	for _, n := range r.Cautions {
		has[string(n.Code)] = true
	}
	for _, n := range r.Reasons {
		has[string(n.Code)] = true
	}
	for _, s := range r.Working {
		has[string(s.Code)] = true
	}
	return has
}

func TestWhereTheThreadsLie(t *testing.T) {
	m12 := bolt(t, "M12")
	opts := mount.Options{Load: 10_000}
	// 2 × 6 + 40 + 2 × 2.5 + 10.8 + 3.5 = 71.3: 80 long, 30 of it thread, so the
	// shank of 50 reaches past the far plane at 2.5 + 6 + 40 = 48.5.
	r := detail(t, m12, "8.8", opts)
	same(t, "length", r.Bolt.Length, 80*mm)
	same(t, "by length", r.Bolt.ThreadsReachShearPlane, mount.No)
	shank := 2 * 0.577 * 580 * math.Pi / 4 * 12 * 12 // Shigley, 9th ed., p. 454
	near(t, "shank", r.Bolt.ShearCapacity, shank, 1e-6)
	near(t, "ultimate", r.Bolt.UltimateShear, 2*0.6*800*math.Pi/4*12*12, 1e-6) // 0.6 S_u, common practice
	near(t, "factor", r.Bolt.SafetyFactor, shank/10_000, 1e-9)

	// The caller's word rules, and is the weaker here.
	opts.ThreadsInShearPlane = mount.Yes
	told := detail(t, m12, "8.8", opts)
	root := 12 - 1.226869*1.75
	threaded := 2 * 0.577 * 580 * math.Pi / 4 * root * root
	near(t, "told", told.Bolt.ShearCapacity, threaded, 1e-6)
	same(t, "by length", told.Bolt.ThreadsReachShearPlane, mount.No)
	same(t, "contradiction", codes(told)["threads_contradict_length"], false)

	// A "no" that the length contradicts brings both and a caution. With 45 mm of
	// opening it is 76.3: 80 long still, and the plane at 53.5 is past the shank.
	end := mount.End{Style: mount.Eye, Bore: 12200 * um, Width: 45 * mm}
	bracket := mount.Bracket{Bolt: m12, Opening: 45 * mm, Plate: 6 * mm, Shear: mount.DoubleShear, Grade: "8.8"}
	opts.ThreadsInShearPlane, opts.Detail = mount.No, true
	shelf := mount.NewShelf(nil, nil, nil, mount.UsualLimits())
	no := shelf.BoltUp(end, bracket, opts)
	same(t, "by length", no.Bolt.ThreadsReachShearPlane, mount.Yes)
	near(t, "no", no.Bolt.ShearCapacity, shank, 1e-6)
	near(t, "and through the thread", no.Bolt.ThreadedShearCapacity, threaded, 1e-6)
	same(t, "caution", codes(no)["threads_contradict_length"], true)

	// So does a "no" that no length bears out: our choice, the safe side.
	bracket.Plate = 0
	unchecked := shelf.BoltUp(end, bracket, opts)
	near(t, "unchecked", unchecked.Bolt.ShearCapacity, shank, 1e-6)
	near(t, "unchecked, through the thread", unchecked.Bolt.ThreadedShearCapacity, threaded, 1e-6)
	same(t, "caution", codes(unchecked)["threads_not_checked"], true)

	// Where the length isn't known the thread is taken to lie in the plane.
	bracket.Plate, opts.ThreadsInShearPlane = 0, mount.Untold
	unknown := shelf.BoltUp(end, bracket, opts)
	same(t, "length", unknown.Bolt.Length, 0)
	same(t, "by length", unknown.Bolt.ThreadsReachShearPlane, mount.Untold)
	near(t, "unknown", unknown.Bolt.ShearCapacity, threaded, 1e-6)
	same(t, "bearing", unknown.Bolt.Bearing, 0)
	same(t, "caution", codes(unknown)["bolt_length_left_open"], true)
}

// The thread that begins exactly at the far plane does not lie in it.
func TestThreadsExactlyAtThePlane(t *testing.T) {
	// M12: nut 10.8 and two pitches 3.5 leave 80 - 30 = 50 at the plane where
	// washer 2.5 + plate 7.5 + opening 40 = 50.
	end := mount.End{Style: mount.Eye, Bore: 12200 * um, Width: 40 * mm}
	bracket := mount.Bracket{Bolt: bolt(t, "M12"), Opening: 40 * mm, Plate: 7500 * um}
	shelf := mount.NewShelf(nil, nil, nil, mount.UsualLimits())
	same(t, "at it", shelf.BoltUp(end, bracket, mount.Options{Detail: true}).Bolt.ThreadsReachShearPlane, mount.No)
	bracket.Plate++
	same(t, "past it", shelf.BoltUp(end, bracket, mount.Options{Detail: true}).Bolt.ThreadsReachShearPlane, mount.Yes)
}

// In single shear bending governs: 32 F e/(pi d³), e to the bushing's centre.
func TestSingleShear(t *testing.T) {
	end := mount.End{Style: mount.Eye, Bore: 12200 * um, Width: 40 * mm}
	bracket := mount.Bracket{Bolt: bolt(t, "M12"), Plate: 8 * mm, Shear: mount.SingleShear, Grade: "10.9"}
	shelf := mount.NewShelf(nil, nil, nil, mount.UsualLimits())
	r := shelf.BoltUp(end, bracket, mount.Options{Detail: true, Load: 3000})
	b := r.Bolt
	same(t, "open", r.Open, false)
	same(t, "least", b.LeastLength, length(t, "67.3 mm")) // 2 × 2.5 + 8 + 40 + 10.8 + 3.5
	same(t, "length", b.Length, 70*mm)
	same(t, "threads reach", b.ThreadsReachShearPlane, mount.Yes) // 70 - 30 < 2.5 + 40, the head on the eye's side
	root := 12 - 1.226869*1.75
	stress := 32 * 3000 * 20 / (math.Pi * root * root * root)
	near(t, "bending", b.Bending, stress, 1e-6)
	near(t, "shear", b.ShearCapacity, 0.577*830*math.Pi/4*root*root, 1e-6)
	near(t, "factor", b.SafetyFactor, 830/stress, 1e-9)
	near(t, "bearing", b.Bearing, 3000.0/(8*12), 1e-9)
	if b.SafetyFactor >= b.ShearCapacity/3000 {
		t.Error("bending does not govern")
	}

	// Without the arm nothing is said about safety.
	end.Width = 0
	unknown := shelf.BoltUp(end, bracket, mount.Options{Detail: true, Load: 3000})
	same(t, "factor", unknown.Bolt.SafetyFactor, 0)
	same(t, "caution", codes(unknown)["bending_left_open"], true)
}

func TestNoStrengthIsAssumed(t *testing.T) {
	m12 := bolt(t, "M12")
	b := detail(t, m12, "", mount.Options{Load: 5000}).Bolt
	near(t, "stress area", b.StressArea, 84.27, 0.01)
	near(t, "bearing", b.Bearing, 5000.0/(2*6*12), 1e-9)
	for what, f := range map[string]float64{
		"proof load": b.ProofLoad, "shear": b.ShearCapacity, "ultimate": b.UltimateShear,
		"factor": b.SafetyFactor, "preload": b.Preload, "torque": b.Torque, "lbf·ft": b.PoundFeet,
	} {
		same(t, what+" without a grade", f, 0)
	}
	b = detail(t, m12, "8.8", mount.Options{}).Bolt
	same(t, "factor without a load", b.SafetyFactor, 0)
	same(t, "bearing without a load", b.Bearing, 0)
	if b.ShearCapacity == 0 || b.Torque == 0 {
		t.Error("the grade is there and its figures are not")
	}

	// A plain pin has no thread's figures, but its shank bears.
	pin := detail(t, bolt(t, "12.2 mm"), "8.8", mount.Options{Load: 5000}).Bolt
	same(t, "thread", pin.Bolt.Thread.String(), "")
	same(t, "least length", pin.LeastLength, 0)
	same(t, "stress area", pin.StressArea, 0)
	same(t, "proof load", pin.ProofLoad, 0)
	same(t, "torque", pin.Torque, 0)
	near(t, "shear", pin.ShearCapacity, 2*0.577*580*math.Pi/4*12.2*12.2, 1e-6)
	same(t, "threads of a pin", detail(t, bolt(t, "12.2 mm"), "8.8", mount.Options{ThreadsInShearPlane: mount.No}).Bolt.ThreadedShearCapacity, 0)
}

// Single or double shear is never guessed at the weak side's cost: unsaid, the
// bolt counts as held in one plate, whose bending governs, and cautioned
// (our choice). The contract's example for one end without its `shear` bears a
// factor of 0.22 and not 3.89: 32 × 9000 × 16 over π (10 − 1.226869 × 1.5)³ is
// 2702 MPa (Shigley's root diameter) against 580 of proof.
func TestUnsaidShearIsSingle(t *testing.T) {
	end := mount.End{Style: mount.Eye, Bore: 10300 * um, Width: 32 * mm}
	bracket := mount.Bracket{Bolt: bolt(t, "M10"), Opening: 32 * mm, Plate: 5 * mm, Washer: 2 * mm, Grade: "8.8"}
	shelf := mount.NewShelf(nil, nil, nil, mount.UsualLimits())
	opts := mount.Options{Detail: true, Load: 9000}
	r := shelf.BoltUp(end, bracket, opts)
	root := 10 - 1.226869*1.5
	near(t, "factor", r.Bolt.SafetyFactor, 580/(32*9000*16/(math.Pi*root*root*root)), 1e-9)
	near(t, "factor", r.Bolt.SafetyFactor, 0.22, 0.01)
	near(t, "bearing", r.Bolt.Bearing, 9000.0/(5*10), 1e-9)
	same(t, "working", codes(r)["single_shear_assumed"], true)
	same(t, "caution", codes(r)["shear_assumed"], true)
	// It is still long enough for the two plates that an opening may lie between.
	same(t, "least length", r.Bolt.LeastLength, length(t, "57.4 mm"))

	// Said, nothing is assumed; and without a strength nothing hangs on it.
	for _, shear := range []mount.Shear{mount.SingleShear, mount.DoubleShear} {
		bracket.Shear = shear
		said := shelf.BoltUp(end, bracket, opts)
		same(t, "assumed", codes(said)["single_shear_assumed"] || codes(said)["shear_assumed"], false)
	}
	bracket.Shear, bracket.Grade = mount.NoShear, ""
	same(t, "caution without a strength", codes(shelf.BoltUp(end, bracket, mount.Options{Detail: true}))["shear_assumed"], false)

	// Without an opening either: one plane, where nothing was given before.
	bracket.Opening, bracket.Grade = 0, "8.8"
	open := shelf.BoltUp(end, bracket, opts)
	near(t, "shear", open.Bolt.ShearCapacity, 0.577*580*math.Pi/4*root*root, 1e-6)
	same(t, "caution", codes(open)["shear_assumed"], true)
}

func TestAWeakBoltIsSaidToBe(t *testing.T) {
	r := detail(t, bolt(t, "M6"), "8.8", mount.Options{Load: 90_000})
	same(t, "possible", r.Possible, true) // it bolts up all the same
	same(t, "caution", codes(r)["bolt_too_weak"], true)
	if r.Bolt.SafetyFactor >= 1 {
		t.Errorf("safety factor %g", r.Bolt.SafetyFactor)
	}
}

// The bolt is told of whether or not the end bolts up.
func TestTheBoltOfAnImpossibleEnd(t *testing.T) {
	end := mount.End{Style: mount.Eye, Bore: 10 * mm, Width: 30 * mm}
	bracket := mount.Bracket{Bolt: bolt(t, "1/2 in"), Opening: 30 * mm, Plate: 5 * mm, Grade: "SAE 5"}
	r := mount.NewShelf(nil, nil, nil, mount.UsualLimits()).BoltUp(end, bracket, mount.Options{Detail: true})
	same(t, "possible", r.Possible, false)
	same(t, "hole", r.BracketHole.Standard, "ASME B18.2.8")
	if r.Bolt == nil || r.Bolt.Length == 0 || r.Bolt.Torque == 0 {
		t.Errorf("bolt %+v", r.Bolt)
	}
}
