//go:build unix

package pglocal

import (
	"errors"
	"fmt"
	"os"
	"os/user"
	"strconv"
	"syscall"
)

// account is the user that Postgres runs as.
type account struct {
	name     string
	uid, gid int
	// become is set if a child must switch to this user, since Postgres refuses to
	// run as root.
	become bool
}

// chooseAccount gives this process's user unless that is root. For root it gives
// the owner of the cluster if there is one, so that root can go on with an ordinary
// user's folder; otherwise the user postgres; otherwise nobody.
func chooseAccount(cluster string) (account, error) {
	if uid := os.Geteuid(); uid != 0 {
		return account{name: nameOf(uid), uid: uid, gid: os.Getegid()}, nil
	}
	if info, err := os.Stat(cluster); err == nil {
		if st, ok := info.Sys().(*syscall.Stat_t); ok && st.Uid != 0 {
			uid, gid := int(st.Uid), int(st.Gid)
			return account{name: nameOf(uid), uid: uid, gid: gid, become: true}, nil
		}
	}
	for _, name := range []string{"postgres", "nobody"} {
		u, err := user.Lookup(name)
		if err != nil {
			continue
		}
		uid, err := strconv.Atoi(u.Uid)
		if err != nil || uid == 0 {
			continue
		}
		gid, err := strconv.Atoi(u.Gid)
		if err != nil {
			continue
		}
		return account{name: name, uid: uid, gid: gid, become: true}, nil
	}
	return account{}, errors.New("root can not run Postgres, and there is no other user for it: add a user postgres, start as an ordinary user, or name a Postgres of your own in DATABASE_URL")
}

func nameOf(uid int) string {
	if u, err := user.LookupId(strconv.Itoa(uid)); err == nil {
		return u.Username
	}
	return strconv.Itoa(uid)
}

// own gives path to the account if children switch to it.
func (a account) own(path string) error {
	if !a.become {
		return nil
	}
	return os.Lchown(path, a.uid, a.gid)
}

// folder makes path a folder that only the account (and root) can enter. The
// folder may exist already.
func (a account) folder(path string) error {
	if err := os.Mkdir(path, 0o700); err != nil && !os.IsExist(err) {
		return err
	}
	info, err := os.Lstat(path)
	if err != nil {
		return err
	}
	if !info.IsDir() {
		return fmt.Errorf("%s is not a folder", path)
	}
	if err := a.own(path); err != nil {
		return err
	}
	return os.Chmod(path, 0o700)
}

func ownerOf(info os.FileInfo) int {
	if st, ok := info.Sys().(*syscall.Stat_t); ok {
		return int(st.Uid)
	}
	return -1
}
