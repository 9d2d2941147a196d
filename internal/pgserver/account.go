//go:build unix

package pgserver

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"os/user"
	"path/filepath"
	"strconv"
	"syscall"
)

// account is the user that the server runs as.
type account struct {
	uid, gid uint32
	name     string
	other    bool // not the user of this process: we are root, and PostgreSQL refuses to run as root
}

// newAccount chooses the user for the server of a new cluster: for root the user postgres, else nobody. Everyone
// else runs the server themselves.
func newAccount() (account, error) {
	if os.Geteuid() != 0 {
		return account{uid: uint32(os.Geteuid()), gid: uint32(os.Getegid())}, nil
	}
	return unprivileged()
}

// serverAccount chooses the user for the server. For root the owner of an existing cluster stays its user.
func serverAccount(f folder) (account, error) {
	info, err := os.Stat(f.cluster())
	switch {
	case os.Geteuid() != 0, errors.Is(err, fs.ErrNotExist):
		return newAccount()
	case err != nil:
		return account{}, explain(err, f.dir)
	}
	st := info.Sys().(*syscall.Stat_t)
	if st.Uid != 0 {
		return account{uid: st.Uid, gid: st.Gid, name: userName(int(st.Uid)), other: true}, nil
	}
	a, err := unprivileged()
	if err != nil {
		return account{}, err
	}
	return account{}, fmt.Errorf("the journal's cluster %s belongs to root, whom PostgreSQL refuses to serve; hand it over with: chown -R %s %s",
		f.cluster(), a.name, f.cluster())
}

func unprivileged() (account, error) {
	for _, name := range []string{"postgres", "nobody"} {
		u, err := user.Lookup(name)
		if err != nil {
			continue
		}
		uid, err1 := strconv.ParseUint(u.Uid, 10, 32)
		gid, err2 := strconv.ParseUint(u.Gid, 10, 32)
		if err1 == nil && err2 == nil && uid != 0 {
			return account{uid: uint32(uid), gid: uint32(gid), name: name, other: true}, nil
		}
	}
	return account{}, errors.New("PostgreSQL refuses to run as root, and this machine has neither a user postgres nor a user nobody; " +
		"make one (useradd --system postgres) or run rigtally as a normal user")
}

func (a account) sysProcAttr() *syscall.SysProcAttr {
	// Its own session: Ctrl-C at the terminal reaches rigtally only, which then stops the server in good order.
	attr := &syscall.SysProcAttr{Setsid: true}
	if a.other {
		attr.Credential = &syscall.Credential{Uid: a.uid, Gid: a.gid}
	}
	return attr
}

// admit lets the server's user pass through the data folder, to reach the cluster and socket folders in it.
func (a account) admit(f folder) error {
	if !a.other {
		return nil
	}
	info, err := os.Stat(f.dir)
	if err != nil {
		return explain(err, f.dir)
	}
	if mode := info.Mode().Perm(); mode&0o011 != 0o011 {
		if err := os.Chmod(f.dir, mode|0o011); err != nil {
			return explain(err, f.dir)
		}
	}
	if blocked := a.blockedAt(f.dir); blocked != "" {
		return fmt.Errorf("as root the database runs as the user %s, who cannot enter the folder %s above the data folder; "+
			"choose another with --data-dir (root's usual one is /var/lib/rigtally) or open it with: chmod o+x %s", a.name, blocked, blocked)
	}
	return nil
}

// blockedAt gives the outermost folder on the way to dir, dir included, that the account cannot enter; "" if none.
// It looks at the permission bits, since root itself is stopped by none.
func (a account) blockedAt(dir string) string {
	if !a.other {
		return ""
	}
	if parent := filepath.Dir(dir); parent != dir {
		if blocked := a.blockedAt(parent); blocked != "" {
			return blocked
		}
	}
	info, err := os.Stat(dir)
	if err != nil {
		return dir
	}
	st := info.Sys().(*syscall.Stat_t)
	bit := fs.FileMode(0o001)
	switch {
	case st.Uid == a.uid:
		bit = 0o100
	case st.Gid == a.gid:
		bit = 0o010
	}
	if info.Mode()&bit == 0 {
		return dir
	}
	return ""
}

func ownerOf(info fs.FileInfo) int { return int(info.Sys().(*syscall.Stat_t).Uid) }

func userName(uid int) string {
	id := strconv.Itoa(uid)
	if u, err := user.LookupId(id); err == nil {
		return u.Username
	}
	return "user number " + id
}
