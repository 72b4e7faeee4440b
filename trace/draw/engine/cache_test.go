package engine

import (
	"bufio"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
)

// places are the folders of one user: his cache, and the one for temporary files.
type places struct{ cache, tmp string }

func newPlaces(t *testing.T) places {
	if runtime.GOOS == "windows" {
		t.Skip("the places are set by the variables of Unix")
	}
	return places{t.TempDir(), t.TempDir()}
}

func (p places) env() []string { return []string{"XDG_CACHE_HOME=" + p.cache, "TMPDIR=" + p.tmp} }

// drawn is what a child says when all went well: the environment is as it was.
func (p places) drawn() string { return p.tmp + " true <nil>\n" }

func (p places) draw(t *testing.T) {
	t.Helper()
	if diff := cmp.Diff(p.drawn(), child(t, "draw", p.env())); diff != "" {
		t.Error(diff)
	}
}

// warm is a cache folder that a child has filled, for tests that need one. Compiling takes seconds, so they take copies.
// TestMain takes it away.
var warm = sync.OnceValues(func() (string, error) {
	dir, err := os.MkdirTemp("", "warm")
	if err != nil {
		return "", err
	}
	warmDir = dir
	exe, err := os.Executable()
	if err != nil {
		return "", err
	}
	cmd := exec.Command(exe)
	cmd.Env = append(os.Environ(), childVar+"=draw", "XDG_CACHE_HOME="+dir)
	return dir, cmd.Run()
})

var warmDir string

func warmPlaces(t *testing.T) places {
	t.Helper()
	p := newPlaces(t)
	dir, err := warm()
	must(t, err)
	must(t, copyTree(dir, p.cache))
	return p
}

func copyTree(from, to string) error {
	return filepath.WalkDir(from, func(path string, d fs.DirEntry, err error) error {
		if err != nil || path == from {
			return err
		}
		target := filepath.Join(to, strings.TrimPrefix(path, from))
		if d.IsDir() {
			return os.Mkdir(target, 0o700)
		}
		b, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		return os.WriteFile(target, b, 0o600)
	})
}

