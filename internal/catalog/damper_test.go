package catalog_test

import (
	"testing"

	"midstroke/internal/catalog"
	"midstroke/internal/mount"
	"midstroke/internal/unit"
)

// TestOilOnlyTwinTubesStayUpright: its base valve must stay under oil (common
// practice), so none may be listed as invertible. Gas or a single tube changes
// that.
func TestOilOnlyTwinTubesStayUpright(t *testing.T) {
	for _, c := range []struct {
		construction    catalog.Construction
		gas, invertible bool
		refused         bool
	}{
		{catalog.TwinTube, false, true, true},
		{catalog.TwinTube, false, false, false},
		{catalog.TwinTube, true, true, false},
		{catalog.Monotube, true, true, false},
	} {
		eye := mount.End{Style: mount.Eye, Bore: 16 * unit.Millimetre, Width: 32 * unit.Millimetre}
		d := catalog.Damper{
			Code: "d", Construction: c.construction, Gas: c.gas, Invertible: c.invertible,
			Compressed: 300 * unit.Millimetre, Extended: 450 * unit.Millimetre, LengthTolerance: unit.Millimetre, BodyDiameter: 50 * unit.Millimetre,
			Upper: eye, Lower: eye, Price: mount.NoPrice,
		}
		faults := d.Faults()
		if refused := len(faults) == 1 && faults[0].Pointer == "/invertible"; refused != c.refused || len(faults) > 1 {
			t.Errorf("%v, gas %v, invertible %v: %v", c.construction, c.gas, c.invertible, faults)
		}
	}
}
