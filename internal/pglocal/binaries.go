//go:build unix

package pglocal

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"syscall"
)

// installation is one set of Postgres's server programs.
type installation struct {
	dir     string
	version string // "15.18"
	major   int    // 15
}

func (i installation) String() string { return "Postgres " + i.version + " in " + i.dir }

// folders are the places, besides PATH, where systems keep Postgres's server
// programs. Most keep them off PATH so that several versions can be installed.
func folders() []string {
	return []string{
		"/usr/lib/postgresql/*/bin",         // Debian, Ubuntu
		"/usr/pgsql-*/bin",                  // Fedora and its relatives, Postgres's own packages
		"/usr/bin",                          // Fedora's own packages, Arch
		"/usr/lib/postgresql*/bin",          // openSUSE
		"/usr/libexec/postgresql*",          // Alpine
		"/opt/homebrew/opt/postgresql*/bin", // Homebrew on arm64
		"/opt/homebrew/bin",
		"/usr/local/opt/postgresql*/bin", // Homebrew on amd64
		"/usr/local/bin",                 // the BSDs
		"/usr/local/pgsql/bin",           // built from source
	}
}

// findInstallations gives the installations that the account can run. First come
// those on path (a list as in PATH) in its order, since somebody put them there on
// purpose. Then come those in places (glob patterns), newest first.
func findInstallations(ctx context.Context, acct account, path string, places []string) []installation {
	var found []installation
	seen := map[string]bool{}
	add := func(dir string) {
		real, err := filepath.EvalSymlinks(filepath.Join(dir, "postgres"))
		if err != nil || seen[real] {
			return
		}
		if _, err := os.Stat(filepath.Join(dir, "initdb")); err != nil {
			return
		}
		out, err := acct.command("/", filepath.Join(dir, "postgres"), "--version").output(ctx)
		if err != nil {
			return
		}
		if version, major, ok := parseVersion(out); ok {
			seen[real] = true
			found = append(found, installation{dir: dir, version: version, major: major})
		}
	}
	for _, dir := range filepath.SplitList(path) {
		if filepath.IsAbs(dir) {
			add(dir)
		}
	}
	onPath := len(found)
	for _, place := range places {
		dirs, _ := filepath.Glob(place) // the only error is a bad pattern
		for _, dir := range dirs {
			add(dir)
		}
	}
	slices.SortStableFunc(found[onPath:], func(a, b installation) int {
		if c := cmp.Compare(b.major, a.major); c != 0 {
			return c
		}
		return cmp.Compare(minor(b.version), minor(a.version))
	})
	return found
}

// parseVersion reads what postgres --version says: "postgres (PostgreSQL)
// 15.18 (Debian 15.18-0+deb12u1)", "postgres (PostgreSQL) 18beta1".
func parseVersion(out string) (version string, major int, ok bool) {
	_, rest, ok := strings.Cut(out, "(PostgreSQL) ")
	if !ok {
		return "", 0, false
	}
	version, _, _ = strings.Cut(strings.TrimSpace(rest), " ")
	digits := strings.IndexFunc(version, func(r rune) bool { return r < '0' || r > '9' })
	if digits < 0 {
		digits = len(version)
	}
	major, err := strconv.Atoi(version[:digits])
	return version, major, err == nil
}

func minor(version string) int {
	_, after, _ := strings.Cut(version, ".")
	n, _ := strconv.Atoi(after) // a beta has none and counts as 0
	return n
}

// choose gives the first of found with the major version that wrote the cluster in
// dir. If major is 0, any version that is new enough is good.
func choose(found []installation, major int, dir string) (installation, error) {
	for _, in := range found {
		if in.major >= OldestMajor && (major == 0 || in.major == major) {
			return in, nil
		}
	}
	err := &MissingError{Major: major, Dir: dir}
	for _, in := range found {
		err.Found = append(err.Found, in.String())
	}
	return installation{}, err
}

// clusterMajor reads which major version wrote the cluster. It is 0 if there is no
// cluster yet.
func clusterMajor(cluster string) (int, error) {
	raw, err := os.ReadFile(filepath.Join(cluster, "PG_VERSION"))
	switch {
	case err == nil:
		major, _, _ := strings.Cut(strings.TrimSpace(string(raw)), ".")
		n, err := strconv.Atoi(major)
		if err != nil || n == 0 {
			return 0, fmt.Errorf("%s doesn't say which version of Postgres wrote the data: %q", filepath.Join(cluster, "PG_VERSION"), raw)
		}
		return n, nil
	case errors.Is(err, os.ErrPermission):
		return 0, fmt.Errorf("the data in %s belongs to another user: %w", cluster, err)
	case !errors.Is(err, os.ErrNotExist) && !errors.Is(err, syscall.ENOTDIR):
		return 0, err
	}
	// Start never leaves an incomplete folder here, so this one isn't ours.
	if _, err := os.Lstat(cluster); err == nil {
		return 0, fmt.Errorf("%s is there but holds no Postgres data: move it away, or choose another data folder", cluster)
	}
	return 0, nil
}
