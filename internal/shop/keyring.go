package shop

import (
	"crypto/sha256"
	"maps"
	"sync"
	"sync/atomic"
	"time"
)

// Keyring is every key that is known, in memory: no request waits for a
// database to be let in. The zero value is empty and ready for use. It is safe
// for concurrent use.
type Keyring struct {
	keys atomic.Pointer[map[[sha256.Size]byte]*keptKey]

	mu   sync.Mutex
	used map[int64]time.Time // by id, since it was last taken
}

// keptKey is a key and when its use was last stored.
type keptKey struct {
	Key
	noted atomic.Int64 // in seconds since 1970
}

// Replace puts keys in the place of all that were known before.
func (r *Keyring) Replace(keys []Key) {
	m := make(map[[sha256.Size]byte]*keptKey, len(keys))
	before := r.keys.Load()
	for _, k := range keys {
		h := &keptKey{Key: k}
		if before != nil {
			if was, ok := (*before)[k.Hash]; ok {
				h.noted.Store(was.noted.Load())
			}
		}
		m[k.Hash] = h
	}
	r.keys.Store(&m)
}

// Add puts in one key that is newer than the rest.
func (r *Keyring) Add(k Key) {
	r.mu.Lock()
	defer r.mu.Unlock()
	before := r.keys.Load()
	after := map[[sha256.Size]byte]*keptKey{}
	if before != nil {
		after = maps.Clone(*before)
	}
	after[k.Hash] = &keptKey{Key: k}
	// A Replace in between has read the key where it was made.
	r.keys.CompareAndSwap(before, &after)
}

// Find gives the key of that text, whether it is still valid or not, and nil
// where there is none. The text is looked up by its hash, so how long that
// takes says nothing about the keys that there are.
func (r *Keyring) Find(text string) *Key {
	m := r.keys.Load()
	if m == nil {
		return nil
	}
	h, ok := (*m)[sha256.Sum256([]byte(text))]
	if !ok {
		return nil
	}
	return &h.Key
}

// Known says whether any keys have been read yet.
func (r *Keyring) Known() bool { return r.keys.Load() != nil }

// usedEvery is how finely uses are told apart: what comes sooner costs one
// comparison.
const usedEvery = 30 * time.Second

// Used notes that a key was used.
func (r *Keyring) Used(k *Key, now time.Time) {
	m := r.keys.Load()
	if m == nil {
		return
	}
	h, ok := (*m)[k.Hash]
	if !ok {
		return
	}
	last, at := h.noted.Load(), now.Unix()
	if at-last < int64(usedEvery/time.Second) || !h.noted.CompareAndSwap(last, at) {
		return
	}
	r.mu.Lock()
	defer r.mu.Unlock()
	if r.used == nil {
		r.used = map[int64]time.Time{}
	}
	r.used[k.ID] = now
}

// PutBack returns what TakeUsed gave, where it could not be written down.
func (r *Keyring) PutBack(used map[int64]time.Time) {
	r.mu.Lock()
	defer r.mu.Unlock()
	for id, at := range used {
		if now, ok := r.used[id]; !ok || now.Before(at) {
			if r.used == nil {
				r.used = map[int64]time.Time{}
			}
			r.used[id] = at
		}
	}
}

// TakeUsed gives when keys were used, by id, since it was last called.
func (r *Keyring) TakeUsed() map[int64]time.Time {
	r.mu.Lock()
	defer r.mu.Unlock()
	used := r.used
	r.used = nil
	return used
}
