package netlist

import (
	"errors"
	"math"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"example.org/walkback/netlist/mistake"
	"github.com/google/go-cmp/cmp"
)

// nasty are texts that once went wrong, or look as if they might.
var nasty = []string{
	"", "\n", "\r", "\r\n", bom, bom + bom, "\n" + bom + "net A 3V", "\x00", "\xff\xfe", "#", " #", "net", "net ", "\tnet A",
	"rom U1 scl@3=\"x\"", "rom U1 scl@=A", "@", "a@b=c", "=", "a=", "a = = b", "a=→", "→", "a,", ",a", "A..", "..B", "A...B", "A....B",
	"K1..K4..K5",
	"\"", "\"\\\"", "a=\"", "a=\"x\"y", "\"x\"\"y\"", "->", "->->", "A->B->C", "A-", "- >", "<-", "=>", "a=>b",
	"net K9999999..K99999999 1V", "leds D1 A -> K08..K11", "leds D1 A -> K4..K1", "net A1..A4096,B1..B4096 3V",
	"source U1\n  makes F when " + strings.Repeat("(", 70), "source U1\n  makes F when " + strings.Repeat("!", 70),
	"source U1\n  drives K1 K2 when K1", "source U1\n  drives A 3V", "source U1\n  reads F from=U1 over=A at=B",
	"net A 3V\n  expect 0V when | lid=open", "net A 3V\n  expect ground when lid=open", "net A ground 3V\n  expect 1V",
	"stage 1 \"x\" ->", "symptom x \"y\" A=0V,1V", "board b\nsymptom dark X=no\nstage 1 X\nlane X A B\nnet X 3V",
	"connector J1\n pin 1,2 A -> B\n pin 1 A,B\n pin", "fuse F1 A -> B\n  \n# c\n\n  rating=3A # d", "& a\n| b\n( c\n) d\n! e",
	"supply PS1 -> A,B", "leds DS1 A -> A", "mux U1 a=A b=B,C out=D", "boost U1 lx=A", "inverter U1 in=A,B out=A", "a b=c..d,e..f",
}

func addSeeds(f *testing.F) {
	for _, s := range nasty {
		f.Add(s)
	}
	for _, src := range boardSources(f) {
		f.Add(src)
	}
	for _, rows := range problemTables {
		for _, row := range rows {
			f.Add(strings.NewReplacer("«", "", "»", "").Replace(row.src))
		}
	}
}

// maxFuzz keeps single runs short; long inputs find nothing new.
const maxFuzz = 1 << 16

// FuzzParse reads any text to the end. A text without errors in its syntax must
// print and read back as the same board.
func FuzzParse(f *testing.F) {
	addSeeds(f)
	f.Fuzz(func(t *testing.T, src string) {
		if len(src) > maxFuzz {
			t.Skip()
		}
		_, problems := Read("fuzz.board", src)
		lines := strings.Count(src, "\n") + 1
		for _, p := range problems {
			if p.Line > lines || p.Line > 0 && (p.Column < 1 || p.Column > utf8.RuneCountInString(src)+1) {
				t.Errorf("the problem stands at %d:%d of %d lines", p.Line, p.Column, lines)
			}
			if r := p.Report(); p.Msg == "" || p.Code == "" || !utf8.ValidString(r) && utf8.ValidString(src) {
				t.Errorf("a problem that says too little, or nothing readable: %q", r)
			}
		}
		file, syntax := Parse("fuzz.board", src)
		if len(syntax) > 0 {
			return
		}
		for i, l := range file.Lines {
			if text := strings.Trim(strings.TrimPrefix(file.lineText(i+1), bom), " \t"); text != "" && l.Role == BlankLine {
				t.Errorf("line %d vanished without a word: %q", i+1, text)
			}
		}
		checkFormat(t, src)
	})
}

