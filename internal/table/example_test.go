package table_test

import (
	"errors"
	"fmt"
	"os"
	"strings"

	"midstroke/internal/catalog"
	"midstroke/internal/mount"
	"midstroke/internal/table"
	"midstroke/internal/unit"
)

// A catalogue with two mistakes, each reported where it stands.
func ExampleFaults() {
	text := `code,construction,compressed,extended,length_tolerance,body_diameter,upper_style,lower_style
hill-1,twin tube,13 5/8 in,21 1/4 in,1/16 in,2 in,eye,eye
hill-2,twin tube,346.1,540 mm,1.5 mm,51 mm,eye,eye
hill-3,monotube,600 mm,380 mm,1.5 mm,51 mm,stud,eye
`
	dampers := table.File{Name: "dampers.csv", Data: strings.NewReader(text), Size: int64(len(text))}
	_, err := table.Read([]table.File{dampers}, table.Sink{}, nil)
	var faults *table.Faults
	if errors.As(err, &faults) {
		for _, f := range faults.List {
			fmt.Printf("%s %q: %s\n  %s\n", f.Place.Text("en"), f.Value, f.Text("en", unit.Unset), f.Cure("en", unit.Unset))
		}
	}
	// Output:
	// dampers.csv:3: compressed "346.1": this can't be read as a length
	//   name the unit, as in 17 1/4 in or 438 mm, for a bare number could be either
	// dampers.csv:4: extended "380 mm": the extended length is not more than the compressed length
	//   check whether the two are swapped, or one is in another unit
}

// Lengths come out exactly: inches as fractions where they are whole 64ths, any
// other length in millimetres.
func ExampleWrite() {
	contents := catalog.Contents{Currency: "EUR", Limits: mount.UsualLimits(), Spacers: []mount.Spacer{
		{Code: "ring-1", Bore: unit.Inch / 2, Thickness: unit.Inch / 8, InStock: true, Price: 120},
		{Code: "ring-2", Bore: 12*unit.Millimetre + 500*unit.Micrometre, Thickness: 2 * unit.Millimetre, Price: mount.NoPrice},
	}}
	if err := table.Write(os.Stdout, table.NDJSON, contents, unit.Inches); err != nil {
		fmt.Println(err)
	}
	// Output:
	// {"kind":"catalog","currency":"EUR","sleeve_gap_least":"0 in","sleeve_gap_most":"0.3 mm","bolt_gap_least":"0.05 mm","bolt_gap_most":"0.6 mm","left_over_most":"0.5 mm"}
	// {"kind":"spacer","code":"ring-1","bore":"1/2 in","thickness":"1/8 in","in_stock":true,"price":"1.20"}
	// {"kind":"spacer","code":"ring-2","bore":"12.5 mm","thickness":"2 mm","in_stock":false}
}

// Rows come a batch at a time, so that a million of them are never held at once.
func ExampleRead() {
	file, err := os.Open("../../testdata/demo/dampers.csv")
	if err != nil {
		fmt.Println(err)
		return
	}
	defer func() { _ = file.Close() }()
	info, err := file.Stat()
	if err != nil {
		fmt.Println(err)
		return
	}
	settings := strings.NewReader("currency\nUSD\n")
	var longest catalog.Damper
	_, err = table.Read([]table.File{
		{Name: "catalog.csv", Data: settings, Size: settings.Size()},
		{Name: info.Name(), Data: file, Size: info.Size()},
	}, table.Sink{Dampers: func(some []catalog.Damper) error {
		for i := range some {
			if some[i].Stroke() > longest.Stroke() {
				longest = some[i]
			}
		}
		return nil
	}}, nil)
	fmt.Println(longest.Code, longest.Stroke().Text(unit.Inches), err)
	// Output: demo-damper-0033 14 in <nil>
}
