package netlist

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"

	"example.org/walkback/netlist/mistake"
	"example.org/walkback/netlist/say"
)

// ruleWords begin a rule under a statement; the table of what they mean is in
// RuleWords.
func isRuleWord(s string) bool {
	switch s {
	case "drives", "pulls", "sends", "reads", "makes", "pin", "expect":
		return true
	}
	return false
}

type lexer struct {
	f        *File
	src      string
	at       int  // offset of the next byte
	end      int  // end of the line
	pair     bool // in the value of a pair
	inState  bool // and there behind @
	lost     bool // the statement above was left out, and what is under it is too
	problems []mistake.Mistake
}

// Parse reads the text of a board file. It always returns a File; when the
// problems hold errors, the lines in question are left out of it.
func Parse(name, src string) (*File, []mistake.Mistake) {
	f := &File{Name: name, Src: src}
	if len(src) > MaxFileBytes {
		f.Src = ""
		return f, []mistake.Mistake{{File: name, Code: "too-big", Msg: fmt.Sprintf("the file has more than %d MiB", MaxFileBytes>>20),
			Want: "the display path of one board"}}
	}
	lines := strings.Count(src, "\n") + 1
	f.Lines = make([]Line, 0, lines)
	// A word a space, nearly; growing this slice would cost more than all else.
	f.args = make([]Arg, 0, min(strings.Count(src, " ")+lines, lines*8))
	lx := &lexer{f: f, src: src}
	if strings.HasPrefix(src, "\uFEFF") {
		lx.at = len("\uFEFF")
	}
	started := false
	for lx.at < len(src) {
		next := len(src)
		lx.end = len(src)
		if i := strings.IndexByte(src[lx.at:], '\n'); i >= 0 {
			lx.end, next = lx.at+i, lx.at+i+1
		}
		if lx.end > lx.at && src[lx.end-1] == '\r' {
			lx.end--
		}
		lx.line(&started)
		lx.at = next
	}
	return f, lx.problems
}

func (lx *lexer) fail(start, end int, code, msg, want, near string) {
	lx.f.lost = true
	if len(lx.problems) < maxProblems {
		lx.problems = append(lx.problems, lx.f.problem(Span{int32(start), int32(end)}, code, msg, want, near))
	}
}

func (lx *lexer) line(started *bool) {
	f, first := lx.f, lx.at
	l := Line{from: int32(len(f.args))}
	if lx.end-first > MaxLineBytes {
		lx.fail(first, first+1, "long-line", fmt.Sprintf("the line has more than %d bytes", MaxLineBytes),
			"shorter lines; an indented line continues the one above", "")
		lx.lost = lx.lost || lx.src[first] != ' ' && lx.src[first] != '\t' && lx.src[first] != '#'
		return
	}
	ok := true
	lx.blanks()
	indented := lx.at > first
	for ok && lx.at < lx.end {
		if lx.src[lx.at] == '#' {
			end := lx.end
			for end > lx.at && (lx.src[end-1] == ' ' || lx.src[end-1] == '\t') {
				end--
			}
			l.Comment = Span{int32(lx.at), int32(end)}
			ok = lx.clean(lx.at, end)
			break
		}
		ok = lx.arg()
		lx.blanks()
	}
	if !ok {
		f.args = f.args[:l.from]
		l.Comment = Span{}
		lx.lost = lx.lost || !indented && lx.src[first] != '#'
	}
	l.to = int32(len(f.args))
	switch {
	case l.to == l.from && l.Comment == (Span{}):
		l.Role = BlankLine
	case l.to == l.from:
		l.Role = CommentLine
	case !indented:
		l.Role, *started, lx.lost = HeadLine, true, false
	case lx.lost:
		f.args, l.to, l.Role = f.args[:l.from], l.from, BlankLine
	case !*started:
		lx.fail(first, lx.end, "indent", "an indented line needs a statement above it", "a statement that starts at the left edge", "")
		f.args, l.to, l.Role = f.args[:l.from], l.from, BlankLine
	default:
		l.Role = ContinueLine
		if a := f.args[l.from]; a.Kind == WordArg && isRuleWord(f.Text(a.Span)) {
			l.Role = RuleLine
		}
	}
	f.Lines = append(f.Lines, l)
}

func (lx *lexer) blanks() {
	for lx.at < lx.end && (lx.src[lx.at] == ' ' || lx.src[lx.at] == '\t') {
		lx.at++
	}
}

