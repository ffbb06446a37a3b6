package pglocal

import (
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
)

// tieToParent has the kernel send SIGINT, Postgres's fast shutdown, to the
// child when its parent thread ends, so that not even kill -9 of this process
// leaves a server behind.
func tieToParent(attr *syscall.SysProcAttr) { attr.Pdeathsig = syscall.SIGINT }

// serves is whether pid is a process of the server of cluster: each of them
// works in the cluster's folder.
func serves(pid int, cluster string) bool {
	proc := filepath.Join("/proc", strconv.Itoa(pid))
	dir, err := os.Readlink(filepath.Join(proc, "cwd"))
	if err != nil || dir != cluster {
		return false
	}
	// A person's shell may stand in that folder, too.
	name, err := os.ReadFile(filepath.Join(proc, "comm"))
	return err == nil && strings.TrimSpace(string(name)) == "postgres"
}

// anyServes is whether any process still works in the cluster's folder.
func anyServes(cluster string) bool {
	entries, err := os.ReadDir("/proc")
	if err != nil {
		return true // not known: take it that there is one
	}
	for _, e := range entries {
		if pid, err := strconv.Atoi(e.Name()); err == nil && serves(pid, cluster) {
			return true
		}
	}
	return false
}

// freeBytes is how much a user may still write to the file system of path, 0
// where that isn't known.
func freeBytes(path string) uint64 {
	var st syscall.Statfs_t
	if err := syscall.Statfs(path, &st); err != nil {
		return 0
	}
	return st.Bavail * uint64(st.Bsize)
}
