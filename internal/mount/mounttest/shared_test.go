package mounttest_test

import (
	"fmt"
	"reflect"
	"testing"

	"midstroke/internal/mount"
	"midstroke/internal/unit"
)

// A shelf is safe for any number of callers; the race detector watches. The tests of
// package mount itself run without it.
func TestAShelfIsShared(t *testing.T) {
	const um, mm = unit.Micrometre, unit.Millimetre
	var sleeves []mount.Sleeve
	for i := range 200 {
		sleeves = append(sleeves, mount.Sleeve{
			Code: fmt.Sprintf("tube-%03d", i), Outer: 16*mm - unit.Length(i%8)*50*um, Bore: 10*mm + unit.Length(i%14)*50*um, Length: 31*mm + unit.Length(i%5)*250*um,
		})
	}
	var spacers []mount.Spacer
	for i := range 40 {
		spacers = append(spacers, mount.Spacer{Code: fmt.Sprintf("ring-%02d", i), Bore: 10500 * um, Thickness: unit.Length(1+i%6) * 500 * um})
	}
	end := mount.End{Style: mount.Eye, Bore: 16 * mm, Width: 31 * mm}
	bolt, err := mount.ParseBolt("M10", unit.Millimetres)
	if err != nil {
		t.Fatal(err)
	}
	bracket := mount.Bracket{Bolt: bolt, Opening: 36 * mm, Plate: 5 * mm, Grade: "8.8"}
	bolted := func(shelf *mount.Shelf) mount.Result { return shelf.BoltUp(end, bracket, mount.Options{Detail: true}) }
	want := bolted(mount.NewShelf(sleeves, spacers, nil, mount.UsualLimits()))
	if !want.Possible || len(want.Sleeves) == 0 || want.Spacers == nil {
		t.Fatalf("no sleeve or no spacer is matched: %+v", want)
	}
	// Nothing was asked of this one yet, so that all work out the same at once.
	shelf := mount.NewShelf(sleeves, spacers, nil, mount.UsualLimits())
	done := make(chan mount.Result)
	for range 8 {
		go func() { done <- bolted(shelf) }()
	}
	for range 8 {
		if got := <-done; !reflect.DeepEqual(got, want) {
			t.Errorf("%+v, want %+v", got, want)
		}
	}
}
