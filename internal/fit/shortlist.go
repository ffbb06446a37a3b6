package fit

// shortlist keeps the best of what it is offered, best first, each damper
// once.
type shortlist[T any] struct {
	most  int
	items []T
	// compare and damper take values: with pointers, each comparison of a bound
	// would allocate.
	compare func(a, b T) int
	damper  func(T) int32
}

// wants says whether x would be among the best so far.
func (l *shortlist[T]) wants(x T) bool {
	return len(l.items) < l.most || l.compare(x, l.items[len(l.items)-1]) < 0
}

// offer adds x if it is among the best so far, replacing an entry of the same
// damper that ranks behind it, and says whether it did.
func (l *shortlist[T]) offer(x T) bool {
	if !l.wants(x) {
		return false
	}
	at := len(l.items) // where x goes
	for at > 0 && l.compare(x, l.items[at-1]) < 0 {
		at--
	}
	for i := range at {
		if l.damper(l.items[i]) == l.damper(x) {
			return false
		}
	}
	last := len(l.items) // the place that becomes free
	for i := at; i < len(l.items); i++ {
		if l.damper(l.items[i]) == l.damper(x) {
			last = i
		}
	}
	if last == len(l.items) {
		if last == l.most {
			last--
		} else {
			l.items = append(l.items, x)
		}
	}
	copy(l.items[at+1:last+1], l.items[at:last])
	l.items[at] = x
	return true
}

// queue is a binary heap of a search's branches: pop gives the one of the least
// bound.
type queue[T any] struct {
	less  func(a, b *T) bool
	items []T
}

func (q *queue[T]) push(x T) {
	q.items = append(q.items, x)
	i := len(q.items) - 1
	for i > 0 {
		up := (i - 1) / 2
		if !q.less(&q.items[i], &q.items[up]) {
			return
		}
		q.items[i], q.items[up] = q.items[up], q.items[i]
		i = up
	}
}

func (q *queue[T]) pop() (T, bool) {
	var none T
	n := len(q.items) - 1
	if n < 0 {
		return none, false
	}
	top := q.items[0]
	q.items[0] = q.items[n]
	q.items = q.items[:n]
	for i := 0; ; {
		down := 2*i + 1
		if down >= n {
			break
		}
		if down+1 < n && q.less(&q.items[down+1], &q.items[down]) {
			down++
		}
		if !q.less(&q.items[down], &q.items[i]) {
			break
		}
		q.items[i], q.items[down] = q.items[down], q.items[i]
		i = down
	}
	return top, true
}
