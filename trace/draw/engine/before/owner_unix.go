//go:build unix

package before

import (
	"errors"
	"io/fs"
	"os"
	"syscall"
)

// tempVariable is what os.TempDir reads.
const tempVariable = "TMPDIR"

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

// openToAll reports whether anybody may rename and remove what others have in a folder of this mode.
func openToAll(mode fs.FileMode) bool { return mode.Perm()&0o002 != 0 && mode&fs.ModeSticky == 0 }
