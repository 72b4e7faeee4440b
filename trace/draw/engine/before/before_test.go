package before

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"testing"
	"time"
)

func TestMain(m *testing.M) {
	Done() // no library is here that package after could wait for
	os.Exit(m.Run())
}

func must(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

// library makes a folder as the library and the runtime fill it, with one sealed file in it.
func library(t *testing.T) (dir, file string) {
	t.Helper()
	dir = filepath.Join(t.TempDir(), libraryDir)
	must(t, os.MkdirAll(filepath.Join(dir, "wazero-v1"), 0o700))
	must(t, os.Chmod(filepath.Join(dir, "wazero-v1"), 0o700))
	file = filepath.Join(dir, "wazero-v1", "00ff")
	must(t, os.WriteFile(file, []byte(strings.Repeat("machine code ", 50_000)), 0o600))
	must(t, seal(dir))
	return dir, file
}

func there(path string) bool {
	_, err := os.Lstat(path)
	return !errors.Is(err, fs.ErrNotExist)
}

func TestOnlyWhatIsUndamagedIsKept(t *testing.T) {
	flip := func(at int) func(*testing.T, string) {
		return func(t *testing.T, file string) {
			b, err := os.ReadFile(file)
			must(t, err)
			if at < 0 {
				at += len(b)
			}
			b[at] ^= 1
			must(t, os.WriteFile(file, b, 0o600))
		}
	}
	for name, tt := range map[string]struct {
		damage func(t *testing.T, file string)
		kept   bool
	}{
		"nothing":        {func(*testing.T, string) {}, true},
		"the first bit":  {flip(0), false},
		"one in between": {flip(300_000), false},
		"the last":       {flip(-1), false},
		"cut":            {func(t *testing.T, file string) { must(t, os.Truncate(file, 1000)) }, false},
		"empty":          {func(t *testing.T, file string) { must(t, os.Truncate(file, 0)) }, false},
		"longer": {func(t *testing.T, file string) {
			f, err := os.OpenFile(file, os.O_APPEND|os.O_WRONLY, 0)
			must(t, err)
			_, err = f.WriteString("x")
			must(t, errors.Join(err, f.Close()))
		}, false},
		"no sum":         {func(t *testing.T, file string) { must(t, os.Remove(file+sumEnding)) }, false},
		"another sum":    {func(t *testing.T, file string) { must(t, os.WriteFile(file+sumEnding, []byte("0 0\n"), 0o600)) }, false},
		"a sum in parts": {func(t *testing.T, file string) { must(t, os.Truncate(file+sumEnding, 5)) }, false},
	} {
		t.Run(name, func(t *testing.T) {
			dir, file := library(t)
			tt.damage(t, file)
			warm, err := ready(dir)
			must(t, err)
			if warm != tt.kept || there(file) != tt.kept || there(file+sumEnding) != tt.kept {
				t.Errorf("warm %v, code there %v, sum there %v, want all %v", warm, there(file), there(file+sumEnding), tt.kept)
			}
			left, err := os.ReadDir(filepath.Dir(dir))
			must(t, err)
			if len(left) != 1 {
				t.Errorf("%v beside the library's folder", left)
			}
		})
	}
}

func TestLeftOversAreCleared(t *testing.T) {
	dir, file := library(t)
	stale, fresh := file+".1.tmp", file+".2.tmp"
	for _, name := range []string{stale, fresh} {
		must(t, os.WriteFile(name, []byte("half"), 0o600))
	}
	long := time.Now().Add(-2 * time.Hour)
	must(t, os.Chtimes(stale, long, long))
	if warm, err := ready(dir); !warm || err != nil {
		t.Errorf("warm %v, %v", warm, err)
	}
	if there(stale) {
		t.Error("what a crash left two hours ago is still there")
	}
	if !there(fresh) {
		t.Error("what another process is writing was taken away")
	}
}

func TestWhatOthersCanHaveMadeIsRefused(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("mode bits mean nothing there")
	}
	for name, change := range map[string]func(t *testing.T, dir, file string){
		"code for others to read": func(t *testing.T, _, file string) { must(t, os.Chmod(file, 0o640)) },
		"a sum for others":        func(t *testing.T, _, file string) { must(t, os.Chmod(file+sumEnding, 0o666)) },
		"a folder for others":     func(t *testing.T, _, file string) { must(t, os.Chmod(filepath.Dir(file), 0o750)) },
		"a link":                  func(t *testing.T, _, file string) { must(t, os.Symlink(file, file+"2")) },
		"a folder among files":    func(t *testing.T, _, file string) { must(t, os.Mkdir(file+"2", 0o700)) },
		"a file among folders":    func(t *testing.T, dir, _ string) { must(t, os.WriteFile(filepath.Join(dir, "x"), nil, 0o600)) },
	} {
		t.Run(name, func(t *testing.T) {
			dir, file := library(t)
			change(t, dir, file)
			if warm, err := ready(dir); err == nil || warm {
				t.Errorf("warm %v, no error", warm)
			}
			if !there(file) {
				t.Error("something was taken away")
			}
		})
	}
}