func must(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

func list(t *testing.T, dir string) []string {
	t.Helper()
	var names []string
	err := filepath.WalkDir(dir, func(path string, _ os.DirEntry, err error) error {
		if path != dir {
			names = append(names, strings.TrimPrefix(path, dir+"/"))
		}
		return err
	})
	must(t, err)
	return names
}

// code returns the one file of machine code in a cache and the one with its sum.
func code(t *testing.T, dir string) (file, sum string) {
	t.Helper()
	for _, name := range list(t, dir) {
		if info, err := os.Stat(filepath.Join(dir, name)); err != nil || info.IsDir() {
			continue
		}
		if rest, ok := strings.CutSuffix(name, ".sum"); ok {
			sum = rest
		} else if file == "" {
			file = name
		} else {
			t.Fatalf("two files, %s and %s", file, name)
		}
	}
	if file == "" || file != sum {
		t.Fatalf("machine code in %q, the sum of %q", file, sum)
	}
	return filepath.Join(dir, file), filepath.Join(dir, sum+".sum")
}

func TestMachineCodeIsKeptInThePrivateCacheOnly(t *testing.T) {
	p := newPlaces(t)
	p.draw(t)
	if got := list(t, p.tmp); len(got) > 0 {
		t.Errorf("left in TMPDIR: %q", got)
	}
	file, _ := code(t, p.cache)
	if !strings.HasPrefix(file, filepath.Join(p.cache, "walkback", "graphviz")) {
		t.Errorf("the code is at %s", file)
	}
	for _, name := range list(t, p.cache) {
		info, err := os.Stat(filepath.Join(p.cache, name))
		must(t, err)
		if info.Mode().Perm()&0o077 != 0 {
			t.Errorf("%s has mode %v", name, info.Mode())
		}
	}
	before, err := os.Stat(file)
	must(t, err)
	p.draw(t)
	after, err := os.Stat(file)
	must(t, err)
	if !after.ModTime().Equal(before.ModTime()) {
		t.Error("the second start compiled once more")
	}
}

func TestEnvironmentIsPutBack(t *testing.T) {
	p := warmPlaces(t)
	must(t, os.Rename(filepath.Join(p.cache, "walkback"), filepath.Join(p.tmp, "walkback")))
	for _, tt := range []struct{ setting, want string }{
		{"TMPDIR=" + p.tmp, p.tmp + " true <nil>\n"},
		{"TMPDIR=/no/such/folder", "/no/such/folder true <nil>\n"},
		{"TMPDIR=", " true <nil>\n"},
		{"X=", " false <nil>\n"},
	} {
		exe, err := os.Executable()
		must(t, err)
		cmd := exec.Command(exe)
		cmd.Env = slices.DeleteFunc(os.Environ(), func(s string) bool { return strings.HasPrefix(s, "TMPDIR=") })
		cmd.Env = append(cmd.Env, childVar+"=draw", "XDG_CACHE_HOME="+p.tmp, tt.setting)
		out, err := cmd.CombinedOutput()
		must(t, err)
		if diff := cmp.Diff(tt.want, string(out)); diff != "" {
			t.Errorf("with %s: %s", tt.setting, diff)
		}
	}
}

// All of it has to heal, in the start that finds it, since the library's init panics on what it cannot read. Which files
// are thrown away package before tests without compiling.
func TestDamagedCacheIsMadeAnew(t *testing.T) {
	for name, damage := range map[string]func(t *testing.T, file, sum string){
		"cut in half": func(t *testing.T, file, _ string) { must(t, os.Truncate(file, 3<<20)) },
		"a bit of the table of functions": func(t *testing.T, file, _ string) {
			b, err := os.ReadFile(file)
			must(t, err)
			b[12000] ^= 0x10
			must(t, os.WriteFile(file, b, 0o600))
		},
		"a sum of something else": func(t *testing.T, _, sum string) { must(t, os.WriteFile(sum, []byte("00000000 6\n"), 0o600)) },
	} {
		t.Run(name, func(t *testing.T) {
			p := warmPlaces(t)
			file, sum := code(t, p.cache)
			good, err := os.ReadFile(file)
			must(t, err)
			damage(t, file, sum)
			p.draw(t)
			got, err := os.ReadFile(file)
			must(t, err)
			if !slices.Equal(got, good) {
				t.Error("the file did not become what it was")
			}
			info, err := os.Stat(file)
			must(t, err)
			p.draw(t)
			again, err := os.Stat(file)
			must(t, err)
			if !again.ModTime().Equal(info.ModTime()) {
				t.Error("it did not stay so")
			}
		})
	}
}

func TestTwoStartsAtOnce(t *testing.T) {
	p := newPlaces(t)
	var wg sync.WaitGroup
	for range 2 {
		wg.Go(func() {
			if got := child(t, "draw", p.env()); got != p.drawn() {
				t.Errorf("%q", got)
			}
		})
	}
	wg.Wait()
	file, _ := code(t, p.cache)
	before, err := os.Stat(file)
	must(t, err)
	p.draw(t)
	after, err := os.Stat(file)
	must(t, err)
	if !after.ModTime().Equal(before.ModTime()) {
		t.Error("what the two left had to be made anew")
	}
}

func TestFolderMadeBySomeoneElseIsNotUsed(t *testing.T) {
	inner := filepath.Join("walkback", "graphviz")
	for _, tt := range []struct {
		name string
		make func(t *testing.T, cache, elsewhere string)
	}{
		{"others may write", func(t *testing.T, cache, _ string) {
			must(t, os.Chmod(filepath.Join(cache, "walkback"), 0o770))
		}},
		{"others may read the inner folder", func(t *testing.T, cache, _ string) {
			must(t, os.Chmod(filepath.Join(cache, inner), 0o755))
		}},
		{"others may read the runtime's folder", func(t *testing.T, cache, _ string) {
			file, _ := code(t, cache)
			must(t, os.Chmod(filepath.Dir(file), 0o755))
		}},
		{"others may write the code", func(t *testing.T, cache, _ string) {
			file, _ := code(t, cache)
			must(t, os.Chmod(file, 0o666))
		}},
		{"symbolic link", func(t *testing.T, cache, elsewhere string) {
			must(t, os.Rename(filepath.Join(cache, "walkback"), filepath.Join(elsewhere, "walkback")))
			must(t, os.Symlink(filepath.Join(elsewhere, "walkback"), filepath.Join(cache, "walkback")))
		}},
		{"inner symbolic link", func(t *testing.T, cache, elsewhere string) {
			must(t, os.Rename(filepath.Join(cache, inner), filepath.Join(elsewhere, "graphviz")))
			must(t, os.Symlink(filepath.Join(elsewhere, "graphviz"), filepath.Join(cache, inner)))
		}},
		{"the code is a symbolic link", func(t *testing.T, cache, elsewhere string) {
			file, _ := code(t, cache)
			must(t, os.Rename(file, filepath.Join(elsewhere, "code")))
			must(t, os.Symlink(filepath.Join(elsewhere, "code"), file))
		}},
		{"a file", func(t *testing.T, cache, _ string) {
			must(t, os.RemoveAll(filepath.Join(cache, "walkback")))
			must(t, os.WriteFile(filepath.Join(cache, "walkback"), nil, 0o600))
		}},
		{"of another user", func(t *testing.T, cache, _ string) {
			if os.Geteuid() != 0 {
				t.Skip("only root can give a folder away")
			}
			must(t, os.Chown(filepath.Join(cache, "walkback"), 4711, -1))
		}},
		{"anybody may replace it", func(t *testing.T, cache, _ string) { must(t, os.Chmod(cache, 0o777)) }},
	} {
		t.Run(tt.name, func(t *testing.T) {
			p := warmPlaces(t)
			elsewhere := t.TempDir()
			tt.make(t, p.cache, elsewhere)
			// The temporary folder of this user holds good code already, so that nothing has to be compiled.
			dir, err := warm()
			must(t, err)
			private := filepath.Join(p.tmp, privateName())
			must(t, os.Mkdir(private, 0o700))
			must(t, copyTree(filepath.Join(dir, inner), private))
			file, _ := code(t, private)
			long := time.Now().Add(-time.Hour)
			must(t, os.Chtimes(file, long, long))
			states := func() []string { return append(times(t, p.cache), times(t, elsewhere)...) }
			before := states()
			p.draw(t)
			if diff := cmp.Diff(before, states()); diff != "" {
				t.Errorf("something was touched:\n%s", diff)
			}
			if info, err := os.Stat(file); err != nil || !info.ModTime().Round(time.Second).Equal(long.Round(time.Second)) {
				t.Errorf("the code in the private temporary folder was not used: %v", err)
			}
		})
	}
}

// times lists the files below a folder with the time of their last change.
func times(t *testing.T, dir string) []string {
	var out []string
	for _, name := range list(t, dir) {
		info, err := os.Lstat(filepath.Join(dir, name))
		must(t, err)
		out = append(out, name+" "+info.Mode().String()+" "+info.ModTime().String())
	}
	return out
}

// privateName is the name of the private folder among the temporary ones.
func privateName() string { return "walkback-" + strconv.Itoa(os.Getuid()) }

func TestNoPlaceAtAllCompilesInMemory(t *testing.T) {
	p := newPlaces(t)
	must(t, os.WriteFile(filepath.Join(p.cache, "walkback"), nil, 0o600))
	must(t, os.WriteFile(filepath.Join(p.tmp, privateName()), nil, 0o600))
	p.draw(t)
	if got := append(list(t, p.cache), list(t, p.tmp)...); len(got) != 2 {
		t.Errorf("something was written: %q", got)
	}
}

// initLine is what the Go runtime writes of each init with GODEBUG=inittrace=1.
var initLine = regexp.MustCompile(`^init (\S+) @`)

// The order of package initialisation is what the safety of the cache rests on: first the move, then nothing of others
// but what the library's engine needs, then the way back.
func TestCacheIsMovedBeforeTheLibraryRuns(t *testing.T) {
	p := warmPlaces(t)
	var order []string
	in := bufio.NewScanner(strings.NewReader(child(t, "draw", append(p.env(), "GODEBUG=inittrace=1"))))
	for in.Scan() {
		if m := initLine.FindStringSubmatch(in.Text()); m != nil {
			order = append(order, m[1])
		}
	}
	must(t, in.Err())
	const ours, theirs = "example.org/walkback/trace/draw/engine/", "github.com/goccy/go-graphviz/"
	place := func(name string) int {
		i := slices.Index(order, name)
		if i < 0 {
			t.Fatalf("no init of %s in %q", name, order)
		}
		return i
	}
	first, engine, last := place(ours+"before"), place(theirs+"internal/wasm"), place(ours+"after")
	if first > engine || engine > last {
		t.Errorf("before is at %d, the engine at %d, after at %d", first, engine, last)
	}
	for _, name := range order[first+1 : last] {
		standard := strings.HasPrefix(name, "vendor/") || !strings.Contains(name, ".")
		if !standard && !strings.HasPrefix(name, theirs) && !strings.HasPrefix(name, "github.com/tetratelabs/wazero/") {
			t.Errorf("%s ran with the moved variable", name)
		}
	}
}

// Package before is sure to be ready when the library is, since the library needs all that it needs.
func TestBeforeNeedsNothingThatTheLibraryDoesNot(t *testing.T) {
	deps := func(pkg string) []string {
		out, err := exec.Command("go", "list", "-deps", pkg).Output()
		must(t, err)
		return strings.Fields(string(out))
	}
	const own = "example.org/walkback/trace/draw/engine/before"
	library := deps("github.com/goccy/go-graphviz/internal/wasm")
	list := deps(own)
	if len(list) < 10 || len(library) < 50 {
		t.Fatalf("only %d and %d packages", len(list), len(library))
	}
	for _, pkg := range list {
		if pkg != own && !slices.Contains(library, pkg) {
			t.Errorf("the library does not import %s", pkg)
		}
	}
}
