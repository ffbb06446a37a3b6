//go:build unix && !linux

package pglocal

import (
	"os/exec"
	"strconv"
	"strings"
	"syscall"
)

// tieToParent does nothing, since these systems have no such signal. The next Start
// stops a server that kill -9 of its parent left behind.
func tieToParent(*syscall.SysProcAttr) {}

// serves says whether pid is the server of cluster, by its command line.
func serves(pid int, cluster string) bool {
	out, err := exec.Command("ps", "-ww", "-o", "command=", "-p", strconv.Itoa(pid)).Output()
	return err == nil && strings.Contains(string(out), "-D "+cluster+" ")
}

// anyServes says whether a server of cluster still runs. Its workers, whose command
// lines don't name the cluster, end by themselves when it has ended.
func anyServes(cluster string) bool {
	out, err := exec.Command("ps", "-ww", "-A", "-o", "command=").Output()
	return err != nil || strings.Contains(string(out), "-D "+cluster+" ")
}

// freeBytes knows nothing here: the systems differ in how they tell it.
func freeBytes(string) (free uint64, known bool) { return 0, false }
