//go:build unix

package pglocal

// The room on a disk below which a start that failed is taken to have failed for
// want of it. Postgres makes files of 16 MB to log changes. New data with the demo
// catalogue take 48 MB.
const (
	roomToStart = 32 << 20
	roomToSetUp = 64 << 20
)

// orFull makes a FullError of an error where the disk of dir has less than room.
func orFull(dir string, room uint64, err error) error {
	free, known := freeBytes(dir)
	if !known || free >= room {
		return err
	}
	return &FullError{dir, free, room, err}
}
