package wire_test

import (
	"encoding/json"
	"slices"
	"strings"
	"testing"

	"midstroke/internal/catalog"
	"midstroke/internal/form"
	"midstroke/internal/unit"
	"midstroke/internal/wire"
	"midstroke/testdata/demo"
)

func TestReadSamplesTellsEveryFaultWhereItStands(t *testing.T) {
	const good = `{"units":"in","readings":["17 5/16"],"upper":{"style":"eye"},"lower":{"style":"eye"},"suspension":"solid_axle"}`
	if samples, err := wire.ReadSamples([]byte(`{"samples":[` + good + `,` + good + `]}`)); err != nil || len(samples) != 2 {
		t.Fatalf("%d samples, %v", len(samples), err)
	}
	for body, want := range map[string][]string{
		`[]`:               {""},
		`null`:             {""},
		`{}`:               {"/samples"},
		`{"sample":[]}`:    {"/samples", "/sample"},
		`{"samples":{}}`:   {"/samples"},
		`{"samples":null}`: {"/samples"},
		`{"samples":[]}`:   {"/samples"},
		`{"samples":[` + good + `],"samples":[` + good + `]}`:                                 {"/samples"},
		`{"samples":[` + good + `,` + strings.Replace(good, `"17 5/16"`, `"17,31"`, 1) + `]}`: {"/samples/1/readings/0"},
		`{"samples":[` + strings.Repeat("{},", wire.MostSamples) + `{}]}`:                     {"/samples"},
	} {
		_, err := wire.ReadSamples([]byte(body))
		faults, ok := faultsOf(err)
		if !ok {
			t.Errorf("%.60s: %v", body, err)
			continue
		}
		var got []string
		for _, f := range faults {
			got = append(got, f.Pointer)
		}
		if !slices.Equal(got, want) {
			t.Errorf("%.60s: %q, want %q", body, got, want)
		}
	}
	if _, err := wire.ReadSamples([]byte(`{"samples":[`)); err == nil {
		t.Error("half a body was read")
	} else if _, ok := err.(*form.SyntaxError); !ok { //nolint:errorlint // it is returned as it is
		t.Errorf("half a body: %v", err)
	}
}

// A nanometre is 0.00000004 in: too little to show, and yet a change.
func TestChangesAreFoundToTheNanometre(t *testing.T) {
	after := demo.Contents()
	after.Dampers = slices.Clone(after.Dampers)
	after.Dampers[0].Compressed++
	after.Currency = "EUR"
	body, err := wire.AppendChanges(nil, catalog.Compare(catalog.NewSnapshot("own", 1, demo.Contents()), catalog.NewSnapshot("own", 2, after)), unit.Inches, nil, nil, nil)
	if err != nil {
		t.Fatal(err)
	}
	var got struct {
		Dampers  struct{ Added, Removed, Changed int }
		Settings []struct{ Field, Before, After string }
		Changes  []struct {
			Code   string
			Fields []struct{ Field string }
		}
	}
	if err := json.Unmarshal(body, &got); err != nil {
		t.Fatal(err)
	}
	if got.Dampers.Changed != 1 || len(got.Changes) != 1 || got.Changes[0].Code != after.Dampers[0].Code {
		t.Fatalf("%s", body)
	}
	var fields []string
	for _, f := range got.Changes[0].Fields {
		fields = append(fields, f.Field)
	}
	if !slices.Contains(fields, "compressed") || !slices.Contains(fields, "stroke") {
		t.Errorf("fields %q", fields)
	}
	if len(got.Settings) != 1 || got.Settings[0].Field != "currency" || got.Settings[0].Before != "USD" || got.Settings[0].After != "EUR" {
		t.Errorf("settings %+v", got.Settings)
	}
}
