package main

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"syscall"
	"testing"
)

// left lists what is in a folder besides names.
func left(t *testing.T, dir string, names ...string) {
	t.Helper()
	list, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, e := range list {
		got = append(got, e.Name())
	}
	if strings.Join(got, " ") != strings.Join(names, " ") {
		t.Errorf("in the folder: %q, not %q", got, names)
	}
}

func contents(t *testing.T, name, want string) {
	t.Helper()
	data, err := os.ReadFile(name)
	if err != nil || string(data) != want {
		t.Errorf("%s holds %q, %v, not %q", name, data, err, want)
	}
}

func TestWriteFileKeepsModeAndLinks(t *testing.T) {
	dir := t.TempDir()
	if err := os.Mkdir(filepath.Join(dir, "shelf"), 0o755); err != nil {
		t.Fatal(err)
	}
	file, link := filepath.Join(dir, "shelf", "real"), filepath.Join(dir, "link")
	for _, l := range [][2]string{{filepath.Join("shelf", "second"), link}, {"real", filepath.Join(dir, "shelf", "second")}} {
		if err := os.Symlink(l[0], l[1]); err != nil {
			t.Skipf("no symbolic links here: %v", err)
		}
	}
	// The links end at a file that is not there yet, then at one that is.
	for _, text := range []string{"one", "two"} {
		if err := writeFile(link, []byte(text)); err != nil {
			t.Fatal(err)
		}
		contents(t, file, text)
		left(t, dir, "link", "shelf")
		left(t, filepath.Join(dir, "shelf"), "real", "second")
	}
	if err := os.Chmod(file, 0o600); err != nil {
		t.Fatal(err)
	}
	if err := writeFile(link, []byte("three")); err != nil {
		t.Fatal(err)
	}
	st, err := os.Stat(file)
	if err != nil {
		t.Fatal(err)
	}
	if got := st.Mode().Perm(); got != 0o600 && runtime.GOOS != "windows" {
		t.Errorf("the mode is %v", got)
	}
	contents(t, file, "three")
}

// TestWriteFileInFolderBehindALink writes to a link whose way up leads through
// another folder than the one by whose name it was reached.
func TestWriteFileInFolderBehindALink(t *testing.T) {
	dir := t.TempDir()
	if err := os.MkdirAll(filepath.Join(dir, "far", "away"), 0o755); err != nil {
		t.Fatal(err)
	}
	for _, l := range [][2]string{{filepath.Join("far", "away"), "near"},
		{filepath.Join("..", "a.svg"), filepath.Join("far", "away", "link")}} {
		if err := os.Symlink(l[0], filepath.Join(dir, l[1])); err != nil {
			t.Skipf("no symbolic links here: %v", err)
		}
	}
	if err := writeFile(filepath.Join(dir, "near", "link"), []byte("x")); err != nil {
		t.Fatal(err)
	}
	contents(t, filepath.Join(dir, "far", "a.svg"), "x")
}

// TestWriteFileNamesTheFileOfItsUser fails in each way that can be had, and keeps what
// was there.
func TestWriteFileNamesTheFileOfItsUser(t *testing.T) {
	dir := t.TempDir()
	t.Chdir(dir)
	loop := os.Symlink("loop", "loop")
	full := os.Symlink("/dev/full", "full")
	for _, c := range []struct {
		name, why string
		want      error
		skip      error
	}{
		{filepath.Join("nowhere", "a.svg"), "no such folder", fs.ErrNotExist, nil},
		{".", "a folder", syscall.EISDIR, nil},
		{"loop", "a link to itself", nil, loop},
		{"full", "a full device behind a link", syscall.ENOSPC, full},
	} {
		if c.skip != nil || c.name == "full" && runtime.GOOS != "linux" {
			t.Logf("%s: not here: %v", c.why, c.skip)
			continue
		}
		err := writeFile(c.name, []byte("x"))
		if err == nil || c.want != nil && !errors.Is(err, c.want) {
			t.Errorf("%s: %v", c.why, err)
			continue
		}
		if msg := err.Error(); !strings.HasPrefix(msg, "write "+c.name+": ") || strings.Contains(msg, ".walkback-") ||
			strings.Contains(msg, "/dev/full") {
			t.Errorf("%s: %q", c.why, msg)
		}
	}
	if os.Geteuid() == 0 {
		t.Log("root may write everywhere, so that no folder refuses")
		return
	}
	if err := errors.Join(os.Mkdir("shut", 0o755), os.WriteFile(filepath.Join("shut", "a"), []byte("old"), 0o600),
		os.Chmod("shut", 0o555)); err != nil {
		t.Fatal(err)
	}
	if err := writeFile(filepath.Join("shut", "a"), []byte("x")); !errors.Is(err, fs.ErrPermission) ||
		strings.Contains(err.Error(), ".walkback-") {
		t.Errorf("a folder that is shut: %v", err)
	}
	contents(t, filepath.Join("shut", "a"), "old")
}
