package wire_test

import (
	"errors"
	"fmt"
	"net/url"

	"midstroke/internal/catalog"
	"midstroke/internal/fit"
	"midstroke/internal/mount"
	"midstroke/internal/unit"
	"midstroke/internal/wire"
)

func ExampleReadFits() {
	r, err := wire.ReadFits([]byte(`{
		"units": "in",
		"upper": {"style": "eye"},
		"lower": {"style": "eye", "bolt": "1/2 in"},
		"readings": ["17 5/16", "440 mm"],
		"suspension": "solid_axle"
	}`))
	fmt.Println(err)
	for _, reading := range r.Fit.Readings.Readings {
		fmt.Println(reading.Length.Text(unit.Millimetres))
	}
	fmt.Println(r.Fit.Lower.Bolt.Text(r.Units), r.Fit.Suspension)
	// By hand, 17.3125 × 25.4 is 439.7375.

	// Output:
	// <nil>
	// 439.738 mm
	// 440 mm
	// 1/2-13 UNC solid_axle
}

// All faults of a request are told at once, each at its place.
func ExampleReadFits_faults() {
	_, err := wire.ReadFits([]byte(`{"units": "in", "upper": {"style": "ring"}, "lower": {"style": "eye", "opnening": 2}, "readings": ["17,31"]}`))
	var refused *wire.Refused
	if errors.As(err, &refused) {
		for _, f := range refused.Faults {
			fmt.Printf("%s %s\n", f.Pointer, f.Code.Public())
		}
	}
	// Output:
	// /upper/style not_allowed
	// /lower/opnening unknown_field
	// /readings/0 comma
	// /suspension missing
}

func ExampleReadFitsQuery() {
	query, _ := url.ParseQuery("units=in&upper=eye&lower=eye&readings_left=17.3125&readings_right=17+1/4&lower_bolt=M13&suspension=solid_axle")
	r, err := wire.ReadFitsQuery(query)
	fmt.Println(len(r.Fit.Readings.Readings), r.Fit.Readings.Readings[1].Side)
	var refused *wire.Refused
	if errors.As(err, &refused) {
		fmt.Println(refused.Faults[0].Parameter, refused.Faults[0].Code.Public())
	}
	// Output:
	// 2 right
	// lower_bolt unknown_thread
}

func ExampleAppendFits() {
	r, err := wire.ReadFits([]byte(`{"units": "mm", "reference": "bay 3", "upper": {"style": "stud"}, "lower": {"style": "fork"}, "readings": [450], "suspension": "independent"}`))
	if err != nil {
		panic(err)
	}
	a := &fit.Answer{Outcome: fit.OutsideMethod}
	fmt.Printf("%s", wire.AppendFits(nil, a, &r, wire.Edition{Name: "demo", Revision: 7}, "en"))
	// Output:
	// {"outcome":"outside_method","units":"mm","reference":"bay 3","catalog":{"name":"demo","revision":7,"stale":false},"reasons":[],"working_length":null,"required":null,"fits":[],"more":false,"hardware":[],"ask_next":null,"near_misses":[],"ruled_out":[],"counts":null,"judged":[],"cautions":[]}
}

func ExamplePickFits() {
	r := wire.FitsRequest{Units: unit.Inches}
	a := &fit.Answer{Outcome: fit.Fits, Fits: []fit.Fit{{
		Rank: 1, Damper: &catalog.Damper{Code: "a", Price: mount.NoPrice},
	}}}
	grade, err := wire.PickFits(a, &r, wire.Edition{}, "en", wire.Show{Format: wire.Text, Pick: "grade", Rank: 1})
	fmt.Println(grade, err)
	_, err = wire.PickFits(a, &r, wire.Edition{}, "en", wire.Show{Format: wire.Text, Pick: "damper.codes", Rank: 1})
	fmt.Println(err)
	// Output:
	// clear <nil>
	// pick: the answer has no value at damper.codes; did you mean code?
}
