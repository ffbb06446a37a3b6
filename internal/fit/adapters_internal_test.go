package fit

import (
	"fmt"
	"testing"

	"midstroke/internal/catalog"
	"midstroke/internal/fault"
	"midstroke/internal/measure"
	"midstroke/internal/mount"
	"midstroke/internal/unit"
)

// Adapters pair up as their square, at every kind of damper, and a search must not
// keep all the pairs: it keeps what it lists or has yet to look into (our choice
// of bound).
func TestPairsOfAdaptersTakeLittleRoom(t *testing.T) {
	const mm = unit.Millimetre
	eye := mount.End{Style: mount.Eye, Bore: 12200 * unit.Micrometre, Width: 32 * mm}
	c := catalog.Contents{Limits: mount.UsualLimits()}
	for i := range 40 {
		stud := mount.End{Style: mount.Stud, UsableLength: 30*mm + unit.Length(i)*mm}
		for j := range 20 {
			c.Dampers = append(c.Dampers, catalog.Damper{
				Code: fmt.Sprintf("d%02d-%02d", i, j), Construction: catalog.Monotube, Compressed: 250*mm + unit.Length(j)*mm, Extended: 460*mm + unit.Length(j)*mm,
				Upper: stud, Lower: stud, Invertible: true, Price: mount.NoPrice,
			})
		}
	}
	for i := range 60 {
		c.Adapters = append(c.Adapters, mount.Adapter{Code: fmt.Sprintf("a%02d", i), From: mount.End{Style: mount.Stud}, To: eye,
			AddsLength: unit.Length(i) * unit.Micrometre, Price: mount.NoPrice})
	}
	s := catalog.NewSnapshot("studs", 1, c)
	r := &Request{
		Readings: measure.Readings{
			Readings: []measure.Reading{{Length: 395 * mm}},
			Upper:    measure.EndReading{Style: mount.Eye}, Lower: measure.EndReading{Style: mount.Eye},
		},
		Suspension: SolidAxle, LeanDeg: -1,
	}
	working, _ := r.workingLength()
	var faults fault.List
	required := r.required(&working, nil, &faults)
	room := new(scratch)
	task := r.task(s, &working, required, nil, r.LeanDeg, room)
	if found := task.search(MostListed); len(found) != MostListed {
		t.Fatalf("%d found, want %d: %v", len(found), MostListed, faults)
	}
	pairs := 40 * 2 * 60 * 60
	if room.arrangements.used+room.routes.used > pairs/4 || len(room.branches) > mostQueued+blockSize {
		t.Errorf("%d arrangements and %d branches kept of %d pairs", room.arrangements.used+room.routes.used, len(room.branches), pairs)
	}
}
