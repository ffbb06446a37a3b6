package mount_test

import (
	"math"
	"strings"
	"testing"

	"midstroke/internal/fault"
	"midstroke/internal/mount"
	"midstroke/internal/note"
	"midstroke/internal/unit"
)

// listed writes faults as "pointer code" lines.
func listed(l fault.List) string {
	var lines []string
	for _, f := range l {
		lines = append(lines, f.Pointer+" "+f.Code.Public())
	}
	return strings.Join(lines, ", ")
}

func TestValidate(t *testing.T) {
	eye := mount.End{Style: mount.Eye, Bore: 16 * mm, Width: 31 * mm}
	metric, inch := mount.Bracket{Bolt: bolt(t, "M10")}, mount.Bracket{Bolt: bolt(t, "1/2 in")}
	with := func(b mount.Bracket, change func(*mount.Bracket)) mount.Bracket {
		change(&b)
		return b
	}
	for _, c := range []struct {
		what    string
		end     mount.End
		bracket mount.Bracket
		opts    mount.Options
		want    string
	}{
		{"all well", eye, metric, mount.Options{Load: 9000, TorqueFactor: 0.3, PreloadFraction: 0.9}, ""},
		{"nothing but a bore", mount.End{Style: mount.Eye, Bore: 16 * mm}, mount.Bracket{}, mount.Options{}, ""},
		{"no style", mount.End{}, mount.Bracket{}, mount.Options{}, "/end/style missing"},
		{"a fork", mount.End{Style: mount.Fork}, mount.Bracket{}, mount.Options{}, "/end/style style_outside_method"},
		{"an eye without a bore", mount.End{Style: mount.Eye}, mount.Bracket{}, mount.Options{}, "/end/bore missing"},
		{"a stud without a thread", mount.End{Style: mount.Stud}, mount.Bracket{}, mount.Options{}, "/end/thread missing"},
		{"a bar pin without spacings", mount.End{Style: mount.BarPin}, mount.Bracket{}, mount.Options{},
			"/end/hole_spacing missing, /bracket/hole_spacing missing"},
		{"a bar pin whose slot is longer than it", mount.End{Style: mount.BarPin, HoleSpacing: 20 * mm, Slot: 40 * mm},
			mount.Bracket{HoleSpacing: 20 * mm}, mount.Options{}, "/end/slot slot_too_long"},
		{"measures of other styles", mount.End{Style: mount.Stud, Thread: bolt(t, "M10").Thread, Bore: 16 * mm, Hole: 12 * mm}, mount.Bracket{}, mount.Options{},
			"/end/bore not_of_this_style, /end/hole not_of_this_style"},
		{"negative and absurd lengths", mount.End{Style: mount.Eye, Bore: -16 * mm, Width: 11 * unit.Metre},
			mount.Bracket{Opening: -1, Plate: -1, Washer: -1, FrameHole: -1, FrameThickness: -1, Bushing: -1, HoleSpacing: 20 * unit.Metre}, mount.Options{},
			"/end/bore not_positive, /end/width too_large, /bracket/opening not_positive, /bracket/plate not_positive, /bracket/washer not_positive, " +
				"/bracket/hole_spacing too_large, /bracket/frame_hole not_positive, /bracket/frame_thickness not_positive, /bracket/bushing_thickness not_positive"},
		{"a class on an inch bolt", eye, with(inch, func(b *mount.Bracket) { b.Grade = "8.8" }), mount.Options{}, "/bolt/grade grade_of_other_thread"},
		{"a grade on a metric bolt", eye, with(metric, func(b *mount.Bracket) { b.Grade = "SAE 5" }), mount.Options{}, "/bolt/grade grade_of_other_thread"},
		{"no such grade", eye, with(metric, func(b *mount.Bracket) { b.Grade = "9.9" }), mount.Options{}, "/bolt/grade unknown_grade"},
		{"either on a plain pin", eye, mount.Bracket{Bolt: bolt(t, "12.2 mm"), Grade: "SAE 8"}, mount.Options{}, ""},
		{"loads and factors that can't be", eye, metric,
			mount.Options{Load: -1, TorqueFactor: 1.5, PreloadFraction: -0.1},
			"/load_n out_of_range, /bolt/torque_factor out_of_range, /bolt/preload_fraction out_of_range"},
		{"what is no number", eye, metric,
			mount.Options{Load: math.NaN(), TorqueFactor: math.Inf(1), PreloadFraction: math.NaN()},
			"/load_n out_of_range, /bolt/torque_factor out_of_range, /bolt/preload_fraction out_of_range"},
	} {
		same(t, c.what, listed(mount.Validate(c.end, c.bracket, c.opts)), c.want)
	}
}

