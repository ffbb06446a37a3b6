package catalog

import (
	"unsafe"

	"midstroke/internal/damping"
	"midstroke/internal/mount"
)

// Size estimates how much memory a snapshot takes, in bytes: its parts with
// their texts, and its index.
func (s *Snapshot) Size() int64 {
	size := int64(unsafe.Sizeof(*s))
	for i := range s.contents.Dampers {
		d := &s.contents.Dampers[i]
		size += int64(unsafe.Sizeof(*d)) + int64(len(d.Code)+len(d.Description))
	}
	size += int64(len(s.contents.Sleeves)) * int64(unsafe.Sizeof(mount.Sleeve{}))
	size += int64(len(s.contents.Spacers)) * int64(unsafe.Sizeof(mount.Spacer{}))
	size += int64(len(s.contents.Adapters)) * int64(unsafe.Sizeof(mount.Adapter{}))
	return size + s.index.size() + s.forces.size()
}

// size counts each force table once, with its text.
func (f *forceTables) size() int64 {
	size := int64(len(f.numbers)+len(f.valvings)+len(f.valvingOf))*int64(unsafe.Sizeof(f.numbers[0])) + int64(len(f.groups))
	if len(f.valvings) <= mostPowers {
		for _, table := range f.valvings {
			size += damping.PowersSize * int64(len(f.tables[table].Curves))
		}
	}
	for i := range f.tables {
		t := &f.tables[i]
		size += int64(unsafe.Sizeof(*t))
		for j := range t.Curves {
			// A point's text takes about as much room as the point.
			size += int64(unsafe.Sizeof(t.Curves[j])) + 2*int64(len(t.Curves[j].Points))*int64(unsafe.Sizeof(damping.Point{}))
		}
	}
	return size
}

func (x *Index) size() int64 {
	size := int64(len(x.places)) * int64(unsafe.Sizeof(place{}))
	for i := range x.trees {
		t := &x.trees[i]
		size += int64(unsafe.Sizeof(*t)) + int64(len(t.points))*int64(unsafe.Sizeof(Point{})) + int64(len(t.nodes))*int64(unsafe.Sizeof(node{}))
	}
	return size
}
