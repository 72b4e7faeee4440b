package dotwasm

import (
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
)

// cacheDir returns a folder for machine code that nobody but this user can have
// written to. Where there is none, the engine is compiled in memory each time:
// slower by about a second, and safe.
func cacheDir() (string, error) {
	base, err := os.UserCacheDir()
	if err != nil {
		return "", err
	}
	return privateDir(base)
}

// privateDir makes base/walkback/graphviz and checks both folders. What is
// there already is accepted only as a real folder (no link) that belongs to
// this user and that nobody else may write to; the inner one, with the machine
// code, must be closed to others altogether. A folder that fails is never put
// right, since whoever made it may have left something inside.
func privateDir(base string) (string, error) {
	if !filepath.IsAbs(base) {
		return "", fmt.Errorf("cache directory %q is not absolute", base)
	}
	if err := os.MkdirAll(base, 0o700); err != nil {
		return "", err
	}
	outer := filepath.Join(base, "walkback")
	if err := ensureDir(outer, 0o022); err != nil {
		return "", err
	}
	inner := filepath.Join(outer, "graphviz")
	return inner, ensureDir(inner, 0o077)
}

// ensureDir makes dir, or checks that it is a folder of this user with none of
// the forbidden permissions.
func ensureDir(dir string, forbidden fs.FileMode) error {
	if err := os.Mkdir(dir, 0o700); err != nil && !os.IsExist(err) {
		return err
	}
	info, err := os.Lstat(dir)
	if err != nil {
		return err
	}
	if !info.IsDir() {
		return fmt.Errorf("%s is not a folder", dir)
	}
	if err := checkOwner(info, forbidden); err != nil {
		return fmt.Errorf("%s: %w", dir, err)
	}
	return nil
}
