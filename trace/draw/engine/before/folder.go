package before

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"runtime/debug"
	"strconv"
	"strings"
)

// libraryDir is where the library keeps its machine code below the folder for temporary files.
const libraryDir = "go-graphviz"

// candidate is a place where a folder for machine code may be: each step is made or checked in turn.
type candidate struct {
	base  string
	err   error // why there is no base
	steps []step
}

type step struct {
	name      string
	forbidden fs.FileMode // permissions of others that make it unsafe
}

// candidates are the user's own cache, and where that is of no use a private folder among the temporary ones.
func candidates() []candidate {
	build := step{buildName(), 0o077}
	cache, err := os.UserCacheDir()
	return []candidate{
		{cache, err, []step{{"walkback", 0o022}, {"graphviz", 0o077}, build, {libraryDir, 0o077}}},
		{os.TempDir(), nil, []step{{"walkback-" + strconv.Itoa(os.Getuid()), 0o077}, build, {libraryDir, 0o077}}},
	}
}

// buildName tells builds apart whose code is not interchangeable, so that each start reads one file and not those of
// all versions that were ever installed.
func buildName() string {
	name := "untagged"
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return name
	}
	for _, dep := range info.Deps {
		if dep.Path == "github.com/tetratelabs/wazero" || dep.Path == "github.com/goccy/go-graphviz" {
			name += "-" + dep.Version
		}
	}
	return strings.TrimPrefix(name, "untagged-")
}

// folder makes and checks the steps and returns the folder above the library's own.
func (c candidate) folder() (string, error) {
	if c.err != nil {
		return "", c.err
	}
	if !filepath.IsAbs(c.base) {
		return "", fmt.Errorf("the folder %q is not absolute", c.base)
	}
	if err := os.MkdirAll(c.base, 0o700); err != nil {
		return "", err
	}
	if err := checkBase(c.base); err != nil {
		return "", err
	}
	dir := c.base
	for _, s := range c.steps {
		dir = filepath.Join(dir, s.name)
		if err := ensureDir(dir, s.forbidden); err != nil {
			return "", err
		}
	}
	return filepath.Dir(dir), nil
}

// checkBase refuses a folder in which anybody may replace what is ours by his own. In one like /tmp the sticky bit
// keeps others from that.
func checkBase(dir string) error {
	info, err := os.Stat(dir)
	if err != nil {
		return err
	}
	if openToAll(info.Mode()) {
		return fmt.Errorf("%s: anybody may replace what lies in it", dir)
	}
	return nil
}

// ensureDir makes dir, or checks that it is a real folder (no link) of this user with none of the forbidden
// permissions. A folder that fails is never put right, since whoever made it may have left something inside.
func ensureDir(dir string, forbidden fs.FileMode) error {
	if err := os.Mkdir(dir, 0o700); err != nil && !errors.Is(err, fs.ErrExist) {
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

func oneLine(err error) string { return strings.ReplaceAll(err.Error(), "\n", "; ") }
