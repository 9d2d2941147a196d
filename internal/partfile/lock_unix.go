//go:build unix

package partfile

import (
	"os"
	"syscall"
)

// lock locks a file until it is closed, unless another process has, and reports whether it did.
func lock(f *os.File) bool { return syscall.Flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB) == nil }