func TestFirstSafePlaceIsChosen(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("mode bits mean nothing there")
	}
	good := func(base string) candidate { return candidate{base, nil, []step{{"a", 0o022}, {libraryDir, 0o077}}} }
	first, second, open := t.TempDir(), t.TempDir(), t.TempDir()
	must(t, os.Chmod(open, 0o777))
	sticky := t.TempDir()
	must(t, os.Chmod(sticky, 0o777|fs.ModeSticky))
	taken := t.TempDir()
	must(t, os.WriteFile(filepath.Join(taken, "a"), nil, 0o600))
	for _, tt := range []struct {
		name string
		list []candidate
		want string
	}{
		{"both good", []candidate{good(first), good(second)}, first},
		{"no first", []candidate{{"", errors.New("none"), nil}, good(second)}, second},
		{"relative", []candidate{good("x"), good(second)}, second},
		{"open to all", []candidate{good(open), good(second)}, second},
		{"open and sticky", []candidate{good(sticky), good(second)}, sticky},
		{"taken", []candidate{good(taken), good(second)}, second},
		{"none", []candidate{good(taken), good(open)}, ""},
	} {
		t.Run(tt.name, func(t *testing.T) {
			got, err := choose(tt.list)
			want := place{}
			if tt.want != "" {
				want.dir = filepath.Join(tt.want, "a")
			}
			if got != want || (err == nil) != (tt.want != "") {
				t.Errorf("%+v, %v; want %+v", got, err, want)
			}
		})
	}
}

// Who ran this as root before he ran it as himself has a folder of root's in his cache.
func TestFolderOfAnotherUserIsRefused(t *testing.T) {
	if runtime.GOOS == "windows" || os.Geteuid() != 0 {
		t.Skip("only root can give a folder away")
	}
	dir := filepath.Join(t.TempDir(), "x")
	must(t, os.Mkdir(dir, 0o700))
	must(t, os.Chown(dir, 4711, -1))
	if err := ensureDir(dir, 0o077); err == nil || !strings.HasSuffix(err.Error(), "it belongs to another user") {
		t.Errorf("%v", err)
	}
}

func TestCandidatesArePrivate(t *testing.T) {
	t.Setenv("XDG_CACHE_HOME", t.TempDir())
	list := candidates()
	if len(list) != 2 || list[1].base != os.TempDir() {
		t.Fatalf("%+v", list)
	}
	for _, c := range list {
		n := len(c.steps)
		if n < 3 || c.steps[n-1] != (step{libraryDir, 0o077}) || c.steps[n-2].forbidden != 0o077 {
			t.Errorf("%+v", c)
		}
		if slices.ContainsFunc(c.steps, func(s step) bool { return s.name == "" || s.forbidden&0o022 != 0o022 }) {
			t.Errorf("%+v", c)
		}
	}
	if name := list[1].steps[0].name; name != fmt.Sprint("walkback-", os.Getuid()) {
		t.Errorf("the temporary folder is %s", name)
	}
}

func BenchmarkReady(b *testing.B) {
	dir := filepath.Join(b.TempDir(), libraryDir)
	if err := os.MkdirAll(filepath.Join(dir, "x"), 0o700); err != nil {
		b.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, "x", "00"), make([]byte, 6<<20), 0o600); err != nil {
		b.Fatal(err)
	}
	if err := seal(dir); err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if warm, err := ready(dir); !warm || err != nil {
			b.Fatal(warm, err)
		}
	}
}

// What cannot be written is told by the folder, and not by the name of a file that nobody knows.
func TestNoRoomNamesTheFolder(t *testing.T) {
	folder := filepath.Join(t.TempDir(), "none")
	err := tryToWrite(filepath.Join(folder, libraryDir))
	if !errors.Is(err, fs.ErrNotExist) || !strings.HasPrefix(err.Error(), "write into "+folder+": ") ||
		strings.Contains(err.Error(), "room.") {
		t.Errorf("%v", err)
	}
}
