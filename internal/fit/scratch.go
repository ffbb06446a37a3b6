package fit

import "sync"

// scratch is what one answer's search works on and leaves behind. It is kept
// for the next one, for making it anew would cost more than the search.
type scratch struct {
	options      [2][]option
	blocks       [][]arrangement
	used         int // arrangements handed out
	branches     []branch
	missBranches []missBranch
}

// blockSize is how many arrangements are made at a time.
const blockSize = 64

var scratches = sync.Pool{New: func() any { return new(scratch) }}

// room gives each site its options, one for each of n ends, all not worked out
// yet.
func (s *scratch) room(n int) [2][]option {
	for at := range s.options {
		if cap(s.options[at]) < n {
			s.options[at] = make([]option, n)
		}
		s.options[at] = s.options[at][:n]
		clear(s.options[at])
	}
	return s.options
}

// arrangement hands out one, which is good until release.
func (s *scratch) arrangement() *arrangement {
	block, i := s.used/blockSize, s.used%blockSize
	if block == len(s.blocks) {
		s.blocks = append(s.blocks, make([]arrangement, blockSize))
	}
	s.used++
	return &s.blocks[block][i]
}

// release gives the scratch back. Nothing of it may be used after.
func (s *scratch) release() {
	// What is left behind must not keep a revision alive that was replaced.
	for at := range s.options {
		clear(s.options[at])
	}
	for _, block := range s.blocks {
		clear(block)
	}
	clear(s.branches[:cap(s.branches)])
	clear(s.missBranches[:cap(s.missBranches)])
	s.used = 0
	scratches.Put(s)
}
