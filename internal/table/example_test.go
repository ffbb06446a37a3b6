package table_test

import (
	"errors"
	"fmt"
	"os"
	"strings"
	"testing/fstest"

	"midstroke/internal/catalog"
	"midstroke/internal/mount"
	"midstroke/internal/table"
	"midstroke/internal/unit"
)

// A catalogue with two slips, each reported where it stands.
func ExampleReadContents() {
	files := fstest.MapFS{
		"dampers.csv": {Data: []byte(`code,construction,compressed,extended,length_tolerance,body_diameter,upper_style,lower_style
hill-1,twin tube,13 5/8 in,21 1/4 in,1/16 in,2 in,eye,eye
hill-2,twin tube,346.1,540 mm,1.5 mm,51 mm,eye,eye
hill-3,monotube,600 mm,380 mm,1.5 mm,51 mm,stud,eye
`)},
	}
	_, err := table.ReadContents(files)
	var faults *table.Faults
	if errors.As(err, &faults) {
		for _, f := range faults.List {
			fmt.Printf("%s line %d, %s %q: %s\n  %s\n", f.File, f.Line, f.Column, f.Value, f.Detail, f.Cure)
		}
	}
	// Output:
	// dampers.csv line 3, compressed "346.1": this can't be read as a length
	//   name the unit, as in 17 1/4 in or 438.15 mm, for a bare number could be either
	// dampers.csv line 4, extended "380 mm": the extended length must be more than the compressed length
	//   see whether the two were mixed up, or one is in another unit
}

// Lengths come out exactly as they are: inches as fractions where they are
// such, anything else in millimetres.
func ExampleWriteSpacers() {
	spacers := []mount.Spacer{
		{Code: "ring-1", Bore: unit.Inch / 2, Thickness: unit.Inch / 8, InStock: true, Price: 120},
		{Code: "ring-2", Bore: 12*unit.Millimetre + 500*unit.Micrometre, Thickness: 2 * unit.Millimetre, Price: mount.NoPrice},
	}
	var file strings.Builder
	var faults table.Faults
	err := table.WriteSpacers(&file, rowsOf(spacers), unit.Inches, &faults)
	fmt.Print(strings.ReplaceAll(file.String(), "\r\n", "\n"))
	fmt.Println(err, faults.Err())
	// Output:
	// code,description,bore,thickness,in_stock,price
	// ring-1,,1/2 in,1/8 in,yes,1.20
	// ring-2,,12.5 mm,2 mm,no,
	// <nil> <nil>
}

// Rows can be read one at a time, as an import of a million of them would.
func ExampleDampers() {
	file, err := os.Open("../../testdata/demo/dampers.csv")
	if err != nil {
		fmt.Println(err)
		return
	}
	defer func() { _ = file.Close() }()
	var faults table.Faults
	var longest catalog.Damper
	for d, err := range table.Dampers(file, &faults) {
		if err != nil {
			fmt.Println(err)
			return
		}
		if d.Stroke() > longest.Stroke() {
			longest = d
		}
	}
	fmt.Println(longest.Code, longest.Stroke().Text(unit.Inches), faults.Err())
	// Output: demo-damper-0033 14 in <nil>
}
