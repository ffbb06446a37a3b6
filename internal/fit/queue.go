package fit

// queue is a binary heap: pop gives the least of what was pushed.
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
