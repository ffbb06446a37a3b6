package fit

import (
	"testing"

	"midstroke/internal/catalog"
	"midstroke/internal/fault"
	"midstroke/internal/measure"
	"midstroke/internal/mount"
	"midstroke/internal/unit"
	"midstroke/testdata/demo"
)

// Counting a catalogue takes the room of its largest group and no more, or one
// request about a large one would hold on to memory for ever.
func TestExplainTakesTheRoomOfOneGroup(t *testing.T) {
	s := catalog.NewSnapshot("grown", 1, demo.Generate(5, 5000))
	r := &Request{
		Readings: measure.Readings{
			Readings: []measure.Reading{{Length: 16 * unit.Inch}},
			Upper:    measure.EndReading{Style: mount.Eye}, Lower: measure.EndReading{Style: mount.Eye},
		},
		Suspension: SolidAxle, LeanDeg: -1,
	}
	working, faults := r.workingLength()
	var more fault.List
	required := r.required(&working, nil, &more)
	if len(faults)+len(more) > 0 {
		t.Fatal(faults, more)
	}
	room := new(scratch)
	if total, _ := r.task(s, &working, required, nil, r.LeanDeg, room).explain(); total.Dampers != 5000 {
		t.Fatalf("%d dampers counted of 5000", total.Dampers)
	}
	most := 0 // arrangements of two ends
	task := r.task(s, &working, required, nil, r.LeanDeg, new(scratch))
	trees := s.Index().Trees()
	for i := range trees {
		for j := range trees[i].Points() {
			n := 0
			for _, way := range task.ways(endsOf(&trees[i].Points()[j])) {
				n += len(way[straight]) + len(way[adapted])
			}
			most = max(most, n)
		}
	}
	if got := len(room.arrangements.blocks) * blockSize; got > most+blockSize || room.arrangements.used != 0 {
		t.Errorf("explain took room for %d arrangements and left %d, and the most of two ends is %d", got, room.arrangements.used, most)
	}
}
