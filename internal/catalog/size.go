package catalog

import (
	"unsafe"

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
	return size + s.index.size()
}

func (x *Index) size() int64 {
	size := int64(len(x.places)) * int64(unsafe.Sizeof(place{}))
	for i := range x.trees {
		t := &x.trees[i]
		size += int64(unsafe.Sizeof(*t)) + int64(len(t.points))*int64(unsafe.Sizeof(Point{})) + int64(len(t.nodes))*int64(unsafe.Sizeof(node{}))
	}
	return size
}
