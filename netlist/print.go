package netlist

import (
	"bytes"
	"strings"

	"example.org/walkback/netlist/say"
)

// Format returns the file in canonical form: one space between words, the first
// two columns of neighbouring lines aligned, rules indented by four and
// continued lines by eight, never two blank lines together. Comments stay where
// they are, and the meaning never changes.
func Format(f *File) []byte {
	var out bytes.Buffer
	out.Grow(len(f.Src) + len(f.Src)/8)
	rows := make([][]string, len(f.Lines))
	for i, l := range f.Lines {
		rows[i] = f.words(l)
	}
	under := f.underStatement()
	wrote, blank := false, false
	for i := 0; i < len(f.Lines); {
		j := f.run(rows, i)
		w0, w1 := widths(rows[i:j])
		for ; i < j; i++ {
			l := f.Lines[i]
			if l.Role == BlankLine {
				blank = wrote
				continue
			}
			if blank {
				out.WriteByte('\n')
				blank = false
			}
			wrote = true
			if under[i] {
				out.WriteString("    ")
			}
			f.printLine(&out, i, rows[i], w0, w1)
		}
	}
	return out.Bytes()
}

// underStatement marks the comments that lead to a rule or a continued line.
func (f *File) underStatement() []bool {
	under, next := make([]bool, len(f.Lines)), false
	for i := len(f.Lines) - 1; i >= 0; i-- {
		switch role := f.Lines[i].Role; role {
		case CommentLine:
			under[i] = next
		default:
			next = role == RuleLine || role == ContinueLine
		}
	}
	return under
}

// run returns the end of the run of lines from i that share their columns.
func (f *File) run(rows [][]string, i int) int {
	j := i + 1
	role := f.Lines[i].Role
	if role != HeadLine && role != RuleLine {
		return j
	}
	for j < len(f.Lines) && f.Lines[j].Role == role && (role == HeadLine || rows[j][0] == rows[i][0]) {
		j++
	}
	return j
}

func widths(rows [][]string) (w0, w1 int) {
	for _, r := range rows {
		if len(r) > 1 {
			w0 = max(w0, say.Columns(r[0]))
		}
		if len(r) > 2 {
			w1 = max(w1, say.Columns(r[1]))
		}
	}
	return w0, w1
}

// maxPad keeps one very long name from pushing its neighbours far right.
const maxPad = 16

func (f *File) printLine(out *bytes.Buffer, i int, words []string, w0, w1 int) {
	l := f.Lines[i]
	switch l.Role {
	case RuleLine:
		out.WriteString("    ")
	case ContinueLine:
		out.WriteString("        ")
	}
	for k, w := range words {
		if k > 0 {
			out.WriteByte(' ')
		}
		out.WriteString(w)
		if k+1 < len(words) && l.Role != ContinueLine {
			pad := 0
			switch k {
			case 0:
				pad = min(w0, maxPad) - say.Columns(w)
			case 1:
				pad = min(w1, maxPad) - say.Columns(w)
			}
			out.WriteString(strings.Repeat(" ", max(0, pad)))
		}
	}
	if l.Comment != (Span{}) {
		if len(words) > 0 {
			out.WriteString("  ")
		}
		out.WriteString(f.Text(l.Comment))
	}
	out.WriteByte('\n')
}

// words returns the line's arguments as printed words. The signs of a
// condition join the word they bind to.
func (f *File) words(l Line) []string {
	args := f.LineArgs(l)
	if len(args) == 0 {
		return nil
	}
	words := make([]string, 0, len(args))
	glue := false
	for _, a := range args {
		w := f.word(a)
		open := a.Kind == OpArg && (w == "(" || w == "!")
		if n := len(words); n > 0 && (glue || a.Kind == OpArg && w == ")") {
			words[n-1] += w
		} else {
			words = append(words, w)
		}
		glue = open
	}
	return words
}

func (f *File) word(a Arg) string {
	switch a.Kind {
	case ArrowArg:
		return "->"
	case OpArg:
		return f.Text(a.Span)[:1]
	case TextArg:
		return f.Text(a.Span)
	}
	if a.Kind == WordArg && a.list == 0 && a.Val.To == (Span{}) {
		return f.Text(a.Val.From)
	}
	var b strings.Builder
	if a.Kind == PairArg {
		b.WriteString(f.Text(a.Key))
		if a.Pin != (Span{}) {
			b.WriteByte('@')
			b.WriteString(f.Text(a.Pin))
		}
		b.WriteByte('=')
	}
	for i, v := range f.Vals(a) {
		if i > 0 {
			b.WriteByte(',')
		}
		b.WriteString(f.Text(v.From))
		if v.To != (Span{}) {
			b.WriteString("..")
			b.WriteString(f.Text(v.To))
		}
	}
	return b.String()
}
