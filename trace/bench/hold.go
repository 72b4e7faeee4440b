package bench

import (
	"cmp"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"time"

	"github.com/gofrs/flock"
)

// Hold keeps other processes from writing a case file, until it is released or the
// process ends, however it ends: an advisory lock on a hidden file beside the case,
// which says who holds it. The case itself is not locked, since Windows would then
// keep its readers out too.
type Hold struct {
	// Err is why nothing is held where no lock can be had, as in a folder that may
	// not be written to or on a file system without locks.
	Err error

	lock *flock.Flock
}

// InUseError reports a case file that another process writes.
type InUseError struct {
	Name string // of the file
	Who  string // the process, its host and since when, as it said; may be empty
}

// Error names the file and who has it.
func (e *InUseError) Error() string {
	return fmt.Sprintf("%s is in use by another bench: %s\n  end that one, begin a case in another file, or look on with --look",
		e.Name, cmp.Or(e.Who, "it does not say which process"))
}

// mostTries bounds how often a lock is sought that its holder takes away just then.
const mostTries = 10

// Take holds a case file, or returns an *InUseError. What is no regular file needs
// no holding.
func Take(name string) (*Hold, error) {
	target, err := filepath.EvalSymlinks(name)
	if err != nil {
		return &Hold{}, nil // it is missing, which its reader tells better
	}
	if st, err := os.Stat(target); err != nil || !st.Mode().IsRegular() {
		return &Hold{}, nil
	}
	path := filepath.Join(filepath.Dir(target), "."+filepath.Base(target)+".lock")
	for range mostTries {
		lock := flock.New(path, flock.SetPermissions(0o644))
		switch ok, err := lock.TryLock(); {
		case err != nil:
			return &Hold{Err: err}, nil
		case !ok:
			return nil, &InUseError{Name: name, Who: whoHolds(path)}
		case !isAt(lock, path):
			// Its last holder removed it after it was opened here.
			if err := lock.Unlock(); err != nil {
				return &Hold{Err: err}, nil
			}
			continue
		}
		h := &Hold{lock: lock}
		if err := sayWho(path); err != nil {
			return &Hold{Err: errors.Join(err, h.Release())}, nil
		}
		return h, nil
	}
	return nil, &InUseError{Name: name}
}

// isAt reports whether the file that is locked is the one of that name.
func isAt(lock *flock.Flock, path string) bool {
	held, err1 := lock.Stat()
	named, err2 := os.Stat(path)
	return err1 == nil && err2 == nil && os.SameFile(held, named)
}

// whoAt is where the text in a lock begins: Windows lets nobody but the holder's
// handle at its first byte.
const whoAt = 1

// sayWho writes into the lock who holds it. A longer text of an earlier holder stays
// behind the line break.
func sayWho(path string) error {
	f, err := os.OpenFile(path, os.O_WRONLY, 0)
	if err != nil {
		return err
	}
	host, err := os.Hostname()
	if err != nil {
		host = "this computer"
	}
	who := fmt.Sprintf("process %d on %s, since %s\n", os.Getpid(), host, time.Now().Format("2006-01-02 15:04:05"))
	_, err = f.WriteAt([]byte(who), whoAt)
	return errors.Join(err, f.Close())
}

// whoHolds reads what sayWho wrote; empty when that has not happened yet.
func whoHolds(path string) string {
	f, err := os.Open(path)
	if err != nil {
		return ""
	}
	defer f.Close()
	text := make([]byte, 300)
	n, _ := f.ReadAt(text, whoAt) // a short file ends in an error
	who, _, _ := strings.Cut(string(text[:n]), "\n")
	return strings.ToValidUTF8(who, "�")
}

// Release lets others write the case.
func (h *Hold) Release() error {
	if h == nil || h.lock == nil {
		return nil
	}
	// It is removed while it is held, so that nobody has it who opens it later; where
	// a file that is open stays, then afterwards.
	removed := os.Remove(h.lock.Path())
	err := h.lock.Unlock()
	if removed != nil && runtime.GOOS == "windows" {
		removed = os.Remove(h.lock.Path())
	}
	h.lock = nil
	return errors.Join(err, removed)
}
