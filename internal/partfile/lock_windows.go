package partfile

import "os"

// lock has nothing to do: what a process has open nobody removes.
func lock(*os.File) bool { return true }
