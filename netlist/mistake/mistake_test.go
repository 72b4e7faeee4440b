package mistake

import (
	"testing"

	"github.com/google/go-cmp/cmp"
)

func TestNearestWord(t *testing.T) {
	for _, row := range []struct {
		word  string
		words []string
		want  string
	}{
		{"fues", []string{"and", "fuse"}, "fuse"}, // a swap counts once, and a worse word never wins a tie
		{"fuse", []string{"fuse", "and"}, "fuse"},
		{"FUSE", []string{"fuse"}, "fuse"},
		{"resis", []string{"resistor", "regulator"}, "resistor"},
		{"qqqq", []string{"fuse", "and"}, ""},
		{"", []string{"fuse"}, ""},
		{"x", []string{}, ""},
		{"ab", []string{"ac", "ad"}, "ac"},
		{"ОСНВОА", []string{"ОСНОВА", "ЗЕМЛЯ"}, "ОСНОВА"},
	} {
		if got := Nearest(row.word, row.words); got != row.want {
			t.Errorf("Nearest(%q, %v) = %q, want %q", row.word, row.words, got, row.want)
		}
	}
}

func TestSortFollowsTheFile(t *testing.T) {
	ps := []Mistake{{Line: 2, Column: 1, Code: "b"}, {Line: 1, Column: 9}, {Line: 2, Column: 1, Code: "a"}, {Line: 0}}
	Sort(ps)
	want := []Mistake{{Line: 0}, {Line: 1, Column: 9}, {Line: 2, Column: 1, Code: "a"}, {Line: 2, Column: 1, Code: "b"}}
	if diff := cmp.Diff(want, ps); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
}

func TestTypedWordsCarryTheirCaret(t *testing.T) {
	for _, row := range []struct {
		m           Mistake
		line, lines string
	}{
		{Mistake{Text: "VBL=omhs:3", Column: 5, Width: 4, Msg: `"omhs" is no method`, Want: "volts, swing, ohms or diode", Near: "ohms"},
			"VBL=omhs:3: \"omhs\" is no method; did you mean \"ohms\"?",
			"\"omhs\" is no method\n    VBL=omhs:3\n        ^^^^\n    expected volts, swing, ohms or diode; did you mean \"ohms\"?\n"},
		{Unknown("symptom", "drak", []string{"dark", "lid"}),
			"no symptom is called \"drak\"; did you mean \"dark\"?",
			"no symptom is called \"drak\"\n    expected one of dark, lid; did you mean \"dark\"?\n"},
		{Mistake{File: "a.board", Severity: Warning, Code: "x", Msg: "odd"}, "a.board: warning: odd", "a.board: warning: odd [x]\n"},
	} {
		if got := row.m.Error(); got != row.line {
			t.Errorf("Error() = %q, want %q", got, row.line)
		}
		if got := row.m.Report(); got != row.lines {
			t.Errorf("Report() = %q, want %q", got, row.lines)
		}
	}
}
