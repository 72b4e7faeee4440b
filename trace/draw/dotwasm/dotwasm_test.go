package dotwasm

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
)

// childVar turns the test binary into a small program that draws, or does
// not, and says what it finds in its environment.
const childVar = "DOTWASM_TEST_CHILD"

func TestMain(m *testing.M) {
	switch os.Getenv(childVar) {
	case "draw":
		_, err := Layout(context.Background(), []byte("digraph { a -> b }"), "plain")
		fmt.Println(os.Getenv("TMPDIR"), err)
		os.Exit(0)
	case "idle":
		os.Exit(0)
	}
	os.Exit(m.Run())
}

func TestLayoutAnswersWithPositions(t *testing.T) {
	got, err := Layout(t.Context(), []byte(`digraph { rankdir=LR node [shape=box width=1 height=0.5 fixedsize=true] a -> b }`), "plain")
	if err != nil {
		t.Fatal(err)
	}
	want := strings.Join([]string{
		"graph 1 2.5 0.5",
		"node a 0.5 0.25 1 0.5 a solid box black lightgrey",
		"node b 2 0.25 1 0.5 b solid box black lightgrey",
		"edge a b 4 1.0041 0.25 1.1121 0.25 1.2281 0.25 1.3412 0.25 solid black",
		"stop", "",
	}, "\n")
	if diff := cmp.Diff(want, string(got)); diff != "" {
		t.Error(diff)
	}
}

func TestLayoutReportsWhatGraphvizSays(t *testing.T) {
	for _, tt := range []struct{ src, format, want string }{
		{"digraph {", "plain", "graphviz: read the graph: syntax error in line 1"},
		{"", "plain", "graphviz: read the graph: "},
		{"digraph {}", "nonesuch", `graphviz: render as nonesuch: Format: "nonesuch" not recognized`},
	} {
		_, err := Layout(t.Context(), []byte(tt.src), tt.format)
		if err == nil || !strings.HasPrefix(err.Error(), tt.want) {
			t.Errorf("Layout(%q, %q): %v, want %q", tt.src, tt.format, err, tt.want)
		}
	}
}

func TestLayoutStopsWhenCancelled(t *testing.T) {
	var src bytes.Buffer
	src.WriteString("digraph {")
	for i := range 2500 {
		fmt.Fprintf(&src, "%d -> %d; %d -> %d;", i%500, i*7919%500, i*31%500, i*17%500)
	}
	src.WriteString("}")
	ctx, cancel := context.WithTimeout(t.Context(), 100*time.Millisecond)
	defer cancel()
	begin := time.Now()
	_, err := Layout(ctx, src.Bytes(), "plain")
	if !errors.Is(err, context.DeadlineExceeded) {
		t.Errorf("error %v, want the deadline's", err)
	}
	if d := time.Since(begin); d > 5*time.Second {
		t.Errorf("stopped only after %v", d)
	}
	// The next layout must not suffer from the one that was stopped.
	if _, err := Layout(t.Context(), []byte("digraph { a }"), "plain"); err != nil {
		t.Error(err)
	}
}

func TestLayoutFromManyGoroutines(t *testing.T) {
	var wg sync.WaitGroup
	out := make([]string, 8)
	for i := range out {
		wg.Go(func() {
			b, err := Layout(t.Context(), []byte("digraph { a -> b -> c; a -> c }"), "plain")
			out[i] = fmt.Sprint(string(b), err)
		})
	}
	wg.Wait()
	for _, s := range out[1:] {
		if diff := cmp.Diff(out[0], s); diff != "" {
			t.Fatal(diff)
		}
	}
}

// child runs the test binary as a program with its own cache and temporary
// directories and returns what it prints.
func child(t *testing.T, what, cache, tmp string) string {
	t.Helper()
	exe, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(exe)
	cmd.Env = append(os.Environ(), childVar+"="+what, "XDG_CACHE_HOME="+cache, "TMPDIR="+tmp)
	out, err := cmd.CombinedOutput()
	if err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	return string(out)
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
	if err != nil {
		t.Fatal(err)
	}
	return names
}

