package engine

import (
	"context"
	"encoding/json"
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

// childVar turns the test binary into a small program that lays graphs out, or does not, and says how that went.
const childVar = "ENGINE_TEST_CHILD"

func TestMain(m *testing.M) {
	if what := os.Getenv(childVar); what != "" {
		beChild(what, os.Args[1:])
		os.Exit(0)
	}
	status := m.Run()
	if warmDir != "" {
		_ = os.RemoveAll(warmDir)
	}
	os.Exit(status)
}

const small = "digraph { a -> b }"

func beChild(what string, files []string) {
	ctx := context.Background()
	switch what {
	case "draw":
		_, err := Layout(ctx, []byte(small))
		tmp, set := os.LookupEnv("TMPDIR")
		fmt.Println(tmp, set, err)
	case "files":
		for _, name := range files {
			src, err := os.ReadFile(name)
			if err == nil {
				_, err = Layout(ctx, src)
			}
			fmt.Println(filepath.Base(name), err)
		}
		_, err := Layout(ctx, []byte(small))
		fmt.Println("small", err)
	case "cancel":
		ctx, cancel := context.WithTimeout(ctx, 100*time.Millisecond)
		defer cancel()
		begin := time.Now()
		_, err := Layout(ctx, tangle())
		_, next := Layout(ctx, []byte(small))
		fmt.Println(errors.Is(err, context.DeadlineExceeded), errors.Is(next, context.DeadlineExceeded), time.Since(begin) < 3*time.Second)
	}
}

// tangle is a graph on which the engine works for many seconds.
func tangle() []byte {
	var b strings.Builder
	b.WriteString("digraph {")
	for i := range 2500 {
		fmt.Fprintf(&b, "%d -> %d; %d -> %d;", i%500, i*7919%500, i*31%500, i*17%500)
	}
	b.WriteString("}")
	return []byte(b.String())
}

// child runs the test binary as a program of its own, with more in its environment, and returns what it prints.
func child(t *testing.T, what string, env []string, args ...string) string {
	t.Helper()
	exe, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(exe, args...)
	cmd.Env = append(os.Environ(), append(env, childVar+"="+what)...)
	out, err := cmd.CombinedOutput()
	if err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	return string(out)
}

func TestLayoutAnswersWithPositions(t *testing.T) {
	out, err := Layout(t.Context(), []byte(`digraph { rankdir=LR node [shape=box width=1 height=0.5 fixedsize=true] a -> b }`))
	if err != nil {
		t.Fatal(err)
	}
	type thing struct{ Name, Pos string }
	var got struct {
		BB      string
		Objects []thing
		Edges   []thing
	}
	if err := json.Unmarshal(out, &got); err != nil {
		t.Fatal(err)
	}
	// Recorded from Graphviz 12.1.2. In inches the arrow runs from 1.0041 to 1.3412.
	want := got
	want.BB = "0,0,180,36"
	want.Objects = []thing{{"a", "36,18"}, {"b", "144,18"}}
	want.Edges = []thing{{"", "e,107.86,18 72.296,18 80.074,18 88.426,18 96.568,18"}}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

func TestLayoutReportsWhatGraphvizSays(t *testing.T) {
	for src, want := range map[string]string{
		"digraph {": "graphviz: read the graph: syntax error in line 1",
		"":          "graphviz: read the graph: ",
	} {
		_, err := Layout(t.Context(), []byte(src))
		if err == nil || !strings.HasPrefix(err.Error(), want) || errors.Is(err, ErrGone) {
			t.Errorf("Layout(%q): %v, want %q", src, err, want)
		}
	}
	if _, err := Layout(t.Context(), []byte(small)); err != nil {
		t.Errorf("after that: %v", err)
	}
}

func TestLayoutFromManyGoroutines(t *testing.T) {
	var wg sync.WaitGroup
	out := make([]string, 8)
	for i := range out {
		wg.Go(func() {
			b, err := Layout(t.Context(), []byte("digraph { a -> b -> c; a -> c }"))
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

// The engine itself cannot be stopped; who waits for it can. So can who waits for his turn.
func TestCancelledLayoutReturnsAtOnce(t *testing.T) {
	if diff := cmp.Diff("true true true\n", child(t, "cancel", nil)); diff != "" {
		t.Error(diff)
	}
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if _, err := Layout(ctx, []byte(small)); !errors.Is(err, context.Canceled) {
		t.Errorf("%v", err)
	}
}

// The three graphs were found by laying random tangles out, each in a new process. What they do to the engine was
// seen from the runtime's errors, which the library drops: an access out of bounds that leaves the engine in order,
// one that leaves its stack pointer astray, and a call of exit.
func TestAbortsInTheEngine(t *testing.T) {
	const gone = "the layout engine broke and is gone until the program is started anew"
	for _, tt := range []struct {
		files []string
		want  string
	}{
		{[]string{"tangle.dot", "tangle.dot"}, "tangle.dot graphviz: the layout engine aborted\ntangle.dot <nil>\nsmall <nil>\n"},
		{
			[]string{"stack.dot", "stack.dot"},
			"stack.dot graphviz: the layout engine aborted (" + gone + ")\nstack.dot " + gone + "\nsmall " + gone + "\n",
		},
		{
			[]string{"exit.dot"},
			"exit.dot graphviz: lay the graph out: module closed with exit_code(1) (" + gone + ")\nsmall " + gone + "\n",
		},
	} {
		t.Run(tt.files[0], func(t *testing.T) {
			var paths []string
			for _, f := range tt.files {
				paths = append(paths, filepath.Join("testdata", f))
			}
			if diff := cmp.Diff(tt.want, child(t, "files", nil, paths...)); diff != "" {
				t.Error(diff)
			}
		})
	}
}
