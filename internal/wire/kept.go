package wire

import (
	"bytes"
	"sync"
	"sync/atomic"

	"midstroke/internal/mount"
	"midstroke/internal/unit"
)

// Kept remembers between answers how hardware was written. The same few
// brackets come again and again at a counter, their results are shared (see
// catalog.Snapshot.Fasten) and never change, and their words are most of an
// answer. The zero value is ready, nil keeps nothing, and it may be used from
// several goroutines at once.
type Kept struct {
	now atomic.Pointer[keptParts]
}

type keptParts struct {
	known sync.Map // keptKey → []byte
	count atomic.Int32
}

type keptKey struct {
	result *mount.Result
	units  unit.System
	lang   string
}

// mostKept bounds what is remembered, at some 3 KB each. When it is full it
// starts afresh, and so lets go of revisions that were replaced.
const mostKept = 2048

// get gives what was written under key, nil where nothing is remembered.
func (k *Kept) get(key keptKey) []byte {
	if k == nil {
		return nil
	}
	parts := k.now.Load()
	if parts == nil {
		return nil
	}
	known, _ := parts.known.Load(key)
	written, _ := known.([]byte)
	return written
}

// put remembers a copy of what was written under key.
func (k *Kept) put(key keptKey, written []byte) {
	if k == nil {
		return
	}
	parts := k.now.Load()
	if parts == nil || parts.count.Add(1) > mostKept {
		fresh := new(keptParts)
		if !k.now.CompareAndSwap(parts, fresh) {
			return // someone else began afresh: this one waits its turn
		}
		parts = fresh
	}
	parts.known.Store(key, bytes.Clone(written))
}
