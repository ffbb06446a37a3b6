package batch_test

import (
	"encoding/json"
	"fmt"
	"strings"
	"testing"
)

// TestNearNamesDependOnTheRow: a name looks like a field's in a row that lacks that field,
// and is the sender's own in one that has it, whichever row comes first and however many
// other names there are. By hand: uper is one change from upper, and no name of a request
// is within a third of the letters of fuel_bolt_of_1, or begins or ends so.
func TestNearNamesDependOnTheRow(t *testing.T) {
	var text strings.Builder
	var want []string
	for i := range 4000 { // more names than are remembered
		own := fmt.Sprintf("fuel_bolt_of_%d", i)
		upper, code := "upper", ""
		if i%2 == 1 {
			upper, code = "uper", "unknown_field"
		}
		row, err := json.Marshal(map[string]any{own: "x", upper: "eye", "units": "in", "lower": "eye", "readings": "16 5/8", "suspension": "solid_axle"})
		if err != nil {
			t.Fatal(err)
		}
		line := string(row)
		if i%4 == 2 { // both
			line = strings.Replace(line, `{`, `{"uper":"eye",`, 1)
		}
		text.WriteString(line + "\n")
		want = append(want, code)
	}
	out, _ := answerOf(t, file("v.ndjson", text.String()), config(t, "outcome"))
	for i, line := range strings.Split(strings.TrimSuffix(out, "\n"), "\n") {
		var got struct {
			Codes string `json:"answer_fault_codes"`
		}
		if err := json.Unmarshal([]byte(line), &got); err != nil || got.Codes != want[i] {
			t.Fatalf("row %d: %v, codes %q, want %q: %s", i, err, got.Codes, want[i], line)
		}
	}
}

// BenchmarkKinds answers the same thousand requests as CSV and as objects, each with columns
// of the sender's own.
func BenchmarkKinds(b *testing.B) {
	var cells, objects strings.Builder
	cells.WriteString("vehicle,colour,units,upper,lower,readings,suspension\n")
	for i := range 1000 {
		reading := fmt.Sprintf("%d %d/16", 14+i%5, 1+i%15)
		fmt.Fprintf(&cells, "v%d,red,in,eye,eye,%s,solid_axle\n", i, reading)
		fmt.Fprintf(&objects, `{"vehicle":"v%d","colour":"red","units":"in","upper":"eye","lower":"eye","readings":%q,"suspension":"solid_axle"}`+"\n", i, reading)
	}
	c := config(b, "outcome")
	for name, text := range map[string]string{"v.csv": cells.String(), "v.ndjson": objects.String()} {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				if _, s := answerOf(b, file(name, text), c); s.Rows != 1000 || s.Faults > 0 {
					b.Fatalf("%+v", s)
				}
			}
		})
	}
}
