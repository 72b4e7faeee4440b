//go:build unix

package dotwasm

import (
	"errors"
	"io/fs"
	"os"
	"syscall"
)

// checkOwner checks owner and mode bits.
func checkOwner(info fs.FileInfo, forbidden fs.FileMode) error {
	if info.Mode().Perm()&forbidden != 0 {
		return errors.New("other users have access")
	}
	st, ok := info.Sys().(*syscall.Stat_t)
	if !ok {
		return errors.New("the owner cannot be told")
	}
	if int(st.Uid) != os.Geteuid() {
		return errors.New("it belongs to another user")
	}
	return nil
}
