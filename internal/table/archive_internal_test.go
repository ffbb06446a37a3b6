package table

import "testing"

// The contract promises that 1 GiB unpacked is taken and more is not, whatever
// the archive's own size.
func TestWhatAnArchiveMayUnpackTo(t *testing.T) {
	for size, want := range map[int64]int64{
		0: 32 << 20, 1 << 20: 200 << 20, (1 << 30) / 200: (1 << 30) / 200 * 200, 256 << 20: 1 << 30,
	} {
		if got := mayInflate(size); got != want {
			t.Errorf("%d bytes may become %d, want %d", size, got, want)
		}
	}
}
