package httpapi

import (
	"hash/maphash"
	"sync/atomic"

	"midstroke/internal/shop"
)

// recent notes which requests came lately, so that one that is sent again is looked up
// before its answer is computed. It decides nothing: what it forgot, or what came to
// another instance, is found where answers are kept. It is safe for any number of users.
type recent struct {
	seed  maphash.Seed
	notes [requestsNoted]atomic.Uint64
}

// requestsNoted is how many requests are noted. A new one may take another's place.
const requestsNoted = 1 << 13

func newRecent() *recent { return &recent{seed: maphash.MakeSeed()} }

// again notes the request of a claim and says whether it was noted before.
func (r *recent) again(c *shop.Claim) bool {
	type request struct {
		shop int64
		key  string
	}
	hash := maphash.Comparable(r.seed, request{c.Shop, c.Key})
	return r.notes[hash%requestsNoted].Swap(hash) == hash
}
