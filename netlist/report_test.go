package netlist

import (
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"unicode/utf8"
	"unsafe"

	"example.org/walkback/netlist/mistake"
	"example.org/walkback/netlist/say"
	"github.com/google/go-cmp/cmp"
)

// codesInSource finds the codes that Go files give to problems: the strings in
// calls that report one, and the Code fields.
func codesInSource(t *testing.T, globs ...string) []string {
	t.Helper()
	var paths []string
	for _, glob := range globs {
		list, err := filepath.Glob(glob)
		if err != nil || len(list) == 0 {
			t.Fatalf("%s: %v, %v", glob, list, err)
		}
		paths = append(paths, list...)
	}
	looks := regexp.MustCompile(`^[a-z]+(-[a-z]+)*$`)
	found := map[string]bool{}
	note := func(e ast.Expr) bool {
		lit, ok := e.(*ast.BasicLit)
		if !ok || lit.Kind != token.STRING {
			return false
		}
		if s, _ := strconv.Unquote(lit.Value); looks.MatchString(s) {
			found[s] = true
		}
		return true
	}
	for _, path := range paths {
		if strings.HasSuffix(path, "_test.go") {
			continue
		}
		file, err := parser.ParseFile(token.NewFileSet(), path, nil, 0)
		if err != nil {
			t.Fatal(err)
		}
		ast.Inspect(file, func(n ast.Node) bool {
			switch n := n.(type) {
			case *ast.CallExpr:
				name := ""
				switch f := n.Fun.(type) {
				case *ast.SelectorExpr:
					name = f.Sel.Name
				case *ast.Ident:
					name = f.Name
				}
				if slices.Contains([]string{"fail", "add", "problem", "Problem", "warn"}, name) {
					for _, a := range n.Args {
						if note(a) {
							break // the code is the first string
						}
					}
				}
			case *ast.KeyValueExpr:
				if key, ok := n.Key.(*ast.Ident); ok && key.Name == "Code" {
					note(n.Value)
				}
			}
			return true
		})
	}
	var out []string
	for code := range found {
		out = append(out, code)
	}
	slices.Sort(out)
	return out
}

// TestEveryCodeIsTested fails when a code is added and no row shows it.
func TestEveryCodeIsTested(t *testing.T) {
	// These have no place in the text; they are tested below.
	tested := map[string]bool{"no-board": true, "no-ground": true, "no-supply": true, "too-big": true, "long-line": true}
	for _, rows := range problemTables {
		for _, row := range rows {
			tested[row.code] = true
		}
	}
	codes := codesInSource(t, "*.go")
	if len(codes) < 30 {
		t.Fatalf("found only the codes %v", codes)
	}
	for _, code := range codes {
		if !tested[code] {
			t.Errorf("no test shows the problem %s", code)
		}
		delete(tested, code)
	}
	for code := range tested {
		t.Errorf("the package has no problem %s", code)
	}
}

// TestEveryCodeIsListed compares the codes that checks of a board file give, here
// and in the packages that look further, with the list for users.
func TestEveryCodeIsListed(t *testing.T) {
	found := codesInSource(t, "*.go", "../trace/check.go", "../trace/predict/check.go", "../trace/panel/fit.go")
	slices.Sort(found)
	var listed []string
	for _, c := range Codes {
		listed = append(listed, c.Name)
		if c.Doc == "" {
			t.Errorf("%s has no meaning", c.Name)
		}
	}
	if diff := cmp.Diff(slices.Compact(found), listed); diff != "" {
		t.Errorf("(-in the source +listed):\n%s", diff)
	}
}

