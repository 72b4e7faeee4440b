package netlist

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// outline prints what was parsed, a line for each statement: its words with |
// between them, then its rules, each after a /. It shows what belongs together,
// with no regard to the layout.
func outline(f *File) []string {
	words := func(args []Arg) string {
		list := make([]string, len(args))
		for i, a := range args {
			list[i] = f.word(a)
		}
		return strings.Join(list, "|")
	}
	var out []string
	for st := range f.Statements() {
		line := words(st.Args)
		for _, r := range st.Rules {
			line += " / " + words(r)
		}
		out = append(out, line)
	}
	return out
}

func parseClean(t testing.TB, src string) *File {
	t.Helper()
	f, problems := Parse("test.board", src)
	for _, p := range problems {
		t.Errorf("%s", p.Report())
	}
	return f
}

func TestParse(t *testing.T) {
	for _, row := range []struct {
		story, src string
		want       []string
	}{
		{"nothing at all", "", nil},
		{"only remarks", "# a\n\n   # b\n", nil},
		{"a statement", "fuse F1 A -> B rating=3A\n", []string{"fuse|F1|A|->|B|rating=3A"}},
		{"no newline at the end", "fuse F1 A -> B", []string{"fuse|F1|A|->|B"}},
		{"line ends of another system", "fuse F1 A -> B\r\nnet A 3V\r\n", []string{"fuse|F1|A|->|B", "net|A|3V"}},
		{"a byte order mark first", "\uFEFFnet A 3V\n", []string{"net|A|3V"}},
		{"tabs for spaces", "fuse\tF1\tA\t->\tB\trating=3A\t\n", []string{"fuse|F1|A|->|B|rating=3A"}},
		{"no spaces round the arrow", "fuse F1 A->B\n", []string{"fuse|F1|A|->|B"}},
		{"spaces round the equals sign", "fuse F1 A -> B rating = 3A r= 25m l =1u\n", []string{"fuse|F1|A|->|B|rating=3A|r=25m|l=1u"}},
		{"spaces in a list", "choke L1 A , B -> C ,D\n", []string{"choke|L1|A,B|->|C,D"}},
		{"ranges", "boost U1 sink=K1..K4,K9 in=A\n", []string{"boost|U1|sink=K1..K4,K9|in=A"}},
		{"a short range", "boost U1 sink=K1..4\n", []string{"boost|U1|sink=K1..4"}},
		{"pin numbers", "rom U1 scl@6=CLK vdd@8=V3\n", []string{"rom|U1|scl@6=CLK|vdd@8=V3"}},
		{"names with signs in them", "net BL_ON# 3V\nnet A.CLK 1V\nnet +3V3-X 3V\nnet /RST 3V\n",
			[]string{"net|BL_ON#|3V", "net|A.CLK|1V", "net|+3V3-X|3V", "net|/RST|3V"}},
		{"names in other scripts", "net ОСНОВА 3V\nnet 背光 3V\n", []string{"net|ОСНОВА|3V", "net|背光|3V"}},
		{"quoted texts", `board b "say \"hi\" \\ # no remark"` + "\n", []string{`board|b|"say \"hi\" \\ # no remark"`}},
		{"a remark behind a statement", "net A 3V # rail\n", []string{"net|A|3V"}},
		{"an indented line goes on", "boost U1 in=A\n    lx=B\n\tout=C\n", []string{"boost|U1|in=A|lx=B|out=C"}},
		{"blank lines and remarks inside a statement", "boost U1 in=A\n\n  # why\n  lx=B\n", []string{"boost|U1|in=A|lx=B"}},
		{"rules under a statement", "source U1 vdd=A\n  drives B when C\n  makes D\nnet A 3V\n",
			[]string{"source|U1|vdd=A / drives|B|when|C / makes|D", "net|A|3V"}},
		{"a rule goes on", "source U1 vdd=A\n  drives B when C\n     & D\n", []string{"source|U1|vdd=A / drives|B|when|C|&|D"}},
		{"signs of conditions", "source U1\n  makes F when !(A&B)|C && D || lid=open\n",
			[]string{"source|U1 / makes|F|when|!|(|A|&|B|)|||C|&|D|||lid=open"}},
		{"spaces round = in a condition", "source U1\n  makes F when lid = open&!( power=run )\n",
			[]string{"source|U1 / makes|F|when|lid=open|&|!|(|power=run|)"}},
	} {
		t.Run(row.story, func(t *testing.T) {
			if diff := cmp.Diff(row.want, outline(parseClean(t, row.src))); diff != "" {
				t.Errorf("%q (-want +got):\n%s", row.src, diff)
			}
		})
	}
}

// TestEveryArgumentKeepsItsPlace checks the spans, on which all messages rest.
func TestEveryArgumentKeepsItsPlace(t *testing.T) {
	src := "net Ω_RAIL 3V\nfuse F1 A -> B rating = 3A \"x\" # end\n"
	f := parseClean(t, src)
	type place struct {
		Text      string
		Line, Col int
	}
	var got []place
	for _, l := range f.Lines {
		for _, a := range f.LineArgs(l) {
			line, col := f.Position(a.Span.Start)
			got = append(got, place{f.Text(a.Span), line, col})
		}
	}
	want := []place{
		{"net", 1, 1}, {"Ω_RAIL", 1, 5}, {"3V", 1, 12}, // columns count letters, not bytes
		{"fuse", 2, 1}, {"F1", 2, 6}, {"A", 2, 9}, {"->", 2, 11}, {"B", 2, 14}, {"rating = 3A", 2, 16}, {`"x"`, 2, 28},
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("places (-want +got):\n%s", diff)
	}
	if got := f.Text(f.Lines[1].Comment); got != "# end" {
		t.Errorf("the remark is %q", got)
	}
}

func TestALineThatIsLeftOutTakesItsRulesAlong(t *testing.T) {
	// Only the broken line is reported; what stands under it is not blamed on
	// the statement above.
	f, problems := Parse("test.board", "fuse F1 A -> B\nconnector J1 \"x\n    pin 1 A -> B\n    side=top\nnet A 3V\n")
	if len(problems) != 1 || problems[0].Code != "quote" || problems[0].Line != 2 {
		t.Errorf("problems: %v", problems)
	}
	if diff := cmp.Diff([]string{"fuse|F1|A|->|B", "net|A|3V"}, outline(f)); diff != "" {
		t.Errorf("statements (-want +got):\n%s", diff)
	}
}

func TestStatementsCanBeLeftEarly(t *testing.T) {
	f := parseClean(t, "net A 3V\nnet B 3V\nnet C 3V\n")
	n := 0
	for range f.Statements() {
		if n++; n == 2 {
			break
		}
	}
	if n != 2 {
		t.Errorf("%d statements before the break, want 2", n)
	}
}

func TestUnquote(t *testing.T) {
	for _, row := range [][2]string{
		{`""`, ""}, {`"a b"`, "a b"}, {`"say \"hi\""`, `say "hi"`}, {`"back\\slash"`, `back\slash`}, {`"\a"`, "a"},
	} {
		if got := unquote(row[0]); got != row[1] {
			t.Errorf("unquote(%s) = %q, want %q", row[0], got, row[1])
		}
	}
}
