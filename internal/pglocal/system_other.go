//go:build unix && !linux

package pglocal

import (
	"os/exec"
	"strconv"
	"strings"
	"syscall"
)

// tieToParent can't be had here: a server that kill -9 of its parent left
// behind is stopped by the next Start on its folder.
func tieToParent(*syscall.SysProcAttr) {}

// serves is whether pid is the server of cluster, by its command line.
func serves(pid int, cluster string) bool {
	out, err := exec.Command("ps", "-ww", "-o", "command=", "-p", strconv.Itoa(pid)).Output()
	return err == nil && strings.Contains(string(out), "-D "+cluster+" ")
}

// anyServes is whether any server of cluster still runs. Its workers end by
// themselves when it does, but can't be told apart by their command lines.
func anyServes(cluster string) bool {
	out, err := exec.Command("ps", "-ww", "-A", "-o", "command=").Output()
	return err != nil || strings.Contains(string(out), "-D "+cluster+" ")
}

// freeBytes isn't known here, nor is there a file system in memory to ask
// about.
func freeBytes(string) uint64 { return 0 }
