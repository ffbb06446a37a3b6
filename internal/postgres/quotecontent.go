package postgres

import (
	"bytes"
	"slices"
	"sync"

	"github.com/klauspost/compress/zstd"
)

// membersOf gives what stands between the braces of a quote's content.
func membersOf(content []byte) []byte {
	return bytes.TrimSuffix(bytes.TrimPrefix(content, []byte("{")), []byte("}"))
}

// withoutMembers takes a quote's content out of the answer to the request for it. at is
// how many bytes come before it, nil where the answer doesn't have it.
func withoutMembers(body, content []byte) (rest []byte, at *int32) {
	before, after, found := bytes.Cut(body, membersOf(content))
	if !found {
		return body, nil
	}
	return slices.Concat(before, after), new(int32(len(before)))
}

var (
	packer = sync.OnceValue(func() *zstd.Encoder {
		e, err := zstd.NewWriter(nil, zstd.WithEncoderLevel(zstd.SpeedFastest), zstd.WithLowerEncoderMem(true))
		if err != nil {
			panic(err) // the settings are constant
		}
		return e
	})
	unpacker = sync.OnceValue(func() *zstd.Decoder {
		d, err := zstd.NewReader(nil)
		if err != nil {
			panic(err) // the settings are constant
		}
		return d
	})
)

// packed gives a quote's content as the table has it, which is a quarter of its size.
// Postgres takes longer to compress less.
func packed(content []byte) []byte { return packer().EncodeAll(content, nil) }

// unpacked is the way back. Content that was kept before it was packed is an object.
func unpacked(content []byte) ([]byte, error) {
	if bytes.HasPrefix(content, []byte("{")) {
		return content, nil
	}
	return unpacker().DecodeAll(content, nil)
}
