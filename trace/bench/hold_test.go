package bench

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

func TestOneHoldsACase(t *testing.T) {
	dir := t.TempDir()
	name, lock := filepath.Join(dir, "a.case"), filepath.Join(dir, ".a.case.lock")
	// What a holder that was killed left behind says nothing of the next one.
	if err := os.WriteFile(lock, []byte("\x00process 1 on "+strings.Repeat("elsewhere", 20)+"\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	file, err := Create(name, Head("b", "", "", nil))
	if err != nil || file.Hold.Err != nil {
		t.Fatal(err, file.Hold.Err)
	}
	names := []string{name}
	if link := filepath.Join(dir, "link.case"); os.Symlink("a.case", link) == nil {
		names = append(names, link)
	}
	for _, n := range names {
		var used *InUseError
		if _, err := Take(n); !errors.As(err, &used) {
			t.Fatalf("%s is taken twice: %v", n, err)
		}
		host, err := os.Hostname()
		if err != nil {
			t.Fatal(err)
		}
		who := fmt.Sprintf("process %d on %s, since 2", os.Getpid(), host)
		if used.Name != n || !strings.HasPrefix(used.Who, who) || strings.Contains(used.Who, "elsewhere") {
			t.Errorf("it is told of %+v, not of %q", used, who)
		}
		if msg := used.Error(); !strings.HasPrefix(msg, n+" is in use by another bench: process ") {
			t.Errorf("%q", msg)
		}
	}
	if err := file.Append("reading A=1V"); err != nil {
		t.Error(err)
	}
	if err := file.Close(); err != nil {
		t.Fatal(err)
	}
	if _, err := os.Stat(lock); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("the lock is left behind: %v", err)
	}
	for range 2 {
		hold, err := Take(name)
		if err != nil || hold.Err != nil {
			t.Fatal(err, hold)
		}
		if err := errors.Join(hold.Release(), hold.Release()); err != nil {
			t.Fatal(err)
		}
	}
}

// TestHoldOfWhatGoesAway opens a lock that its holder removes before it can be had.
func TestHoldOfWhatGoesAway(t *testing.T) {
	name := filepath.Join(t.TempDir(), "a.case")
	if err := os.WriteFile(name, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	done := make(chan error)
	const benches, times = 4, 50
	busy := make(chan struct{}, 1) // whose one place is taken by the holder
	for range benches {
		go func() {
			var err error
			for held := 0; held < times && err == nil; {
				hold, used := Take(name)
				if used != nil {
					continue
				}
				select {
				case busy <- struct{}{}:
				default:
					err = errors.New("two hold it at once")
				}
				<-busy
				held++
				err = errors.Join(err, hold.Err, hold.Release())
			}
			done <- err
		}()
	}
	for range benches {
		if err := <-done; err != nil {
			t.Error(err)
		}
	}
}

func TestNothingToHold(t *testing.T) {
	dir := t.TempDir()
	for _, name := range []string{filepath.Join(dir, "missing.case"), os.DevNull, dir} {
		hold, err := Take(name)
		if err != nil || hold.Err != nil || hold.Release() != nil {
			t.Errorf("%s: %v, %v", name, err, hold)
		}
	}
	// A lock cannot be had where a folder has its name.
	name := filepath.Join(dir, "a.case")
	if err := errors.Join(os.WriteFile(name, nil, 0o600), os.MkdirAll(filepath.Join(dir, ".a.case.lock", "full"), 0o755)); err != nil {
		t.Fatal(err)
	}
	hold, err := Take(name)
	if err != nil || hold.Err == nil {
		t.Errorf("%v, %+v", err, hold)
	}
	if err := hold.Release(); err != nil {
		t.Error(err)
	}
}
