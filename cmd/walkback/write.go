package main

import (
	"cmp"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"syscall"
	"time"
)

// writeFile writes a file so that it is there whole or not at all. Links are followed,
// and the mode is kept; what is no regular file is written to as it is.
func writeFile(name string, data []byte) error {
	err := writeWhole(name, data)
	if err != nil {
		// The names that the system tells are those of the temporary file.
		return fmt.Errorf("write %s: %w", name, cause(err))
	}
	return nil
}

func writeWhole(name string, data []byte) error {
	target, err := followed(name)
	if err != nil {
		return err
	}
	mode := os.FileMode(0o644)
	if st, err := os.Stat(target); err == nil {
		if !st.Mode().IsRegular() {
			return writeThrough(target, data)
		}
		mode = st.Mode().Perm()
	}
	unfinished.RLock()
	defer unfinished.RUnlock()
	dir, _ := filepath.Split(target)
	f, err := os.CreateTemp(cmp.Or(dir, "."), ".walkback-*")
	if err != nil {
		return err
	}
	_, err = f.Write(data)
	// What is renamed before it is on the disk may be empty after a power cut.
	err = errors.Join(err, f.Chmod(mode), f.Sync(), f.Close())
	if err == nil {
		err = os.Rename(f.Name(), target)
	}
	if err != nil {
		return errors.Join(err, os.Remove(f.Name()))
	}
	return nil
}

// mostLinks is how many links are followed, as on Linux.
const mostLinks = 40

// followed returns the name at the end of symbolic links, which may be that of a file
// that is not there yet.
func followed(name string) (string, error) {
	for range mostLinks {
		to, err := os.Readlink(name)
		if err != nil {
			return name, nil //nolint:nilerr // it is no link, or not there
		}
		if !filepath.IsAbs(to) {
			dir, _ := filepath.Split(name)
			to = dir + to
		}
		name = to
	}
	return "", errors.New("too many symbolic links")
}

// writeThrough writes to a device or a pipe, which cannot be renamed over. It waits a
// little for who reads from a pipe.
func writeThrough(name string, data []byte) error {
	f, err := os.OpenFile(name, os.O_WRONLY|syscall.O_NONBLOCK, 0)
	for end := time.Now().Add(time.Second); errors.Is(err, syscall.ENXIO) && time.Now().Before(end); {
		time.Sleep(10 * time.Millisecond)
		f, err = os.OpenFile(name, os.O_WRONLY|syscall.O_NONBLOCK, 0)
	}
	switch {
	case errors.Is(err, syscall.ENXIO):
		return errors.New("nothing reads from this pipe")
	case err != nil:
		return err
	}
	_, err = f.Write(data)
	return errors.Join(err, f.Close())
}
