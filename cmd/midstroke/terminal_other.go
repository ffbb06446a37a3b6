//go:build !unix

package main

// takeTerminal does nothing here.
func takeTerminal() (giveBack func()) { return func() {} }
