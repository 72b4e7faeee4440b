// Package before moves the layout library's cache to a folder that nobody but this user can write to, before that
// library is initialised.
//
// github.com/goccy/go-graphviz compiles its engine in a package init and keeps the machine code under os.TempDir(), in
// a folder with a predictable name: code that would be run, in a place that any local user may have made first. An
// init cannot be told where to go, but it can be preceded: packages are initialised in the order of their import
// paths once their imports are ready (The Go Programming Language Specification, "Program initialization", Go 1.21).
// This package imports nothing that the library does not import too, and its path sorts before github.com; so it runs
// first and points the variable that os.TempDir() reads elsewhere. Package after puts the variable back.
package before

import (
	"errors"
	"os"
	"path/filepath"
)

// move is what was done to the environment, and where the library's machine code is.
type move struct {
	variable string // read by os.TempDir
	value    string // as it was
	set      bool   // whether it was set at all
	library  string // the folder with machine code, "" where none is kept
}

var done move

func init() {
	tmp, err := choose(candidates())
	done = begin(tmp)
	switch {
	case err != nil:
		tell("preparing the picture engine, as at each start; its code cannot be kept: " + oneLine(err))
	case !tmp.warm:
		tell("preparing the picture engine; this takes about 2 s, once")
	}
}

// place is a folder that the library may take for the one for temporary files.
type place struct {
	dir  string // "" for none
	warm bool   // code of this build is there, and undamaged
}

// choose returns the first of the candidates that is safe and works. Where none is, the engine is compiled in memory
// at each start: slower by about a second, and safe. The error says why.
func choose(list []candidate) (place, error) {
	var errs []error
	for _, c := range list {
		dir, err := c.folder()
		if err == nil {
			var warm bool
			if warm, err = ready(filepath.Join(dir, libraryDir)); err == nil {
				return place{dir, warm}, nil
			}
		}
		errs = append(errs, err)
	}
	return place{}, errors.Join(errs...)
}

func begin(p place) move {
	m := move{variable: tempVariable}
	m.value, m.set = os.LookupEnv(m.variable)
	if p.dir == "" {
		// No folder can be made below a device, so that the library does without one.
		p.dir = filepath.Join(os.DevNull, "none")
	} else {
		m.library = filepath.Join(p.dir, libraryDir)
	}
	// The name and the value hold no zero byte, for which alone this fails.
	_ = os.Setenv(m.variable, p.dir)
	return m
}

// Done puts the environment back as it was and keeps a sum of what the library has written.
func Done() {
	if done.set {
		_ = os.Setenv(done.variable, done.value)
	} else {
		_ = os.Unsetenv(done.variable)
	}
	if done.library != "" {
		// Without a sum the next start compiles once more, which is all that can be done about a full disk.
		_ = seal(done.library)
	}
}

// tell writes to a terminal on standard error, and to nothing else: what waits there is a person.
func tell(line string) {
	if info, err := os.Stderr.Stat(); err == nil && info.Mode()&os.ModeCharDevice != 0 {
		_, _ = os.Stderr.WriteString("walkback: " + line + "\n")
	}
}
