package httpapi

import (
	"hash/maphash"
	"sync/atomic"
)

// answers remembers answers of fits that are asked for again and again. A request
// has the answer of another one where all that its key names is equal: the same
// text on the same snapshot. Whether the caller may have that snapshot has been
// decided before. It is safe for any number of users.
type answers struct {
	seed maphash.Seed
	// asked are the hashes of requests that came before. Only a request that comes
	// again is remembered, so that all the others cost nothing.
	asked  [asksRemembered]atomic.Uint64
	places [answersRemembered]atomic.Pointer[answerOnce]
}

// The bounds of that memory: at most 256 answers of at most 64 KiB. A new one
// takes the place of another.
const (
	asksRemembered    = 1 << 12
	answersRemembered = 1 << 8
	mostRemembered    = 64 << 10
	mostAskedBody     = 8 << 10
)

// answerKey is everything that an answer follows from.
type answerKey struct {
	serial                        uint64 // of the snapshot
	stale                         bool
	media, language, query, asked string
}

// answerOnce is an answer with its entity tag.
type answerOnce struct {
	key  answerKey
	tag  string
	body []byte
}

func newAnswers() *answers { return &answers{seed: maphash.MakeSeed()} }

// find gives the answer to a request where it is remembered, and whether it is to
// be remembered otherwise. The key may point into memory that changes later.
func (a *answers) find(k answerKey) (found *answerOnce, hash uint64, again bool) {
	if len(k.query)+len(k.asked) > mostAskedBody {
		return nil, 0, false
	}
	hash = maphash.Comparable(a.seed, k)
	if found = a.places[hash%answersRemembered].Load(); found != nil && found.key == k {
		return found, hash, true
	}
	before := &a.asked[hash>>32%asksRemembered]
	if again = before.Load() == hash; !again {
		before.Store(hash)
	}
	return nil, hash, again
}

// remember keeps an answer. Key and body must not change any more.
func (a *answers) remember(hash uint64, k answerKey, body []byte) *answerOnce {
	once := &answerOnce{key: k, tag: entityTag(body), body: body}
	a.places[hash%answersRemembered].Store(once)
	return once
}