func (lx *lexer) clean(start, end int) bool {
	for i := start; i < end; {
		r, n := utf8.DecodeRuneInString(lx.src[i:end])
		if r == utf8.RuneError && n == 1 || r < ' ' && r != '\t' || r == 0x7f {
			lx.fail(i, i+n, "bad-character", fmt.Sprintf("the byte %#02x has no place in a board file", lx.src[i]), "text in UTF-8", "")
			return false
		}
		if r >= utf8.RuneSelf && say.Hidden(r) {
			lx.fail(i, i+n, "bad-character", fmt.Sprintf("the hidden character %U has no place in a board file", r),
				"text that is seen as it is", "")
			return false
		}
		i += n
	}
	return true
}

func (lx *lexer) arg() bool {
	start := lx.at
	rest := lx.src[lx.at:lx.end]
	add := func(kind ArgKind, n int) bool {
		lx.at += n
		lx.f.args = append(lx.f.args, Arg{Kind: kind, Span: Span{int32(start), int32(lx.at)}})
		return true
	}
	switch c := rest[0]; {
	case c == '"':
		s, ok := lx.text()
		lx.f.args = append(lx.f.args, Arg{Kind: TextArg, Span: s, Val: Val{From: s}})
		return ok
	case strings.HasPrefix(rest, "->"):
		return add(ArrowArg, 2)
	case strings.HasPrefix(rest, "→"), strings.HasPrefix(rest, "=>"), strings.HasPrefix(rest, "<-"):
		n := 2
		if c >= utf8.RuneSelf {
			n = len("→")
		}
		if strings.HasPrefix(rest, "=>") && lx.inSymptom() {
			lx.more(start, start+n)
			return false
		}
		lx.fail(start, start+n, "arrow", "this arrow is not understood", "the arrow ->", "->")
		return false
	case strings.HasPrefix(rest, "&&"), strings.HasPrefix(rest, "||"):
		return add(OpArg, 2)
	case strings.IndexByte("&|!()", c) >= 0:
		return add(OpArg, 1)
	case c == '=' || c == ',':
		lx.fail(start, start+1, "syntax", fmt.Sprintf("%q has nothing before it", c), "a word before it, as in rating=3A or A,B", "")
		return false
	}
	a := Arg{Kind: WordArg}
	if !lx.list(&a) {
		return false
	}
	save := lx.at
	lx.blanks()
	if lx.at < lx.end && lx.src[lx.at] == '=' && !strings.HasPrefix(lx.src[lx.at:lx.end], "=>") {
		if a.list != 0 || a.Val.To != (Span{}) {
			lx.fail(start, save, "syntax", "one key stands before =, not a list", "key=value", "")
			return false
		}
		a.Kind, a.Key, a.Val = PairArg, a.Val.From, Val{}
		if i := strings.IndexByte(lx.f.Text(a.Key), '@'); i >= 0 {
			a.Pin = Span{a.Key.Start + int32(i) + 1, a.Key.End}
			a.Key.End = a.Key.Start + int32(i)
			if a.Pin.Start == a.Pin.End || a.Key.Start == a.Key.End {
				lx.fail(start, save, "syntax", "a pin number is written between @ and =", "as in en@7=BL_EN", "")
				return false
			}
		}
		lx.at++
		lx.blanks()
		if lx.at < lx.end && lx.src[lx.at] == '>' && lx.inSymptom() {
			lx.more(lx.at, lx.at+1)
			return false
		}
		if lx.at < lx.end && lx.src[lx.at] == '>' {
			lx.fail(lx.at, lx.at+1, "syntax", "a value does not begin with >", "a value, or the arrow ->", "") // printed, it would read as =>
			return false
		}
		lx.pair, lx.inState = true, false
		ok := lx.list(&a)
		lx.pair, lx.inState = false, false
		if !ok {
			return false
		}
		save = lx.at
	}
	lx.at = save
	a.Span = Span{int32(start), int32(save)}
	lx.f.args = append(lx.f.args, a)
	return true
}

// inSymptom reports whether the line is that of a symptom.
func (lx *lexer) inSymptom() bool {
	line := lx.src[strings.LastIndexByte(lx.src[:lx.at], '\n')+1 : lx.end]
	word, _, _ := strings.Cut(strings.TrimPrefix(line, "\uFEFF"), " ")
	return word == "symptom"
}

// more refuses a reading of more than a number, whose sign is part of an arrow here.
func (lx *lexer) more(from, to int) {
	lx.fail(from, to, "syntax", "> behind = is an arrow in a board file, so that more than a number is not written there",
		"OL where the meter shows more than its range, as in F3=OL", "")
}

// list reads a value, or several with commas between them, into a.
func (lx *lexer) list(a *Arg) bool {
	for first := true; ; first = false {
		v, ok := lx.val()
		if !ok {
			return false
		}
		if first {
			a.Val = v
		} else {
			if a.list == 0 {
				lx.f.lists = append(lx.f.lists, nil)
				a.list = int32(len(lx.f.lists))
			}
			lx.f.lists[a.list-1] = append(lx.f.lists[a.list-1], v)
		}
		save := lx.at
		lx.blanks()
		if lx.at >= lx.end || lx.src[lx.at] != ',' {
			lx.at = save
			return true
		}
		lx.at++
		lx.blanks()
	}
}

