package main

import (
	"fmt"
	"runtime"
	"runtime/debug"
)

// version is set by the linker (-X main.version=…) in a release.
var version = ""

type versionCommand struct{}

// Run prints the version, the commit if it is known, and the Go version that
// built the program.
func (versionCommand) Run(c console) error {
	v, commit := version, ""
	if info, ok := debug.ReadBuildInfo(); ok {
		if v == "" {
			v = info.Main.Version
		}
		for _, s := range info.Settings {
			if s.Key == "vcs.revision" {
				commit = " " + s.Value
			}
		}
	}
	if v == "" || v == "(devel)" {
		v = "unreleased"
	}
	_, err := fmt.Fprintf(c.out, "midstroke %s%s %s %s/%s\n", v, commit, runtime.Version(), runtime.GOOS, runtime.GOARCH)
	return err
}
