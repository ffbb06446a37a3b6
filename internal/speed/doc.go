// Package speed compares the speed of the real program with that of the libraries and
// servers that it uses, and prints one table. It has tests only, and none of them
// fails because something is slow.
//
// `make bench` runs it. The load comes from a process of its own, and so does what
// the service is compared with.
package speed
