package mistake

import (
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// One place asks for the nearest right word, so that it is asked alike everywhere.
func TestOnePlaceAsksWhatWasMeant(t *testing.T) {
	var files int
	err := fs.WalkDir(os.DirFS("../.."), ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || !strings.HasSuffix(name, ".go") || strings.HasSuffix(name, "_test.go") {
			return err
		}
		text, err := os.ReadFile(filepath.Join("../..", name))
		if err != nil {
			return err
		}
		files++
		asks := strings.Contains(strings.ToLower(string(text)), "did you mean")
		if here := name == "netlist/mistake/mistake.go"; asks != here {
			t.Errorf("%s asks what was meant: %v", name, asks)
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if files < 100 {
		t.Errorf("only %d files were read", files)
	}
}
