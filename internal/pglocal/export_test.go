//go:build unix

package pglocal

import "context"

// FindIn finds installations as Start does, but on the given path and in the
// given places, and chooses one for the given major version.
func FindIn(ctx context.Context, path string, places []string, major int) (found []string, chosen string, err error) {
	acct, err := chooseAccount("")
	if err != nil {
		return nil, "", err
	}
	all := findInstallations(ctx, acct, path, places)
	for _, in := range all {
		found = append(found, in.String())
	}
	in, err := choose(all, major, "/data")
	return found, in.String(), err
}

// Unfinished is where a cluster stands while it is made.
const Unfinished = unfinished

// TemporaryDir makes a folder where Temporary makes its own.
func TemporaryDir(prefix string) (string, error) { return temporaryDir(prefix) }

// HoldLock takes the lock of dir and gives the function that releases it.
func HoldLock(dir string) (release func(), err error) {
	held, err := acquire(dir, 10_000)
	if err != nil {
		return nil, err
	}
	return held.release, nil
}
