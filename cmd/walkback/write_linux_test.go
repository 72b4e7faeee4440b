package main

import (
	"bytes"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"example.org/walkback/trace/bench"
)

// smallDisk mounts a disk of 64 KiB.
func smallDisk(t *testing.T) string {
	t.Helper()
	dir := t.TempDir()
	if err := syscall.Mount("tmpfs", dir, "tmpfs", 0, "size=64k"); err != nil {
		t.Skipf("only root may mount a small disk: %v", err)
	}
	t.Cleanup(func() {
		if err := syscall.Unmount(dir, 0); err != nil {
			t.Error(err)
		}
	})
	return dir
}

// TestResumeOnAFullDisk says what the disk means for the answers, before any is given.
func TestResumeOnAFullDisk(t *testing.T) {
	dir := smallDisk(t)
	name := filepath.Join(dir, "a.case")
	if err := os.WriteFile(name, []byte("board larkspur13\nsymptom dark\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	err := os.WriteFile(filepath.Join(dir, "rest"), make([]byte, 100_000), 0o600)
	if !errors.Is(err, syscall.ENOSPC) {
		t.Fatalf("the disk is not full: %v", err)
	}
	var out, diag bytes.Buffer
	status := run(t.Context(), []string{"bench", "--resume", name}, strings.NewReader("x\n"), &out, &diag)
	want := "walkback: the disk is full, so that no answer can be saved in " + name + ": make room on it before you go on\n"
	if got := strings.Join(strings.Fields(diag.String()), " ") + "\n"; status != exitOK || got != want {
		t.Errorf("status %d, it says %q, not %q", status, got, want)
	}
}

// TestAppendOnAFullDisk lets the disk run full in the middle of an answer, which is
// taken away again, and makes room.
func TestAppendOnAFullDisk(t *testing.T) {
	dir := smallDisk(t)
	name := filepath.Join(dir, "a.case")
	file, err := bench.Create(name, []string{"board b"})
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	if err := file.Append(strings.Repeat("x", 100<<10)); !errors.Is(err, syscall.ENOSPC) {
		t.Errorf("a full disk: %v", err)
	}
	contents(t, name, "board b\n")
	if err := file.Append("reading A=1V"); err != nil {
		t.Error(err)
	}
	contents(t, name, "board b\nreading A=1V\n")
}

// TestWriteFileOnAFullDisk writes more than a disk holds over a file on it.
func TestWriteFileOnAFullDisk(t *testing.T) {
	dir := smallDisk(t)
	name := filepath.Join(dir, "a.svg")
	if err := os.WriteFile(name, []byte("old"), 0o600); err != nil {
		t.Fatal(err)
	}
	err := writeFile(name, bytes.Repeat([]byte("new"), 50_000))
	if !errors.Is(err, syscall.ENOSPC) || !strings.HasPrefix(err.Error(), "write "+name+": ") || strings.Contains(err.Error(), ".walkback-") {
		t.Errorf("the error is %v", err)
	}
	contents(t, name, "old")
	left(t, dir, "a.svg")
	if err := writeFile(name, []byte("new")); err != nil {
		t.Fatal(err)
	}
	contents(t, name, "new")
}

// TestWriteFileIntoAPipe does not put a file in its place.
func TestWriteFileIntoAPipe(t *testing.T) {
	name := filepath.Join(t.TempDir(), "pipe")
	if err := syscall.Mkfifo(name, 0o600); err != nil {
		t.Fatal(err)
	}
	got := make(chan string, 1)
	go func() {
		data, err := os.ReadFile(name)
		if err != nil {
			data = []byte(err.Error())
		}
		got <- string(data)
	}()
	if err := writeFile(name, []byte("through")); err != nil {
		t.Fatal(err)
	}
	if text := <-got; text != "through" {
		t.Errorf("%q came through", text)
	}
	if st, err := os.Stat(name); err != nil || st.Mode()&os.ModeNamedPipe == 0 {
		t.Errorf("the pipe is now %v, %v", st, err)
	}
}
