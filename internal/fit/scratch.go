package fit

import "sync"

// scratch is the memory that one answer's search works in. It is kept for the next
// answer: allocating it again would cost more than the search.
type scratch struct {
	straight     [2][]option
	adapted      [2][][]option
	options      []option // what adapted was made of
	taken        int
	blocks       [][]arrangement
	used         int // arrangements handed out
	branches     []branch
	missBranches []missBranch
}

// blockSize is how many arrangements are made at a time.
const blockSize = 64

var scratches = sync.Pool{New: func() any { return new(scratch) }}

// room gives each site its options, straight and adapted, for each of n ends, none
// solved yet.
func (s *scratch) room(n int) (straight [2][]option, adapted [2][][]option) {
	for at := range s.straight {
		if cap(s.straight[at]) < n {
			s.straight[at], s.adapted[at] = make([]option, n), make([][]option, n)
		}
		s.straight[at], s.adapted[at] = s.straight[at][:n], s.adapted[at][:n]
	}
	return s.straight, s.adapted
}

// some hands out n options, never nil, which are valid until release.
func (s *scratch) some(n int) []option {
	if len(s.options)-s.taken < n {
		// What was handed out stays where it is; only the next block is new.
		s.options, s.taken = make([]option, max(256, 2*len(s.options), n)), 0
	}
	s.taken += n
	return s.options[s.taken-n : s.taken : s.taken]
}

// arrangement hands out one, which is valid until release.
func (s *scratch) arrangement() *arrangement {
	block, i := s.used/blockSize, s.used%blockSize
	if block == len(s.blocks) {
		s.blocks = append(s.blocks, make([]arrangement, blockSize))
	}
	s.used++
	return &s.blocks[block][i]
}

// giveBack takes back the arrangement handed out last; nobody may keep it.
func (s *scratch) giveBack() { s.used-- }

// release returns the scratch for the next answer. Nothing of it may be used after.
func (s *scratch) release() {
	// Pointers left here would keep a replaced revision in memory.
	for at := range s.straight {
		clear(s.straight[at])
		clear(s.adapted[at])
	}
	clear(s.options)
	s.taken = 0
	for _, block := range s.blocks {
		clear(block)
	}
	clear(s.branches[:cap(s.branches)])
	clear(s.missBranches[:cap(s.missBranches)])
	s.used = 0
	scratches.Put(s)
}
