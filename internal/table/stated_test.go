package table_test

import (
	"errors"
	"strings"
	"testing"

	"midstroke/internal/catalog"
	"midstroke/internal/table"
)

// TestACurrencyThatIsStatedBesideTheFiles holds it against what the files say.
func TestACurrencyThatIsStatedBesideTheFiles(t *testing.T) {
	const priced = "code,construction,compressed,extended,length_tolerance,body_diameter,upper_style,lower_style,price\n" +
		"a,monotube,300 mm,400 mm,0 mm,50 mm,eye,eye,84.50\n"
	file := func(name, text string) table.File {
		return table.File{Name: name, Data: strings.NewReader(text), Size: int64(len(text))}
	}
	read := func(stated string, files ...table.File) (catalog.Settings, error) {
		return table.ReadStated(append(files, file("dampers.csv", "\ufeff"+priced)), table.Stated{Currency: stated}, table.Sink{}, nil)
	}
	for name, c := range map[string]struct {
		stated, settings, want string
	}{
		"it alone":        {"USD", "", "USD"},
		"the file alone":  {"", "currency\nEUR\n", "EUR"},
		"both alike":      {"EUR", "currency\nEUR\n", "EUR"},
		"beside settings": {"USD", "left_over_most,currency\n1 mm,\n", "USD"},
	} {
		var files []table.File
		if c.settings != "" {
			files = append(files, file("catalog.csv", c.settings))
		}
		if s, err := read(c.stated, files...); err != nil || s.Currency != c.want {
			t.Errorf("%s: %q, %v; want %q", name, s.Currency, err, c.want)
		}
	}
	_, err := read("USD", file("catalog.csv", "left_over_most,currency\n1 mm,EUR\n"))
	var faults *table.Faults
	if !errors.As(err, &faults) {
		t.Fatal(err)
	}
	checkFaults(t, faults.List, told{File: "catalog.csv", Line: 2, Column: "currency", Value: "EUR", Code: "currency_other"})
	if _, err := read(""); !errors.As(err, &faults) || faults.List[0].Code != "currency_missing" {
		t.Errorf("without any: %v", err)
	}
}

// TestAGuardedCodeIsTaken: with an apostrophe in front, a spreadsheet takes a code for
// a text.
func TestAGuardedCodeIsTaken(t *testing.T) {
	text := "code,bore,thickness\n'=1+1,10 mm,1 mm\n'-5,10 mm,1 mm\n"
	dampers := "code,construction,compressed,extended,length_tolerance,body_diameter,upper_style,lower_style\n" +
		"'@a,monotube,300 mm,400 mm,0 mm,50 mm,eye,eye\n"
	_, err := table.Read([]table.File{
		{Name: "spacers.csv", Data: strings.NewReader(text), Size: int64(len(text))},
		{Name: "dampers.csv", Data: strings.NewReader(dampers), Size: int64(len(dampers))},
	}, table.Sink{}, nil)
	if err != nil {
		t.Error(err)
	}
}
