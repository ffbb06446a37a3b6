// Package outage breaks things around the real program under load, and measures what
// callers notice. It has tests only.
//
// `make test-faults` runs every row and prints a line for each; `make test` runs
// a short form of those that are quick. To add a row, write a function that takes a
// *stage and list it in rows.
package outage
