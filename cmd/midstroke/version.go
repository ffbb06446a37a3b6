package main

import (
	"fmt"
	"runtime"
	"runtime/debug"

	"midstroke/internal/licences"
)

// version is set by the linker (-X main.version=…) in a release.
var version = ""

type versionCommand struct{}

// Run prints the version, as --version does.
func (versionCommand) Run(c console) error {
	_, err := fmt.Fprintln(c.out, versionLine())
	return err
}

// versionLine gives the version, the commit if it is known, and the Go version that
// built the program.
func versionLine() string {
	return fmt.Sprintf("midstroke %s%s %s %s/%s", versionText(), commit(), runtime.Version(), runtime.GOOS, runtime.GOARCH)
}

type licencesCommand struct{}

// Run prints the licences.
func (licencesCommand) Run(c console) error { return licences.Write(c.out) }

// versionText gives the version of the program, "unreleased" for one that isn't built
// from a tag.
func versionText() string {
	v := version
	if info, ok := debug.ReadBuildInfo(); ok && v == "" {
		v = info.Main.Version
	}
	if v == "" || v == "(devel)" {
		v = "unreleased"
	}
	return v
}

// commit gives the commit that the program was built from, with a blank before it, ""
// if it isn't known.
func commit() string {
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return ""
	}
	for _, s := range info.Settings {
		if s.Key == "vcs.revision" {
			return " " + s.Value
		}
	}
	return ""
}