// Every fault has words in each language, its values all find a place in them,
// and nothing ends with a full stop.
func TestFaultsReadAsSentences(t *testing.T) {
	faults := mount.Validate(mount.End{Style: mount.Eye, Bore: -1},
		mount.Bracket{Bolt: bolt(t, "1/2 in"), Grade: "10.9", Plate: -1}, mount.Options{Load: -1, TorqueFactor: -1, PreloadFraction: -1})
	faults = append(faults, mount.Validate(mount.End{Style: mount.BarPin}, mount.Bracket{Bolt: bolt(t, "M10"), Grade: "SAE 5"}, mount.Options{})...)
	faults = append(faults, mount.Bracket{Grade: "9"}.Faults()...)
	faults = append(faults, (&mount.Sleeve{}).Faults()...)
	faults = append(faults, (&mount.Sleeve{Code: strings.Repeat("c", 65), Description: strings.Repeat("d", 1001), Outer: 2, Bore: 2, Price: -2}).Faults()...)
	faults = append(faults, (&mount.Spacer{Code: "a|b", Description: "a\tb", Price: mount.MostPrice + 1}).Faults()...)
	faults = append(faults, (&mount.Spacer{Code: " a"}).Faults()...)
	faults = append(faults, (&mount.Adapter{From: mount.End{Style: mount.SpindleStrut}, AddsLength: 11 * unit.Metre}).Faults()...)
	faults = append(faults, (&mount.End{Style: mount.Eye, BoreIs: mount.Nominal, Hole: mm}).Faults()...)
	faults = append(faults, (&mount.End{Style: mount.Stud, Spigot: 10 * mm, Thread: bolt(t, "M10").Thread}).Faults()...)
	faults = append(faults, (&mount.End{Style: mount.BarPin, HoleSpacing: 5 * mm, Slot: 5 * mm, Hole: 5 * mm}).Faults()...)
	codes := map[fault.Code]bool{}
	for _, f := range faults {
		codes[f.Code] = true
		for _, lang := range note.Languages() {
			text, cure := f.Text(lang, unit.Millimetres), f.Cure(lang, unit.Millimetres)
			if text == "" || text == string(f.Code) || strings.HasSuffix(text+cure, ".") || strings.ContainsAny(text+cure, "{}") {
				t.Errorf("%s %s in %s: %q, %q", f.Pointer, f.Code, lang, text, cure)
			}
		}
	}
	same(t, "codes", len(codes), 27) // all that faults.go names
}

func TestFaultsOfParts(t *testing.T) {
	good := mount.Sleeve{Code: "a", Outer: 16 * mm, Bore: 12 * mm, Length: 31 * mm, Price: mount.NoPrice}
	same(t, "a good sleeve", listed(good.Faults()), "")
	same(t, "an empty sleeve", listed((&mount.Sleeve{}).Faults()), "/code missing, /outer not_positive, /bore not_positive, /length not_positive")
	good.Bore = 16 * mm
	same(t, "no wall", listed(good.Faults()), "/outer no_wall")
	good.Outer, good.Bore = 6*mm, 3*mm // M6 is the thinnest bolt
	same(t, "a sleeve that no bolt goes through", listed(good.Faults()), "/bore hole_too_small")
	same(t, "a good spacer", listed((&mount.Spacer{Code: "a", Bore: 12 * mm, Thickness: 1}).Faults()), "")
	same(t, "a spacer", listed((&mount.Spacer{Code: "a", Bore: 11 * unit.Metre, Thickness: -1}).Faults()), "/bore too_large, /thickness not_positive")
	eye := mount.End{Style: mount.Eye, Bore: 16 * mm}
	same(t, "a good adapter", listed((&mount.Adapter{Code: "a", From: eye, To: eye, AddsLength: -20 * mm}).Faults()), "")
	same(t, "an adapter", listed((&mount.Adapter{From: mount.End{Style: mount.Eye, Bore: -1}, AddsLength: -11 * unit.Metre}).Faults()),
		"/code missing, /from/bore not_positive, /to/style missing, /adds_length too_large")
}

// A shelf leaves out what can't be a part, whatever a catalogue let through.
func TestAShelfLeavesOutWhatIsNoPart(t *testing.T) {
	end := mount.End{Style: mount.Eye, Bore: 16 * mm, Width: 31 * mm}
	bracket := mount.Bracket{Bolt: bolt(t, "M10"), Opening: 33 * mm}
	shelf := mount.NewShelf([]mount.Sleeve{
		{Code: "inside out", Outer: 15900 * um, Bore: 16 * mm, Length: 31 * mm},
		{Code: "no length", Outer: 15900 * um, Bore: 10300 * um},
		{Code: "no bore", Outer: 15900 * um, Length: 31 * mm},
	}, []mount.Spacer{{Code: "flat", Bore: 10 * mm}, {Code: "shut", Thickness: 1 * mm}}, nil, mount.UsualLimits())
	same(t, "possible", shelf.BoltUp(end, bracket, mount.Options{}).Possible, false)
}

func TestGrades(t *testing.T) {
	for text, want := range map[string]string{"8.8": "8.8", " 10.9 ": "10.9", "12.9": "12.9", "SAE 2": "SAE 2", "sae5": "SAE 5", "Sae  8": "SAE 8"} {
		g, ok := mount.ParseGrade(text)
		same(t, text, ok, true)
		same(t, text, g.String(), want)
	}
	for _, text := range []string{"", "8", "SAE", "SAE 3", "SAE 8.8", "grade 5", "A2-70"} {
		if g, ok := mount.ParseGrade(text); ok {
			t.Errorf("%q is read as %s", text, g)
		}
	}
	same(t, "grades", strings.Join(mount.Grades.All(), ", "), "8.8, 10.9, 12.9, SAE 2, SAE 5, SAE 8")
}
