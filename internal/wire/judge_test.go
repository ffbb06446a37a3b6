package wire_test

import (
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"

	"midstroke/internal/table"
	"midstroke/internal/wire"
)

// The import and /v1/hardware find the same wrong with the same parts: both ask
// the one judge of the core.
func TestImportAndHardwareJudgeAlike(t *testing.T) {
	const eye = `{"style":"eye","bore":"16 mm"}`
	adapter := func(from string) string {
		return fmt.Sprintf(`{"code":"x","from":%s,"to":%s,"adds_length":"0 mm"}`, from, eye)
	}
	for name, c := range map[string]struct{ kind, part, want string }{
		"a good sleeve":                 {"sleeve", `{"code":"x","outer":"16 mm","bore":"10 mm","length":"30 mm"}`, ""},
		"a sleeve of 3 mm bore":         {"sleeve", `{"code":"x","outer":"16 mm","bore":"3 mm","length":"30 mm"}`, "bore hole_too_small"},
		"a sleeve without a wall":       {"sleeve", `{"code":"x","outer":"16 mm","bore":"16 mm","length":"30 mm"}`, "outer no_wall"},
		"a sleeve with a bar":           {"sleeve", `{"code":"x|y","outer":"16 mm","bore":"10 mm","length":"30 mm"}`, "code code_bar"},
		"a spacer of 5 mm bore":         {"spacer", `{"code":"x","bore":"5 mm","thickness":"1 mm"}`, "bore hole_too_small"},
		"an eye of 5 mm bore":           {"adapter", adapter(`{"style":"eye","bore":"5 mm"}`), "from_bore hole_too_small"},
		"a bar pin":                     {"adapter", adapter(`{"style":"bar_pin","hole_spacing":"50 mm","slot":"40 mm"}`), ""},
		"a slot longer than its pin":    {"adapter", adapter(`{"style":"bar_pin","hole_spacing":"50 mm","slot":"60 mm"}`), "from_slot slot_too_long"},
		"holes that overlap":            {"adapter", adapter(`{"style":"bar_pin","hole_spacing":"50 mm","hole":"50 mm"}`), "from_hole holes_overlap"},
		"a spigot as thin as its stud":  {"adapter", adapter(`{"style":"stud","thread":"M12","spigot":"12 mm"}`), "from_spigot spigot_too_small"},
		"an end whose hole is too thin": {"adapter", adapter(`{"style":"bar_pin","hole_spacing":"50 mm","hole":"4 mm"}`), "from_hole hole_too_small"},
	} {
		if got := importFaults(t, c.kind, c.part); got != c.want {
			t.Errorf("%s: the import finds %q, want %q", name, got, c.want)
		}
		if got := hardwareFaults(t, c.kind, c.part); got != c.want {
			t.Errorf("%s: /v1/hardware finds %q, want %q", name, got, c.want)
		}
	}
}

// importFaults reads a part as a line of a file.
func importFaults(t *testing.T, kind, part string) string {
	t.Helper()
	const damper = `{"kind":"damper","code":"d","construction":"monotube","compressed":"300 mm","extended":"400 mm","length_tolerance":"0 mm",` +
		`"body_diameter":"50 mm","upper":{"style":"eye"},"lower":{"style":"eye"}}`
	text := damper + "\n" + `{"kind":"` + kind + `",` + part[1:]
	_, err := table.Read([]table.File{{Name: "a", Data: strings.NewReader(text), Size: int64(len(text))}}, table.Sink{}, nil)
	var faults *table.Faults
	if err != nil && !errors.As(err, &faults) {
		t.Fatal(err)
	}
	var found []string
	if faults != nil {
		for _, f := range faults.List {
			found = append(found, f.Column+" "+f.Code.Public())
		}
	}
	return strings.Join(found, ", ")
}

// hardwareFaults reads the same part from the bench of a request.
func hardwareFaults(t *testing.T, kind, part string) string {
	t.Helper()
	if !json.Valid([]byte(part)) {
		t.Fatal(part)
	}
	body := fmt.Sprintf(`{"units":"mm","end":{"style":"eye","bore":16},"bracket":{"bolt":"M10"},"parts":{"%ss":[%s]}}`, kind, part)
	_, err := wire.ReadHardware([]byte(body))
	faults, ok := faultsOf(err)
	if !ok {
		t.Fatal(err)
	}
	var found []string
	for _, f := range faults {
		found = append(found, strings.ReplaceAll(strings.TrimPrefix(f.Pointer, "/parts/"+kind+"s/0/"), "/", "_")+" "+f.Code.Public())
	}
	slices.Sort(found)
	return strings.Join(found, ", ")
}
