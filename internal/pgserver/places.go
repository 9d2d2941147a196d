package pgserver

import (
	"os"
	"path/filepath"
	"syscall"
)

// places are the folders to search for server programs.
type places struct {
	path   []string // as in PATH
	system []string // patterns of the usual places
	local  []string // folders that "make postgres" fills, each with a bin folder
}

// group is a set of folders of equal rank: the newest version in it wins.
type group struct {
	dirs  []string
	local bool
}

func usualPlaces() *places {
	p := &places{
		path: filepath.SplitList(os.Getenv("PATH")),
		system: []string{
			"/usr/lib/postgresql/*/bin",          // Debian
			"/usr/pgsql-*/bin",                   // PostgreSQL's own packages for Fedora
			"/usr/bin",                           // Fedora
			"/opt/homebrew/opt/postgresql@*/bin", // Homebrew on Apple silicon
			"/usr/local/opt/postgresql@*/bin",    // Homebrew on Intel
			"/home/linuxbrew/.linuxbrew/opt/postgresql@*/bin",
			"/Library/PostgreSQL/*/bin", // EDB installer on macOS
			"/opt/PostgreSQL/*/bin",     // EDB installer on Linux
		},
	}
	if dir, err := os.Getwd(); err == nil {
		p.local = append(p.local, filepath.Join(dir, ".postgres"))
	}
	if exe, err := os.Executable(); err == nil {
		if resolved, err := filepath.EvalSymlinks(exe); err == nil {
			exe = resolved
		}
		dir := filepath.Dir(exe)
		p.local = append(p.local, filepath.Join(dir, ".postgres"), filepath.Join(filepath.Dir(dir), ".postgres"))
	}
	return p
}

// groups lists the places in the order in which they count. In PATH each folder ranks before the next.
func (p *places) groups() []group {
	var all []group
	for _, dir := range p.path {
		if filepath.IsAbs(dir) {
			all = append(all, group{dirs: []string{dir}})
		}
	}
	var system []string
	for _, pattern := range p.system {
		dirs, _ := filepath.Glob(pattern) // fails for a malformed pattern only, and ours are fixed
		system = append(system, dirs...)
	}
	all = append(all, group{dirs: system})
	for _, dir := range p.local {
		if trusted(dir) && trusted(filepath.Join(dir, "bin")) {
			all = append(all, group{dirs: []string{filepath.Join(dir, "bin")}, local: true})
		}
	}
	return all
}

// trusted reports whether only this user or root can have filled the folder. Programs that lie below the current
// folder must not run merely because someone else left them there.
func trusted(dir string) bool {
	info, err := os.Stat(dir)
	if err != nil || !info.IsDir() || info.Mode()&0o022 != 0 {
		return false
	}
	uid := int(info.Sys().(*syscall.Stat_t).Uid)
	return uid == 0 || uid == os.Geteuid()
}