func TestProblemsOfTheFileAsAWhole(t *testing.T) {
	for _, row := range []struct {
		src  string
		want []string
	}{
		{"", []string{"test.board: error: the file does not say which board it describes"}},
		{"board b \"B\"\n", []string{"test.board: error: no net is ground", "test.board: error: the board has no supply, so no walk can end"}},
		{"board b \"B\"\nnet G ground\n", []string{"test.board: error: the board has no supply, so no walk can end",
			`test.board:2:5: warning: nothing is joined to the net G`}},
	} {
		_, problems := Read("test.board", row.src)
		var got []string
		for _, p := range problems {
			got = append(got, p.Error())
		}
		if diff := cmp.Diff(row.want, got); diff != "" {
			t.Errorf("%q (-want +got):\n%s", row.src, diff)
		}
	}
}

func TestLimits(t *testing.T) {
	// Only the length is looked at, so the zeros are never touched and cost no
	// memory.
	zeros := make([]byte, MaxFileBytes+1)
	f, problems := Parse("big.board", unsafe.String(&zeros[0], len(zeros)))
	if len(problems) != 1 || problems[0].Code != "too-big" || len(f.Lines) != 0 {
		t.Errorf("a file over the limit: %v", problems)
	}
	line := "# " + strings.Repeat("ä", MaxLineBytes/2-1)
	if _, problems = Parse("test.board", line+"\n"+line); len(problems) != 0 {
		t.Errorf("lines of just the limit: %d problems, the first: %s", len(problems), problems[0].Error())
	}
	_, problems = Parse("test.board", "net A 3V\n"+line+"ä\nnet B 3V\n")
	if len(problems) != 1 || problems[0].Code != "long-line" || problems[0].Line != 2 || problems[0].Column != 1 {
		t.Errorf("a line over the limit: %v", problems)
	}
	if n := len(problems[0].Report()); n > 1000 {
		t.Errorf("the report of a long line has %d bytes", n)
	}
	if _, problems = Read("test.board", head+"leds DS1 V -> K1..K4096\n"); mistake.HasErrors(problems) {
		t.Errorf("a range of just the limit: %v", problems[0])
	}
	cond := strings.Repeat("(", MaxNesting) + "V" + strings.Repeat(")", MaxNesting)
	if _, problems = Read("test.board", head+"panel DS1 vdd=V\n  makes F when "+cond+"\n"); mistake.HasErrors(problems) {
		t.Errorf("a condition of just the limit: %v", problems[0])
	}
}

// TestRangesOfAFileTogether checks that a small file cannot ask for endless nets.
func TestRangesOfAFileTogether(t *testing.T) {
	var src strings.Builder
	src.WriteString(head)
	for i := range maxRanged/MaxRange + 1 {
		fmt.Fprintf(&src, "net A%d_1..A%d_4096 3V\n", i, i)
	}
	_, problems := Read("test.board", src.String())
	if !slices.ContainsFunc(problems, func(p mistake.Mistake) bool { return p.Code == "range" }) {
		t.Error("the ranges of the file write out too much, and nothing says so")
	}
}

func TestTooManyProblemsAreCutOff(t *testing.T) {
	for story, line := range map[string]string{
		"of syntax":  "fuse =\n",
		"of meaning": "fuze F1 A -> B\n",
		"of sense":   "fuse QX V -> V2 \n",
	} {
		var src strings.Builder
		src.WriteString(head)
		for i := range 2000 {
			src.WriteString(strings.Replace(line, "QX", fmt.Sprintf("Q%d", i), 1))
		}
		_, problems := Read("test.board", src.String())
		if n := len(problems); n < 100 || n > 2*maxProblems+2 {
			t.Errorf("%s: %d problems, want no more than a person can read", story, n)
		}
	}
}

func TestWarningsNeverCrowdOutAnError(t *testing.T) {
	var src strings.Builder
	src.WriteString(head)
	for i := range 2 * maxProblems {
		fmt.Fprintf(&src, "fuse Q%d V -> V2\n", i)
	}
	src.WriteString("panel DS1 vdd=G\n")
	_, problems := Read("test.board", src.String())
	if !mistake.HasErrors(problems) {
		t.Errorf("%d problems, and the error is not among them", len(problems))
	}
}

