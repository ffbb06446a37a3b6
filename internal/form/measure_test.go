package form_test

import (
	"math"
	"testing"

	"midstroke/internal/form"
)

// TestMeasures: one pound-force is 4.4482216152605 N, one inch 25.4 mm and one mile
// 1.609344 km by definition; the products were computed by hand.
func TestMeasures(t *testing.T) {
	type asked struct{ Figure float64 }
	read := func(m form.Measure, body string) (float64, []string) {
		table := form.NewRecord(form.Field("figure", form.In(m, form.Span{Most: 1000, Above: true}), func(a *asked) *float64 { return &a.Figure }))
		f, err := form.OfBody([]byte(body), form.MostValues)
		if err != nil {
			t.Fatal(err)
		}
		var a asked
		var codes []string
		for _, found := range form.Read(f, table, &a, nil) {
			codes = append(codes, string(found.Code))
		}
		return a.Figure, codes
	}
	for _, c := range []struct {
		measure form.Measure
		text    string
		want    float64
	}{
		{form.Rate, `26.5`, 26.5},
		{form.Rate, `"26.5 N/mm"`, 26.5},
		{form.Rate, `"150 lbf/in"`, 26.2690252},
		{form.Rate, `"150lb/in"`, 26.2690252},
		{form.Rate, `"26500 N/m"`, 26.5},
		{form.Damping, `"1 lbf·s/in"`, 175.126835},
		{form.Damping, `"1 lbf s/in"`, 175.126835},
		{form.Damping, `"900 Ns/m"`, 900},
		{form.Damping, `"0.9 kN * S / m"`, 900},
		{form.Damping, `"900N-s/m"`, 900},
		{form.Mass, `"661 LB"`, 299.82455657},
		{form.Force, `"100 lbf"`, 444.82216152605},
		{form.Velocity, `"10 in/s"`, 0.254},
		{form.Speed, `"50 mph"`, 80.4672},
		{form.Stress, `"1000 psi"`, 6.894757293},
		{form.Stress, `"120 ksi"`, 827.3708752},
		{form.Modulus, `"11500 ksi"`, 79.28970887},
	} {
		if got, codes := read(c.measure, `{"figure": `+c.text+`}`); len(codes) > 0 || math.Abs(got-c.want) > 1e-6 {
			t.Errorf("%s is read as %.9g, %v, want %.9g", c.text, got, codes, c.want)
		}
	}
	for text, want := range map[string]string{
		`"26"`: "measure_unread", `"26 lbf"`: "measure_unread", `"N/mm"`: "measure_unread", `"1,5 N/mm"`: "measure_unread", `"1e3 N/mm"`: "measure_unread",
		`"26 N/mm/"`: "measure_unread", `"26 N/"`: "measure_unread", `"26 N/mmm"`: "measure_unread", `"26 N/mm\ufffd"`: "measure_unread", `"26 -"`: "measure_unread",
		`0`: "out_of_range.above", `"0 lbf/in"`: "out_of_range.measure", `"-3 N/mm"`: "out_of_range.measure", `"99999 lbf/in"`: "out_of_range.measure",
		`true`: "wrong_type.field",
	} {
		if got, codes := read(form.Rate, `{"figure": `+text+`}`); len(codes) != 1 || codes[0] != want {
			t.Errorf("%s is read as %g with %v, want %s", text, got, codes, want)
		}
	}
}