// FuzzFormat compares, line by line, the words before and after formatting.
func FuzzFormat(f *testing.F) {
	addSeeds(f)
	f.Fuzz(func(t *testing.T, src string) {
		if len(src) > maxFuzz {
			t.Skip()
		}
		lines := func(file *File) (out [][]string) {
			for _, l := range file.Lines {
				if l.Role == BlankLine {
					continue
				}
				row := []string{string('0' + rune(l.Role))}
				for _, a := range file.LineArgs(l) {
					row = append(row, file.word(a))
				}
				out = append(out, append(row, file.Text(l.Comment)))
			}
			return out
		}
		before, problems := Parse("fuzz.board", src)
		if len(problems) > 0 {
			return
		}
		after, problems := Parse("fuzz.board", string(Format(before)))
		if len(problems) > 0 {
			t.Fatalf("the formatted text does not read: %s", problems[0].Report())
		}
		if diff := cmp.Diff(lines(before), lines(after)); diff != "" {
			t.Errorf("other words:\n%s", diff)
		}
	})
}

// FuzzReading reads any text on a real board. What is understood is written back so
// that it is understood as the same; what is refused points into the text.
func FuzzReading(f *testing.F) {
	board, problems := Read("larkspur13.board", boardSources(f)["larkspur13.board"])
	if mistake.HasErrors(problems) {
		f.Fatal(problems[0].Report())
	}
	for _, form := range ReadingForms {
		for _, s := range append(form.Also, form.Text) {
			f.Add(s)
		}
	}
	for _, s := range []string{"GND=0V", "F3=0V", "=", "x", "VBL=", "=0V", "lid=shut", "lid=shUt", "lid=", "VBL=-1e9", "VBL=3A", "ЖЖ=ok",
		"VBL=\xff", "@", "a/b=c:d@e=f", "VBL=ohms:Ⱥohms", "VBL=>", "VBL=0L", "J2.7=1", "F3=:", "0=0@lid", "VBL=0V@", "VBL=0V@lid=,", " ", "\t"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		r, err := board.ParseReading(text, board.Usual())
		var m mistake.Mistake
		switch {
		case err == nil && r.Text != text:
			t.Errorf("%q is kept as %q", text, r.Text)
		case err == nil && r.Seen == nil && math.IsNaN(r.Value):
			t.Errorf("%q is no number", text)
		case err == nil:
			checkSaid(t, board, r)
		case !errors.As(err, &m) || m.Msg == "" || m.Text != text:
			t.Errorf("%q: an error without words: %v", text, err)
		case m.Column < 1 || m.Width < 1 || m.Column-1 > utf8.RuneCountInString(text):
			t.Errorf("%q: the error points at %d, %d", text, m.Column, m.Width)
		}
		// A setting either changes as told or stays as it was.
		s := board.Usual()
		switch err := board.ParseSetting(s, text); {
		case err != nil && cmp.Diff(board.Usual(), s) != "":
			t.Errorf("%q was refused and changed the setting", text)
		case err == nil && !slices.ContainsFunc(strings.Fields(board.SettingText(s)), func(w string) bool { return strings.EqualFold(w, text) }):
			t.Errorf("%q gives %q", text, board.SettingText(s))
		}
	})
}

// FuzzParseValue reads any text in any unit. A value that is read is finite, and
// is the same without a sign but for its own.
func FuzzParseValue(f *testing.F) {
	for _, s := range []string{"", "4k7", "R047", "3V3", "100n", "4.7kΩ", "-5V", "+1", "5%", "5%3", ".", ".5", "1..2", "k", "1e9",
		"9999999999999999999G", "\xff", "４７"} {
		for u := range Percent + 1 {
			f.Add(s, uint8(u))
		}
	}
	f.Fuzz(func(t *testing.T, text string, unit uint8) {
		u := Unit(unit) % (Percent + 1)
		v, err := ParseValue(text, u)
		if err != nil {
			if v != 0 || !strings.Contains(err.Error(), unitPhrase(u)) {
				t.Errorf("ParseValue(%q, %s) = %v, %v", text, u, v, err)
			}
			return
		}
		if math.IsInf(v, 0) || math.IsNaN(v) {
			t.Errorf("ParseValue(%q, %s) = %v", text, u, v)
		}
		if !strings.HasPrefix(text, "+") && !strings.HasPrefix(text, "-") {
			if minus, err := ParseValue("-"+text, u); err != nil || minus != -v {
				t.Errorf("ParseValue(%q) = %v, and with a minus %v, %v", text, v, minus, err)
			}
		}
		if FormatValue(v, u) == "" {
			t.Errorf("%v %s prints as nothing", v, u)
		}
	})
}
