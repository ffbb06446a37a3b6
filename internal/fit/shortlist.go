package fit

// shortlist keeps the best of what it is offered, best first, each damper
// once.
type shortlist[T any] struct {
	most    int
	items   []T
	compare func(a, b *T) int
	key     func(*T) key
	damper  func(*T) int32
	worst   key // of the items, once there are as many as are kept
}

// mayWant says whether anything of that key or a greater one might be among the
// best so far.
func (l *shortlist[T]) mayWant(k key) bool { return len(l.items) < l.most || !l.worst.less(k) }

// wants says whether x would be among the best so far.
func (l *shortlist[T]) wants(x *T) bool {
	return len(l.items) < l.most || l.compare(x, &l.items[len(l.items)-1]) < 0
}

// offer adds x if it is among the best so far, and replaces an entry of the same
// damper that ranks behind it. It says whether it did.
func (l *shortlist[T]) offer(x *T) bool {
	if !l.wants(x) {
		return false
	}
	at := len(l.items) // where x goes
	for at > 0 && l.compare(x, &l.items[at-1]) < 0 {
		at--
	}
	damper := l.damper(x)
	for i := range at {
		if l.damper(&l.items[i]) == damper {
			return false
		}
	}
	last := len(l.items) // the place that becomes free
	for i := at; i < len(l.items); i++ {
		if l.damper(&l.items[i]) == damper {
			last = i
		}
	}
	if last == len(l.items) {
		if last == l.most {
			last--
		} else {
			l.items = append(l.items, *x)
		}
	}
	copy(l.items[at+1:last+1], l.items[at:last])
	l.items[at] = *x
	if len(l.items) == l.most {
		l.worst = l.key(&l.items[l.most-1])
	}
	return true
}

// queue is a binary heap of a search's branches: pop gives one of the least key.
type queue[T any] struct{ items []queued[T] }

type queued[T any] struct {
	key
	branch T
}

func (q *queue[T]) push(k key, branch T) {
	q.items = append(q.items, queued[T]{k, branch})
	i := len(q.items) - 1
	for i > 0 {
		up := (i - 1) / 2
		if !q.items[i].less(q.items[up].key) {
			return
		}
		q.items[i], q.items[up] = q.items[up], q.items[i]
		i = up
	}
}

func (q *queue[T]) pop() (b queued[T], ok bool) {
	n := len(q.items) - 1
	if n < 0 {
		return b, false
	}
	top := q.items[0]
	q.items[0] = q.items[n]
	q.items = q.items[:n]
	for i := 0; ; {
		down := 2*i + 1
		if down >= n {
			break
		}
		if down+1 < n && q.items[down+1].less(q.items[down].key) {
			down++
		}
		if !q.items[down].less(q.items[i].key) {
			break
		}
		q.items[i], q.items[down] = q.items[down], q.items[i]
		i = down
	}
	return top, true
}