func TestMachineCodeIsKeptInThePrivateCacheOnly(t *testing.T) {
	cache, tmp := t.TempDir(), t.TempDir()
	child(t, "idle", cache, tmp)
	if got := append(list(t, cache), list(t, tmp)...); len(got) > 0 {
		t.Fatalf("a program that draws nothing left %q", got)
	}
	if diff := cmp.Diff(tmp+" <nil>\n", child(t, "draw", cache, tmp)); diff != "" {
		t.Error(diff)
	}
	if got := list(t, tmp); len(got) > 0 {
		t.Errorf("left in TMPDIR: %q", got)
	}
	got := list(t, cache)
	if len(got) != 4 || got[0] != "walkback" || got[1] != "walkback/graphviz" {
		t.Fatalf("in the cache: %q", got)
	}
	for _, name := range got[:2] {
		info, err := os.Stat(filepath.Join(cache, name))
		if err != nil {
			t.Fatal(err)
		}
		if info.Mode().Perm() != 0o700 {
			t.Errorf("%s has mode %v", name, info.Mode())
		}
	}
}

func TestDamagedCacheIsThrownAway(t *testing.T) {
	cache, tmp := t.TempDir(), t.TempDir()
	child(t, "draw", cache, tmp)
	names := list(t, cache)
	code := filepath.Join(cache, names[len(names)-1])
	b, err := os.ReadFile(code)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(code, b[:len(b)/2], 0o600); err != nil {
		t.Fatal(err)
	}
	for range 2 {
		if diff := cmp.Diff(tmp+" <nil>\n", child(t, "draw", cache, tmp)); diff != "" {
			t.Error(diff)
		}
	}
}

func TestFolderMadeBySomeoneElseIsNotUsed(t *testing.T) {
	for _, tt := range []struct {
		name string
		make func(t *testing.T, cache, elsewhere string)
	}{
		{"others may write", func(t *testing.T, cache, _ string) {
			must(t, os.Mkdir(filepath.Join(cache, "walkback"), 0o700))
			must(t, os.Chmod(filepath.Join(cache, "walkback"), 0o770))
		}},
		{"others may read the inner folder", func(t *testing.T, cache, _ string) {
			must(t, os.Mkdir(filepath.Join(cache, "walkback"), 0o700))
			must(t, os.Mkdir(filepath.Join(cache, "walkback", "graphviz"), 0o700))
			must(t, os.Chmod(filepath.Join(cache, "walkback", "graphviz"), 0o755))
		}},
		{"symbolic link", func(t *testing.T, cache, elsewhere string) {
			must(t, os.Symlink(elsewhere, filepath.Join(cache, "walkback")))
		}},
		{"inner symbolic link", func(t *testing.T, cache, elsewhere string) {
			must(t, os.Mkdir(filepath.Join(cache, "walkback"), 0o700))
			must(t, os.Symlink(elsewhere, filepath.Join(cache, "walkback", "graphviz")))
		}},
		{"a file", func(t *testing.T, cache, _ string) {
			must(t, os.WriteFile(filepath.Join(cache, "walkback"), nil, 0o600))
		}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			cache, tmp, elsewhere := t.TempDir(), t.TempDir(), t.TempDir()
			tt.make(t, cache, elsewhere)
			before := list(t, cache)
			if dir, err := privateDir(cache); err == nil {
				t.Errorf("accepted %s", dir)
			}
			if testing.Short() {
				return // compiling the engine without a cache takes about a second
			}
			if diff := cmp.Diff(tmp+" <nil>\n", child(t, "draw", cache, tmp)); diff != "" {
				t.Error(diff)
			}
			after := list(t, cache)
			if len(after) > len(before)+1 { // an empty inner folder may have been made before the check
				t.Errorf("the cache grew from %q to %q", before, after)
			}
			if got := append(list(t, elsewhere), list(t, tmp)...); len(got) > 0 {
				t.Errorf("written elsewhere: %q", got)
			}
		})
	}
	if _, err := privateDir("relative"); err == nil {
		t.Error("accepted a relative cache directory")
	}
}

func must(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

// The engine must be the one that NOTICE names, and the module's own copy
// where that module is at hand.
func TestEngineIsTheOneOfTheModule(t *testing.T) {
	sum := sha256.Sum256(graphvizWASM)
	notice, err := os.ReadFile("NOTICE")
	must(t, err)
	if !bytes.Contains(notice, []byte("sha256 "+hex.EncodeToString(sum[:]))) {
		t.Errorf("NOTICE does not name the sum %x", sum)
	}
	dir, err := exec.Command("go", "list", "-m", "-f", "{{.Dir}}", "github.com/goccy/go-graphviz").Output()
	if err != nil || len(bytes.TrimSpace(dir)) == 0 {
		t.Skip("the module is not in the module cache")
	}
	original, err := os.ReadFile(filepath.Join(string(bytes.TrimSpace(dir)), "internal", "wasm", "graphviz.wasm"))
	must(t, err)
	if !bytes.Equal(original, graphvizWASM) {
		t.Error("graphviz.wasm differs from the module's; run go generate and update NOTICE")
	}
}
