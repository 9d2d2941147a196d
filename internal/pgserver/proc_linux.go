package pgserver

import (
	"fmt"
	"os"
	"strconv"
	"strings"
	"syscall"

	"golang.org/x/sys/unix"
)

// worksIn reports whether the process is a PostgreSQL whose current folder is the cluster: each one changes to it.
func worksIn(pid int, cluster string) bool {
	name, err := os.ReadFile(fmt.Sprintf("/proc/%d/comm", pid))
	if err != nil || !strings.HasPrefix(string(name), "postgres") {
		return false
	}
	cwd, err1 := os.Stat(fmt.Sprintf("/proc/%d/cwd", pid))
	own, err2 := os.Stat(cluster)
	return err1 == nil && err2 == nil && os.SameFile(cwd, own)
}

// orphans lists the processes that a killed server left in the cluster.
func orphans(cluster string) []int {
	entries, err := os.ReadDir("/proc")
	if err != nil {
		return nil
	}
	var pids []int
	for _, e := range entries {
		if pid, err := strconv.Atoi(e.Name()); err == nil && worksIn(pid, cluster) {
			pids = append(pids, pid)
		}
	}
	return pids
}

// shedPrivileges keeps what this process may do, such as to open port 443, from what this thread starts from now on. A
// server with more privileges than another rigtally of the same user has would be hidden from that one. A kernel that
// knows no such privileges has none to shed.
func shedPrivileges() { _ = unix.Prctl(unix.PR_CAP_AMBIENT, unix.PR_CAP_AMBIENT_CLEAR_ALL, 0, 0, 0) }

// tieToParent makes the kernel stop the server at once when the thread that started it ends.
func tieToParent(attr *syscall.SysProcAttr) { attr.Pdeathsig = syscall.SIGQUIT }
