// Package boards holds the demo boards, which are part of the program so that they work from anywhere.
package boards

import (
	"embed"
	"slices"
	"strings"
)

const suffix = ".board"

//go:embed *.board *.edid
var files embed.FS

// Names lists the demo boards in order of the alphabet.
func Names() []string {
	entries, err := files.ReadDir(".")
	if err != nil {
		panic(err) // the files are part of the program
	}
	names := make([]string, 0, len(entries))
	for _, e := range entries {
		if name, ok := strings.CutSuffix(e.Name(), suffix); ok {
			names = append(names, name)
		}
	}
	slices.Sort(names)
	return names
}

// Source returns the text of the demo board with that name.
func Source(name string) (string, bool) {
	if !slices.Contains(Names(), name) {
		return "", false
	}
	text, err := files.ReadFile(name + suffix)
	return string(text), err == nil
}

// Beside returns a file that a demo board names, such as the identity data of its
// panel.
func Beside(name string) ([]byte, error) { return files.ReadFile(name) }
