package netlist

import (
	"iter"
	"slices"
	"strings"
	"unicode/utf8"

	"example.org/walkback/netlist/mistake"
)

// File is a board file as written.
type File struct {
	Name  string // for messages
	Src   string
	Lines []Line
	args  []Arg   // of all lines, in order
	lists [][]Val // values after the first, for arguments that have them
	lost  bool    // a line with an error was left out
	ends  []int32 // offset of every newline, filled when first wanted
}

// Span is a stretch of the source in bytes, end excluded.
type Span struct{ Start, End int32 }

// LineRole is what a line does in the file.
type LineRole uint8

// The roles of a line.
const (
	BlankLine    LineRole = iota
	CommentLine           // only a comment
	HeadLine              // begins a statement
	ContinueLine          // indented: more of the line above
	RuleLine              // indented: a rule under the statement above
)

// Line is one line of the file with its tokens.
type Line struct {
	Role     LineRole
	Comment  Span // with its #, empty when there is none
	from, to int32
}

// ArgKind is the form of an argument.
type ArgKind uint8

// The forms an argument takes.
const (
	WordArg  ArgKind = iota // a word or a list of words: VBL, K1..K4, A,B
	TextArg                 // "quoted"
	ArrowArg                // ->
	PairArg                 // key=value, with a list or a text as value
	OpArg                   // & | ! ( ) in a condition
)

// Val is one value: a word, a text, or a range of words.
type Val struct {
	From Span
	To   Span // empty unless a range From..To was written
}

// Arg is one argument on a line.
type Arg struct {
	Kind ArgKind
	Span Span
	Key  Span // of a pair
	Pin  Span // the 7 of key@7=net, empty otherwise
	Val  Val  // the first value
	list int32
}

// Stmt is one statement: its arguments and the rules under it.
type Stmt struct {
	Args  []Arg
	Rules [][]Arg
}

// Text returns the source at s.
func (f *File) Text(s Span) string { return f.Src[s.Start:s.End] }

// LineArgs returns the arguments on one line.
func (f *File) LineArgs(l Line) []Arg { return f.args[l.from:l.to] }

// Vals returns all values of an argument.
func (f *File) Vals(a Arg) []Val {
	if a.list == 0 {
		return []Val{a.Val}
	}
	return append([]Val{a.Val}, f.lists[a.list-1]...)
}

// Statements yields the statements in the order of the file. The Rules slice
// is reused from one statement to the next.
func (f *File) Statements() iter.Seq[Stmt] {
	return func(yield func(Stmt) bool) {
		var st Stmt
		open := false
		for _, l := range f.Lines {
			switch l.Role {
			case HeadLine:
				if open && !yield(st) {
					return
				}
				st, open = Stmt{Args: f.args[l.from:l.to:l.to], Rules: st.Rules[:0]}, true
			case ContinueLine:
				// Arguments of neighbouring lines stand side by side in the arena,
				// so a continued slice only grows.
				if n := len(st.Rules); n > 0 {
					first := int(l.from) - len(st.Rules[n-1])
					st.Rules[n-1] = f.args[first:l.to:l.to]
				} else {
					first := int(l.from) - len(st.Args)
					st.Args = f.args[first:l.to:l.to]
				}
			case RuleLine:
				st.Rules = append(st.Rules, f.args[l.from:l.to:l.to])
			}
		}
		if open {
			yield(st)
		}
	}
}

// Position returns the line and column, both from 1, of a byte offset; columns
// count characters.
func (f *File) Position(off int32) (line, col int) {
	f.indexLines()
	i, _ := slices.BinarySearch(f.ends, off)
	start := int32(0)
	if i > 0 {
		start = f.ends[i-1] + 1
	}
	for off > start && int(off) < len(f.Src) && !utf8.RuneStart(f.Src[off]) {
		off-- // inside a letter of several bytes
	}
	if i == 0 && off >= int32(len(bom)) && strings.HasPrefix(f.Src, bom) {
		start = int32(len(bom))
	}
	return i + 1, utf8.RuneCountInString(f.Src[start:off]) + 1
}

func (f *File) indexLines() {
	if f.ends != nil {
		return
	}
	f.ends = make([]int32, 0, len(f.Lines)+1)
	for i := range len(f.Src) {
		if f.Src[i] == '\n' {
			f.ends = append(f.ends, int32(i))
		}
	}
	f.ends = append(f.ends, int32(len(f.Src)))
}

// bom is the mark that some editors put before the first line.
const bom = "\uFEFF"

// lineText returns a line of the source without its line end, from 1, and of a
// line that is too long only the allowed length.
func (f *File) lineText(line int) string {
	f.indexLines()
	start := int32(0)
	if line > 1 {
		start = f.ends[line-2] + 1
	}
	text := f.Src[start:f.ends[line-1]]
	if line == 1 {
		text = strings.TrimPrefix(text, bom)
	}
	text = strings.TrimSuffix(text, "\r")
	return text[:min(len(text), MaxLineBytes)]
}

// problem makes a mistake at a span of the file.
func (f *File) problem(s Span, code, msg, want, near string) mistake.Mistake {
	line, col := f.Position(s.Start)
	return mistake.Mistake{
		File: f.Name, Line: line, Column: col, Width: utf8.RuneCountInString(f.Text(s)),
		Text: f.lineText(line), Code: code, Msg: msg, Want: want, Near: near,
	}
}

// Problem makes a problem at a span of the file, for checks made elsewhere.
func (f *File) Problem(s Span, sev mistake.Severity, code, msg, want, near string) mistake.Mistake {
	p := f.problem(s, code, msg, want, near)
	p.Severity = sev
	return p
}
