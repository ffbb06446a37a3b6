// Package enum names the values of small types, as requests, answers and files write
// them.
package enum

// Names are the names of the values of a T, each at the place of its value. The
// name of the zero value may be "", which nobody can write.
type Names[T ~uint8] []string

// All lists the names that can be written, in the order of the values. Callers
// change nothing in it.
func (n Names[T]) All() []string {
	if n[0] == "" {
		return n[1:]
	}
	return n
}

// Parse finds a value by its name.
func (n Names[T]) Parse(name string) (T, bool) {
	for i := range n {
		if n[i] == name && name != "" {
			return T(i), true
		}
	}
	return 0, false
}