func (lx *lexer) val() (Val, bool) {
	if lx.at < lx.end && lx.src[lx.at] == '"' {
		s, ok := lx.text()
		return Val{From: s}, ok
	}
	from, ok := lx.word()
	if !ok {
		return Val{}, false
	}
	lx.state(&from)
	v := Val{From: from}
	if strings.HasPrefix(lx.src[lx.at:lx.end], "..") {
		lx.at += 2
		if v.To, ok = lx.word(); !ok {
			return Val{}, false
		}
	}
	return v, true
}

// state takes the state of a reading into its value: VBL=0V@lid=shut,panel=out.
func (lx *lexer) state(value *Span) {
	if lx.pair && strings.IndexByte(lx.f.Text(*value), '@') >= 0 {
		lx.inState = true
	}
	if !lx.inState || lx.at+1 >= lx.end || lx.src[lx.at] != '=' || lx.src[lx.at+1] == '>' || mayEndWord[lx.src[lx.at+1]] {
		return
	}
	lx.at++
	if s, ok := lx.word(); ok {
		value.End = s.End
	}
}

// mayEndWord marks the bytes that a word must be looked at more closely for.
var mayEndWord = func() (t [256]bool) {
	for c := range t {
		t[c] = c <= ' ' || c >= 0x7f || strings.IndexByte(`"&|!(),=-.`, byte(c)) >= 0
	}
	return t
}()

// word reads letters up to a space or a sign that means something. A # inside
// a word belongs to it, since names of active-low nets often end in one.
func (lx *lexer) word() (Span, bool) {
	start := lx.at
	for lx.at < lx.end {
		c := lx.src[lx.at]
		if !mayEndWord[c] {
			lx.at++
			continue
		}
		if c <= ' ' || c == 0x7f || strings.IndexByte(`"&|!(),=`, c) >= 0 ||
			c == '-' && strings.HasPrefix(lx.src[lx.at:lx.end], "->") ||
			c == '.' && strings.HasPrefix(lx.src[lx.at:lx.end], "..") {
			break
		}
		if c < utf8.RuneSelf {
			lx.at++
			continue
		}
		r, n := utf8.DecodeRuneInString(lx.src[lx.at:lx.end])
		if r == utf8.RuneError && n == 1 || r == '→' || say.Hidden(r) || unicode.IsSpace(r) {
			break
		}
		lx.at += n
	}
	s := Span{int32(start), int32(lx.at)}
	if s.Start < s.End {
		return s, true
	}
	switch {
	case lx.at >= lx.end:
		lx.fail(max(start-1, 0), start, "syntax", "a value is missing at the end of the line", "a word", "")
	case lx.src[lx.at] >= ' ' && lx.src[lx.at] < utf8.RuneSelf && lx.src[lx.at] != 0x7f:
		lx.fail(start, start+1, "syntax", fmt.Sprintf("%q stands where a word should", lx.src[lx.at]), lx.wordOrText(start), "")
	case lx.clean(lx.at, lx.end):
		r, n := utf8.DecodeRuneInString(lx.src[lx.at:lx.end])
		lx.fail(start, start+n, "syntax", fmt.Sprintf("%q stands where a word should", r), lx.wordOrText(start), "")
	}
	return s, false
}

// wordOrText is what is expected where a word begins; behind an equals sign it may be
// a path, which has signs that no word has.
func (lx *lexer) wordOrText(start int) string {
	if start > 0 && lx.src[start-1] == '=' {
		return `a word, or a text or path in quotes`
	}
	return "a word"
}

// text reads a quoted text, in which \" and \\ stand for the signs themselves.
func (lx *lexer) text() (Span, bool) {
	start := lx.at
	for i := start + 1; i < lx.end; i++ {
		switch lx.src[i] {
		case '\\':
			i++
		case '"':
			lx.at = i + 1
			return Span{int32(start), int32(lx.at)}, lx.clean(start, lx.at)
		}
	}
	lx.fail(start, lx.end, "quote", "the closing quote is missing", `a text such as "dark picture"`, "")
	return Span{}, false
}

// unquote returns the text between the quotes.
func unquote(s string) string {
	s = s[1 : len(s)-1]
	if strings.IndexByte(s, '\\') < 0 {
		return s
	}
	var b strings.Builder
	for i := 0; i < len(s); i++ {
		if s[i] == '\\' && i+1 < len(s) {
			i++
		}
		b.WriteByte(s[i])
	}
	return b.String()
}
