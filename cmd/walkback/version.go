package main

import (
	"runtime/debug"
	"strings"
)

// version is what the build knows of itself: the module's version, or the commit
// it was built from, with a mark when the tree had changes.
func version() string {
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return "unknown"
	}
	v := info.Main.Version
	if v == "" || v == "(devel)" {
		v = "development"
	}
	var commit, changed string
	for _, s := range info.Settings {
		switch {
		case s.Key == "vcs.revision":
			commit = s.Value[:min(len(s.Value), 12)]
		case s.Key == "vcs.modified" && s.Value == "true":
			changed = ", with changes"
		}
	}
	if commit != "" && !strings.Contains(v, commit) {
		v += " (commit " + commit + changed + ")"
	}
	return v
}
