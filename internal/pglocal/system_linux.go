package pglocal

import (
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
)

// tieToParent makes the kernel send SIGINT, Postgres's fast shutdown, to the child
// when its parent thread ends. So even kill -9 of this process leaves no server
// behind.
func tieToParent(attr *syscall.SysProcAttr) { attr.Pdeathsig = syscall.SIGINT }

// serves says whether pid is a process of the server of cluster. Each of these
// works in the cluster's folder.
func serves(pid int, cluster string) bool {
	proc := filepath.Join("/proc", strconv.Itoa(pid))
	dir, err := os.Readlink(filepath.Join(proc, "cwd"))
	if err != nil || dir != cluster {
		return false
	}
	// Somebody's shell may be in that folder, too.
	name, err := os.ReadFile(filepath.Join(proc, "comm"))
	return err == nil && strings.TrimSpace(string(name)) == "postgres"
}

// anyServes says whether any process still works in the cluster's folder.
func anyServes(cluster string) bool {
	entries, err := os.ReadDir("/proc")
	if err != nil {
		return true // not known, so assume that there is one
	}
	for _, e := range entries {
		if pid, err := strconv.Atoi(e.Name()); err == nil && serves(pid, cluster) {
			return true
		}
	}
	return false
}

// freeBytes is how much a user can still write to the file system of path, if that
// is known.
func freeBytes(path string) (free uint64, known bool) {
	var st syscall.Statfs_t
	if err := syscall.Statfs(path, &st); err != nil {
		return 0, false
	}
	return st.Bavail * uint64(st.Bsize), true
}
