package main

import (
	"bytes"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
)

// TestWriteFileOnAFullDisk writes more than a disk holds over a file on it.
func TestWriteFileOnAFullDisk(t *testing.T) {
	dir := t.TempDir()
	if err := syscall.Mount("tmpfs", dir, "tmpfs", 0, "size=64k"); err != nil {
		t.Skipf("only root may mount a small disk: %v", err)
	}
	t.Cleanup(func() {
		if err := syscall.Unmount(dir, 0); err != nil {
			t.Error(err)
		}
	})
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
