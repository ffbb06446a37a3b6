package coverage

import (
	"cmp"
	"encoding/binary"
	"slices"
)

// problem is the demands in a form that is quick to search: those that the same dampers
// fit are one, and of dampers that serve the same the first stands for all.
type problem struct {
	weights []int64 // of the demands
	items   []item
	total   int64
	// pause is called after every pauseSteps, steps counts them until then, and ended says
	// that the rest isn't wanted any more.
	pause func() bool
	steps int
	ended bool
	// seen marks the demands that are served; it holds how often each is.
	seen []int32
}

// item is one damper with the demands that it serves.
type item struct {
	damper int32
	serves []int32
	weight int64
}

// pauseSteps is how many steps take about a millisecond.
const pauseSteps = 400_000

// step counts steps of work, and pauses after many of them.
func (p *problem) step(n int) {
	if p.steps += n; p.steps < pauseSteps || p.pause == nil || p.ended {
		return
	}
	p.steps = 0
	p.ended = !p.pause()
}

func newProblem(demands []Demand, pause func() bool) *problem {
	p := &problem{pause: pause}
	same := map[string]int32{}
	byDamper := map[int32][]int32{}
	var key []byte
	for i := range demands {
		d := &demands[i]
		if len(d.By) == 0 {
			continue
		}
		key = key[:0]
		for _, by := range d.By {
			key = binary.BigEndian.AppendUint32(key, uint32(by.Damper))
		}
		at, ok := same[string(key)]
		if !ok {
			at = int32(len(p.weights))
			same[string(key)] = at
			p.weights = append(p.weights, 0)
			for _, by := range d.By {
				byDamper[by.Damper] = append(byDamper[by.Damper], at)
			}
		}
		p.weights[at] += d.Weight
		p.total += d.Weight
		p.step(16 * len(d.By)) // which are looked up
	}
	p.seen = make([]int32, len(p.weights))
	p.addItems(byDamper)
	return p
}

// addItems keeps one damper of those that serve the same.
func (p *problem) addItems(byDamper map[int32][]int32) {
	var all []item
	for damper, serves := range byDamper {
		one := item{damper: damper, serves: serves}
		for _, d := range serves {
			one.weight += p.weights[d]
		}
		all = append(all, one)
	}
	slices.SortFunc(all, func(a, b item) int { return cmp.Or(cmp.Compare(b.weight, a.weight), cmp.Compare(a.damper, b.damper)) })
	same := map[string]bool{}
	var key []byte
	for _, one := range all {
		key = key[:0]
		for _, d := range one.serves {
			key = binary.BigEndian.AppendUint32(key, uint32(d))
		}
		if !same[string(key)] {
			same[string(key)] = true
			p.items = append(p.items, one)
		}
	}
}

// gain is what an item adds to those that are taken.
func (p *problem) gain(i int) (gain int64) {
	if p.step(1 + len(p.items[i].serves)); p.ended {
		return 0
	}
	for _, d := range p.items[i].serves {
		if p.seen[d] == 0 {
			gain += p.weights[d]
		}
	}
	return gain
}

func (p *problem) take(i int) {
	for _, d := range p.items[i].serves {
		p.seen[d]++
	}
}

func (p *problem) giveBack(i int) {
	for _, d := range p.items[i].serves {
		p.seen[d]--
	}
}

// greedyChoice is the items in the order in which they were taken.
type greedyChoice struct {
	order  []int
	served int64
}

// greedy takes the item that adds most, again and again, until it is enough or none adds
// anything. An item never adds more later than before, so that most gains needn't be
// computed anew (Minoux 1978).
func (p *problem) greedy(enough func(served int64, chosen int) bool) (g greedyChoice) {
	gains := make([]int64, len(p.items)) // upper bounds
	for i := range p.items {
		gains[i] = p.items[i].weight
	}
	for !enough(g.served, len(g.order)) {
		best, most := -1, int64(0)
		for i := range gains {
			if gains[i] <= most {
				continue
			}
			if gains[i] = p.gain(i); gains[i] > most {
				best, most = i, gains[i]
			}
		}
		if best < 0 {
			break
		}
		p.take(best)
		g.order, g.served = append(g.order, best), g.served+most
	}
	for _, i := range g.order {
		p.giveBack(i)
	}
	return g
}

