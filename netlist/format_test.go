package netlist

import (
	"fmt"
	"strings"
	"testing"

	"example.org/walkback/netlist/mistake"
	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

func TestFormat(t *testing.T) {
	for _, row := range []struct{ story, src, want string }{
		{"nothing", "", ""},
		{"blank lines alone", "\n\n \t\n", ""},
		{"one space between words", "fuse   F1\tA->B  rating = 3A\n", "fuse F1 A -> B rating=3A\n"},
		{"neighbours share their columns",
			"fuse F1 A -> B\ncapacitor C10 B -> G 1u\n",
			"fuse      F1  A -> B\ncapacitor C10 B -> G 1u\n"},
		{"a blank line ends the columns",
			"fuse F1 A -> B\n\ncapacitor C10 B -> G 1u\n",
			"fuse F1 A -> B\n\ncapacitor C10 B -> G 1u\n"},
		{"rules and continued lines are indented",
			"boost U1 in=A\n lx=B\n out=C\nsource U2\n drives D when A&!(B|C)\n sends EE\n  when D\n",
			"boost U1 in=A\n        lx=B\n        out=C\nsource U2\n    drives D when A & !(B | C)\n    sends EE\n        when D\n"},
		{"rows of a connector line up",
			"connector J1\n pin 1 A->B\n pin 10 LONG -> C\n",
			"connector J1\n    pin 1  A -> B\n    pin 10 LONG -> C\n"},
		{"remarks stay where they are",
			"#first\n\n\n\nnet A 3V# rail\n   # about the rule\n  expect 0V when lid=shut   # why\n# about B\nnet B 3V\n#last",
			"#first\n\nnet A 3V# rail\n    # about the rule\n    expect 0V when lid=shut  # why\n# about B\nnet B 3V\n#last\n"},
		{"a remark before a blank line is not indented",
			"source U1\n  # about U1\n\n  sends A\n", "source U1\n# about U1\n\n    sends A\n"},
		{"signs", "source U1\n makes F when ((A&&B)||! C)\n", "source U1\n    makes F when ((A & B) | !C)\n"},
		{"lists and ranges", "leds D1 A -> K1 , K2,K4..6 series = 10\n", "leds D1 A -> K1,K2,K4..6 series=10\n"},
		{"texts are left alone", "board b \"a  #\t\\\"b\\\"\"\n", "board b \"a  #\t\\\"b\\\"\"\n"},
		{"line ends and mark go", bom + "net A 3V\r\n\r\nnet B 3V\r\n", "net A 3V\n\nnet B 3V\n"},
		{"one very long name does not push the rest away",
			"net A_NAME_OF_MORE_THAN_SIXTEEN 3V\nnet B 3V\n",
			"net A_NAME_OF_MORE_THAN_SIXTEEN 3V\nnet B                3V\n"},
	} {
		t.Run(row.story, func(t *testing.T) {
			f, problems := Parse("test.board", row.src)
			if len(problems) > 0 {
				t.Fatal(problems[0].Report())
			}
			got := string(Format(f))
			if diff := cmp.Diff(row.want, got); diff != "" {
				t.Errorf("(-want +got):\n%s", diff)
			}
			if again := string(Format(parseClean(t, got))); again != got {
				t.Errorf("a second time:\n%s", cmp.Diff(got, again))
			}
		})
	}
}

// remarks lists the comments of a file in order.
func remarks(f *File) []string {
	var out []string
	for _, l := range f.Lines {
		if l.Comment != (Span{}) {
			out = append(out, f.Text(l.Comment))
		}
	}
	return out
}

// checkFormat formats a sound text and checks that nothing but its looks changed.
func checkFormat(t interface {
	Helper()
	Errorf(string, ...any)
}, src string) {
	t.Helper()
	f, problems := Parse("test.board", src)
	if len(problems) > 0 {
		t.Errorf("the text is not sound: %s", problems[0].Report())
		return
	}
	text := string(Format(f))
	g, problems := Parse("test.board", text)
	if len(problems) > 0 {
		t.Errorf("the formatted text is not sound: %s\n%s", problems[0].Report(), text)
		return
	}
	if again := string(Format(g)); again != text {
		t.Errorf("not stable:\n%s", cmp.Diff(text, again))
	}
	if diff := cmp.Diff(outline(f), outline(g)); diff != "" {
		t.Errorf("other statements:\n%s", diff)
	}
	if diff := cmp.Diff(remarks(f), remarks(g)); diff != "" {
		t.Errorf("other remarks:\n%s", diff)
	}
	before, p1 := Build(f)
	after, p2 := Build(g)
	if diff := cmp.Diff(before, after, sameModel); diff != "" {
		t.Errorf("another board:\n%s", diff)
	}
	if len(p1) != len(p2) {
		t.Errorf("%d problems before and %d after", len(p1), len(p2))
	}
}

func TestFormatKeepsTheBoards(t *testing.T) {
	for name, src := range boardSources(t) {
		t.Run(name, func(t *testing.T) {
			checkFormat(t, src)
			board, problems := Build(parseClean(t, src))
			if len(problems) > 0 || len(board.Parts) < 40 {
				t.Errorf("%d parts and the problems %v", len(board.Parts), problems)
			}
		})
	}
}

func TestFormatKeepsBlankLinesApart(t *testing.T) {
	src := "net A 3V\n\n\n# b\n\nnet B 3V\n"
	got := string(Format(parseClean(t, src)))
	if want := "net A 3V\n\n# b\n\nnet B 3V\n"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}

// TestFormatIsQuickOnRemarks guards against looking ahead anew from every line:
// with that, this many remarks took minutes.
func TestFormatIsQuickOnRemarks(t *testing.T) {
	const n = 300_000
	f := parseClean(t, strings.Repeat("# remark\n", n)+"net A 3V\n")
	if got := strings.Count(string(Format(f)), "\n"); got != n+1 {
		t.Errorf("%d lines, want %d", got, n+1)
	}
}

// drawBoard makes up a sound board in an untidy hand.
func drawBoard(t *rapid.T) string {
	var out strings.Builder
	pick := func(label string, list ...string) string { return rapid.SampledFrom(list).Draw(t, label) }
	net := func() string { return fmt.Sprintf("N%d", rapid.IntRange(0, 9).Draw(t, "net")) }
	gap := func() string { return pick("gap", " ", "  ", "\t", " \t ") }
	eq := func() string { return pick("equals", "=", " =", "= ", " = ") }
	end := func() {
		out.WriteString(pick("end", "\n", "\r\n", " # why\n", "\n\n\n", "\n# remark\n", "\n  # remark\n", " \t\n"))
	}
	cond := func() string {
		terms := []string{net(), "!" + net(), "lid" + eq() + "open", "(" + net() + "|" + net() + ")", "! ( " + net() + " && " + net() + " )"}
		return pick("term", terms...) + pick("sign", "&", " & ", "|", " || ") + pick("term", terms...)
	}
	out.WriteString("board b \"B\"")
	end()
	out.WriteString("state lid open shut")
	end()
	for i := range 10 {
		fmt.Fprintf(&out, "net%sN%d%s%dV", gap(), i, gap(), i+1)
		end()
		if rapid.Bool().Draw(t, "expect") {
			out.WriteString(gap() + "expect 0V when lid" + eq() + "shut")
			end()
		}
	}
	for i := range rapid.IntRange(0, 12).Draw(t, "parts") {
		a, b := rapid.IntRange(0, 4).Draw(t, "a"), rapid.IntRange(5, 9).Draw(t, "b")
		switch rapid.IntRange(0, 4).Draw(t, "form") {
		case 0:
			fmt.Fprintf(&out, "fuse F%d%sN%d%sN%d rating%s3A", i, gap(), a, pick("arrow", "->", " -> ", "\t->"), b, eq())
		case 1:
			fmt.Fprintf(&out, "resistor R%d N%d -> N%d%s4k7", i, a, b, gap())
		case 2:
			fmt.Fprintf(&out, "choke FL%d N%d%sM -> N%d,K%s\"pair\"", i, a, pick("comma", ",", " ,", ", "), b, gap())
		case 3:
			fmt.Fprintf(&out, "connector J%d", i)
			for pin := range rapid.IntRange(1, 3).Draw(t, "pins") {
				end()
				fmt.Fprintf(&out, "%spin %d%sN%d -> N%d", gap(), pin, gap(), a, b)
			}
		default:
			fmt.Fprintf(&out, "source U%d%svdd@%d=N%d", i, gap(), i, a)
			end()
			fmt.Fprintf(&out, "%smakes F%d when %s", gap(), i, cond())
			if rapid.Bool().Draw(t, "longer") {
				end()
				fmt.Fprintf(&out, "%s& %s", gap(), cond())
			}
		}
		end()
	}
	return out.String()
}

func TestFormatKeepsAnyBoard(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		src := drawBoard(t)
		if _, problems := Read("test.board", src); slicesHave(problems, "syntax", "condition", "unknown-kind") {
			t.Fatalf("the board that was made up is not sound: %v\n%s", problems, src)
		}
		checkFormat(t, src)
	})
}

func slicesHave(ps []mistake.Mistake, codes ...string) bool {
	for _, p := range ps {
		for _, c := range codes {
			if p.Code == c {
				return true
			}
		}
	}
	return false
}
