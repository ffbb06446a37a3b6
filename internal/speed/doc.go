// Package speed measures the real program against what stands under and beside
// it, and prints one table. It has tests only, and none of them fails for being
// slow.
//
// `make bench` runs it. The load comes from a process of its own, and so does what
// the service is compared with.
package speed
