package main

import (
	"encoding/json"
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"walkback": main})
}

// TestScripts runs the scripts in testdata/script: the commands as a user types
// them, each with input that is right and input that is not.
func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir: filepath.Join("..", "..", "testdata", "script"),
		Cmds: map[string]func(*testscript.TestScript, bool, []string){
			"status": cmdStatus,
			"json":   cmdJSON,
			"width":  cmdWidth,
			"before": cmdBefore,
			"junk":   cmdJunk,
		},
		Condition: func(cond string) (bool, error) {
			if cond == "root" {
				// Root may read and write everything, whatever the mode says.
				return os.Geteuid() == 0, nil
			}
			return false, errors.New("unknown condition " + cond)
		},
		Setup: func(env *testscript.Env) error {
			// The layout engine keeps compiled code in the user's cache; one for all
			// scripts saves compiling it for each.
			cache, err := os.UserCacheDir()
			if err == nil {
				env.Setenv("XDG_CACHE_HOME", cache)
			}
			return nil
		},
		RequireExplicitExec: true,
	})
}

// cmdStatus runs a command and checks its exit status: "status 2 walkback x".
// A command that fails without a word on either side is never right.
func cmdStatus(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: status N COMMAND ARG…")
	}
	want, err := strconv.Atoi(args[0])
	ts.Check(err)
	got := 0
	if err := ts.Exec(args[1], args[2:]...); err != nil {
		var ee *exec.ExitError
		if !errors.As(err, &ee) {
			ts.Fatalf("%v", err)
		}
		got = ee.ExitCode()
	}
	if got != want {
		ts.Fatalf("exit status %d, not %d", got, want)
	}
	if want != 0 && ts.ReadFile("stdout")+ts.ReadFile("stderr") == "" {
		ts.Fatalf("exit status %d without a word", got)
	}
	if strings.Contains(ts.ReadFile("stderr"), "goroutine ") {
		ts.Fatalf("a panic")
	}
}

// cmdJSON checks that a file is one JSON value, and that its fields at the top
// have these values: "json stdout format=walkback.trace version=1".
func cmdJSON(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 1 {
		ts.Fatalf("usage: json FILE [FIELD=VALUE]…")
	}
	d := json.NewDecoder(strings.NewReader(ts.ReadFile(args[0])))
	var top map[string]json.RawMessage
	ts.Check(d.Decode(&top))
	if d.More() {
		ts.Fatalf("there is more than one JSON value")
	}
	for _, a := range args[1:] {
		name, want, _ := strings.Cut(a, "=")
		if got := strings.Trim(string(top[name]), `"`); got != want {
			ts.Fatalf("%s is %s, not %s", name, got, want)
		}
	}
}

// cmdWidth checks that each line of a file has N columns with tabs between:
// "width stdout 4".
func cmdWidth(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 2 {
		ts.Fatalf("usage: width FILE N")
	}
	want, err := strconv.Atoi(args[1])
	ts.Check(err)
	text := ts.ReadFile(args[0])
	if text == "" {
		ts.Fatalf("no lines")
	}
	for _, l := range strings.Split(strings.TrimSuffix(text, "\n"), "\n") {
		if n := strings.Count(l, "\t") + 1; n != want {
			ts.Fatalf("%d columns, not %d: %q", n, want, l)
		}
	}
}

// cmdBefore checks that a text stands in a file before another one:
// "before stdout Cold: Powered:". The first must not come again after it.
func cmdBefore(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 3 {
		ts.Fatalf("usage: before FILE TEXT TEXT")
	}
	text := ts.ReadFile(args[0])
	i, j := strings.LastIndex(text, args[1]), strings.Index(text, args[2])
	if i < 0 || j < 0 || i > j {
		ts.Fatalf("%q at %d is not before %q at %d", args[1], i, args[2], j)
	}
}

// cmdJunk writes a file that no archive of text can hold.
func cmdJunk(ts *testscript.TestScript, neg bool, args []string) {
	contents := map[string]string{
		"long":  "board b1 " + strings.Repeat("x", 1<<20) + "\n",
		"bytes": "\x7fELF\x02\x00\x1b[31m\xff\xfe" + strings.Repeat("\x00\x90\xe8\n", 500),
	}
	if neg || len(args) != 2 || contents[args[1]] == "" {
		ts.Fatalf("usage: junk FILE long|bytes")
	}
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), []byte(contents[args[1]]), 0o644))
}
