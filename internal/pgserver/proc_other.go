//go:build unix && !linux

package pgserver

import (
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
)

// worksIn reports whether the process is a PostgreSQL that was started on the cluster.
func worksIn(pid int, cluster string) bool {
	out, err := exec.Command("ps", "-ww", "-o", "command=", "-p", strconv.Itoa(pid)).Output()
	if err != nil {
		return false
	}
	command := strings.TrimSpace(string(out))
	program, _, _ := strings.Cut(command, " -D ")
	return filepath.Base(program) == "postgres" && strings.Contains(command, cluster)
}

// orphans is empty: there is no cheap way to find them here, and they end by themselves.
func orphans(string) []int { return nil }

// shedPrivileges does nothing: only Linux hands single privileges on.
func shedPrivileges() {}

// tieToParent does nothing: only Linux can tie a process to its parent.
func tieToParent(*syscall.SysProcAttr) {}