// boundPrefixes is at how many beginnings of a greedy choice a bound is computed.
const boundPrefixes = 64

// eachPrefix calls do for beginnings of an order with what they serve, and with what
// each item would add to them, the most first.
func (p *problem) eachPrefix(order []int, do func(served int64, gains []int64)) {
	gains := make([]int64, len(p.items))
	served := int64(0)
	taken := 0
	for at := 0; at <= min(len(order), boundPrefixes); at++ {
		for i := range gains {
			gains[i] = p.gain(i)
		}
		slices.SortFunc(gains, func(a, b int64) int { return cmp.Compare(b, a) })
		do(served, gains)
		if at < len(order) {
			served += p.gain(order[at])
			p.take(order[at])
			taken++
		}
	}
	for _, i := range order[:taken] {
		p.giveBack(i)
	}
}

// mostOf bounds what any n items serve: what a set serves, and the n largest amounts that
// items add to it.
func (p *problem) mostOf(order []int, n int) int64 {
	most := p.total
	p.eachPrefix(order, func(served int64, gains []int64) {
		for _, gain := range gains[:min(n, len(gains))] {
			served += gain
		}
		most = min(most, served)
	})
	return most
}

// leastOf bounds how few items serve as much as wanted.
func (p *problem) leastOf(order []int, wanted int64) int {
	least := 0
	p.eachPrefix(order, func(served int64, gains []int64) {
		n := 0
		for n < len(gains) && served < wanted {
			served += gains[n]
			n++
		}
		least = max(least, n)
	})
	return least
}

// set makes a set of items, the one that adds most first.
func (p *problem) set(order []int) (s Set) {
	left := slices.Clone(order)
	for len(left) > 0 {
		best := 0
		for at := range left {
			if a, b := p.gain(left[at]), p.gain(left[best]); a > b || a == b && p.items[left[at]].damper < p.items[left[best]].damper {
				best = at
			}
		}
		i := left[best]
		adds := p.gain(i)
		p.take(i)
		s.Chosen, s.Served = append(s.Chosen, Choice{p.items[i].damper, adds}), s.Served+adds
		left = slices.Delete(left, best, best+1)
	}
	for _, i := range order {
		p.giveBack(i)
	}
	return s
}

// search looks for a set of at most so many items that serves more than best, by branch
// and bound.
type search struct {
	*problem
	most      int
	left      int // steps of work
	best      int64
	enough    int64 // ends the search where it is reached; 0 for never
	bestOrder []int
	order     []int
}

// run searches, and says whether it came to its end within the limit of work.
func (s *search) run() bool {
	all := make([]int, len(s.items))
	for i := range all {
		all[i] = i
	}
	return s.open(all, 0)
}

// candidate is an item with what it adds to those that are taken.
type candidate struct {
	item int
	gain int64
}

// open tries every set that adds some of the items to those that are taken. The first
// item of a set to be tried is the one that adds most, so that each set comes once.
func (s *search) open(items []int, served int64) bool {
	if served > s.best {
		s.best, s.bestOrder = served, slices.Clone(s.order)
	}
	free := s.most - len(s.order)
	if free == 0 || s.found() {
		return true
	}
	list := make([]candidate, 0, len(items))
	for _, i := range items {
		s.left -= 1 + len(s.items[i].serves)
		if gain := s.gain(i); gain > 0 {
			list = append(list, candidate{i, gain})
		}
	}
	slices.SortFunc(list, func(a, b candidate) int { return cmp.Or(cmp.Compare(b.gain, a.gain), cmp.Compare(a.item, b.item)) })
	rest := make([]int, len(list))
	for at := range list {
		rest[at] = list[at].item
	}
	for at := range list {
		bound := served
		for _, c := range list[at:min(len(list), at+free)] {
			bound += c.gain
		}
		if bound <= s.best || s.found() {
			return true
		}
		if s.left < 0 {
			return false
		}
		i := list[at].item
		s.take(i)
		s.order = append(s.order, i)
		done := s.open(rest[at+1:], served+list[at].gain)
		s.order = s.order[:len(s.order)-1]
		s.giveBack(i)
		if !done {
			return false
		}
	}
	return true
}

// found says whether nothing more is to be looked for.
func (s *search) found() bool { return s.ended || s.enough > 0 && s.best >= s.enough }
