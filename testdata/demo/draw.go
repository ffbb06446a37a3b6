package demo

import "math/rand/v2"

// draw is a seeded source of choices. It takes its numbers from PCG and
// reduces them itself, so that a seed gives the same catalogue under every
// release of Go.
type draw struct{ source *rand.PCG }

// newDraw gives a source for one kind of part: kinds have sources of their
// own, so that more of one never changes another.
func newDraw(seed int64, kind uint64) draw {
	return draw{rand.NewPCG(uint64(seed), kind)}
}

// below gives a number from 0 to n-1, for n far below 2^32; the bias of the
// remainder is then of no account.
func (d draw) below(n int) int { return int(d.source.Uint64() % uint64(n)) }

// chance is true in percent cases of a hundred.
func (d draw) chance(percent int) bool { return d.below(100) < percent }

// pick gives one of the choices.
func pick[T any](d draw, choices []T) T { return choices[d.below(len(choices))] }