func TestReportShowsTheWords(t *testing.T) {
	long := strings.Repeat("A,", 100)
	for _, row := range []struct{ story, src, want string }{
		{"plain", head + "fues F1 A -> B\n", `test.board:6:1: error: unknown word "fues" [unknown-kind]
    fues F1 A -> B
    ^^^^
    expected a kind of part or a statement word (walkback kinds lists them); did you mean "fuse"?
`},
		{"tabs", head + "fuse\tF1\tV\t->\tA\trating=2V\n", `test.board:6:23: error: "2V" is not a current such as 3A or 20mA: it is in V [value]
    fuse F1 V -> A rating=2V
                          ^^
    expected a current such as 3A or 20mA
`},
		{"letters of several bytes", head + "net ШИНА 3V \"питание\" свинг=1V\n",
			`test.board:6:23: error: a net has no attribute "свинг" [unknown-attribute]
    net ШИНА 3V "питание" свинг=1V
                          ^^^^^
    expected one of swing, rate, cold, diode
`},
		{"a letter of several bytes at the end", head + "state Ö Ü\n",
			`test.board:6:9: error: the state Ö has fewer than two values [state-values]
    state Ö Ü
            ^
    expected state NAME VALUE VALUE…
`},
		{"bytes that are no letters", "net A 3V # \xff\n", `test.board:1:12: error: the byte 0xff has no place in a board file [bad-character]
    net A 3V # ` + "\uFFFD" + `
               ^
    expected text in UTF-8
`},
		{"a mark before the first line", bom + "fuze F1 A -> B\nboard b\n", `test.board:1:1: error: unknown word "fuze" [unknown-kind]
    fuze F1 A -> B
    ^^^^
    expected a kind of part or a statement word (walkback kinds lists them); did you mean "fuse"?
`},
		{"far out on a long line", head + "choke FL1 " + long + "\"B\" -> C" + strings.Repeat(" # why", 20) + "\n",
			`test.board:6:211: error: a net's name is not written in quotes [name]
    ` + strings.Repeat("A,", 10) + `"B" -> C` + strings.Repeat(" # why", 11) + ` #
    ` + strings.Repeat(" ", 20) + `^^^
    expected a word
`},
	} {
		t.Run(row.story, func(t *testing.T) {
			_, problems := Read("test.board", row.src)
			if len(problems) == 0 {
				t.Fatal("no problems")
			}
			for _, p := range problems {
				if !mistake.HasErrors([]mistake.Mistake{p}) {
					continue
				}
				if diff := cmp.Diff(row.want, p.Report()); diff != "" {
					t.Errorf("(-want +got):\n%s", diff)
				}
				break
			}
		})
	}
}

// TestCaretsStandUnderTheWords checks, for every row of the tables, that what
// stands above the carets is what the problem is about.
func TestCaretsStandUnderTheWords(t *testing.T) {
	for _, rows := range problemTables {
		for _, row := range rows {
			src, _, _, _ := place(t, row.src)
			_, problems := Read("test.board", src)
			for _, p := range problems {
				lines := strings.Split(p.Report(), "\n")
				if p.Line == 0 || p.Text == "" {
					continue
				}
				shown, carets := []rune(lines[1]), lines[2]
				from, width := strings.IndexByte(carets, '^'), strings.Count(carets, "^")
				text := []rune(p.Text)
				if !utf8.ValidString(p.Text) || len(text) > 110 {
					continue
				}
				var under string
				if from+width <= len(shown) {
					under = string(shown[from : from+width])
				}
				about := string(text[min(p.Column-1, len(text)):min(p.Column-1+p.Width, len(text))])
				if clean := strings.Map(blankControls, about); under != clean {
					t.Errorf("%q: the carets stand under %q, the problem is about %q", row.src, under, clean)
				}
			}
		}
	}
}

func blankControls(r rune) rune {
	switch {
	case r < ' ' || r == 0x7f:
		return ' '
	case say.Hidden(r):
		return utf8.RuneError
	}
	return r
}
