package netlist

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"example.org/walkback/netlist/mistake"
)

// StatementWords are the words that begin a statement and are no part kind.
var StatementWords = []struct{ Name, Form, Doc string }{
	{"board", `board NAME "TITLE"`, "names the board; the first statement of the file"},
	{"state", "state NAME VALUE VALUE…", "a dimension of the board's state; the first value is the usual one"},
	{"net", "net NAME[,NAME…] ground | VOLTS [TOLERANCE] [swing=V] [rate=HZ] [cold=OHMS] [diode=V] [\"NOTE\"]",
		"declares what a net reads on a healthy board"},
	{"lane", "lane NAME NET [NET] [clock] [\"NOTE\"]", "a signal that reaches the panel, on one conductor or a pair"},
	{"symptom", `symptom NAME "WORDS" HISTORY… TARGET=SEEN…`,
		"a complaint in the customer's words, as readings (walkback readings lists their forms), with what happened before, if anything"},
	{"weight", "weight KIND|PART[:FAULT] FACTOR", "something fails so many times as often as usual on this board"},
	{"stage", `stage NUMBER "WORDS" TARGET…`, "a rung of the power-up order, with the nets, lanes or facts that prove it"},
}

// builder turns a File into a Board.
type builder struct {
	f        *File
	board    *Board
	problems []mistake.Mistake
	late     []Stmt // statements that may name things declared further down
	rules    []lateRule
	reads    []lateRead
	conns    []Conn // buffers for the part at hand
	attrs    []AttrVal
	left     []NetID
	right    []NetID
	connSlab []Conn
	attrSlab []AttrVal
	ranged   int // names that ranges have written out
	compared int // names looked through for suggestions
}

// lateRule is a rule whose condition waits until all names are known.
type lateRule struct {
	ref  RuleRef
	args []Arg // after "when"
	end  Span
}

// Build makes the board that a file describes. The board is complete only when
// the problems hold no error; it is never nil.
func Build(f *File) (*Board, []mistake.Mistake) {
	nets, parts := f.sizes()
	b := &builder{f: f, board: &Board{
		file: f, netIndex: make(map[string]NetID, nets), partIndex: make(map[string]PartID, parts),
		laneIndex: map[string]int{}, factIndex: map[string]int{},
	}}
	b.board.Parts = make([]Part, 0, parts)
	b.board.Nets = make([]Net, 0, nets)
	for st := range f.Statements() {
		b.statement(st)
	}
	if b.board.Name == "" && !f.lost && !mistake.HasErrors(b.problems) {
		b.problems = append(b.problems, mistake.Mistake{File: f.Name, Code: "no-board", Msg: "the file does not say which board it describes",
			Want: `a first line such as: board larkspur13 "Larkspur 13, display path"`})
	}
	b.inputs()
	b.finishReads()
	b.clashes()
	b.board.index()
	b.board.bear()
	for _, r := range b.rules {
		b.condition(r)
	}
	for _, st := range b.late {
		b.lateStatement(st)
	}
	// Nets named by late statements were there already, so the tables hold.
	return b.board, b.problems
}

// sizes estimates how many nets and parts a file has, so that their tables need
// not grow: a statement that is no net line is taken for a part, and a board has
// about as many nets as parts.
func (f *File) sizes() (nets, parts int) {
	for _, l := range f.Lines {
		if l.Role != HeadLine {
			continue
		}
		if f.Text(f.args[l.from].Span) == "net" {
			nets++
		} else {
			parts++
		}
	}
	return max(nets, parts), parts
}

// Read parses, builds and checks a board file in one go.
func Read(name, src string) (*Board, []mistake.Mistake) {
	f, problems := Parse(name, src)
	if len(src) > MaxFileBytes {
		return &Board{file: f}, problems
	}
	board, more := Build(f)
	problems = append(problems, more...)
	broken := mistake.HasErrors(problems)
	for _, p := range Check(board) {
		// A line that was refused leaves its nets and parts missing elsewhere.
		missing := p.Code == "dangling" || p.Code == "no-ground" || p.Code == "no-supply"
		if !broken || !missing {
			problems = append(problems, p)
		}
	}
	mistake.Sort(problems)
	return board, problems
}

func (b *builder) fail(s Span, code, msg, want, near string) {
	if len(b.problems) < maxProblems {
		b.problems = append(b.problems, b.f.problem(s, code, msg, want, near))
	}
}

// maxCompared bounds the search for suggestions, which goes through all names
// for each problem: some seconds on a board of a million parts.
const maxCompared = 1 << 20

// near suggests a net, lane or fact. Once a file has too many problems to
// print, it looks no further.
func (b *builder) near(name string) string {
	if len(b.problems) >= maxProblems || b.compared > maxCompared {
		return ""
	}
	names := b.board.knownNames()
	b.compared += len(names)
	return mistake.Nearest(name, names)
}

// nearPart suggests a designator.
func (b *builder) nearPart(name string) string {
	if len(b.problems) >= maxProblems || b.compared > maxCompared {
		return ""
	}
	b.compared += len(b.board.Parts)
	return mistake.Nearest(name, b.board.PartNames())
}

// failTyped reports a mistake of what a stretch of the file says, read as if it
// were typed.
func (b *builder) failTyped(s Span, code string, err error) {
	var m mistake.Mistake
	if !errors.As(err, &m) {
		b.fail(s, code, err.Error(), "", "")
		return
	}
	text := []rune(b.f.Text(s))
	from := min(max(0, m.Column-1), len(text))
	to := min(from+max(1, m.Width), len(text))
	at := s.Start + int32(len(string(text[:from])))
	b.fail(Span{at, at + int32(max(1, len(string(text[from:to]))))}, code, m.Msg, m.Want, m.Near)
}

// plain returns the text of an argument that must be a single word.
func (b *builder) plain(a Arg) (string, bool) {
	if a.Kind != WordArg || a.list != 0 || a.Val.To != (Span{}) {
		return "", false
	}
	return b.f.Text(a.Span), true
}

// after returns the span just behind an argument, for what is missing there.
func after(args []Arg) Span {
	end := args[len(args)-1].Span.End
	return Span{end - 1, end}
}

func (b *builder) statement(st Stmt) {
	head := st.Args[0]
	word, ok := b.plain(head)
	if !ok {
		b.fail(head.Span, "statement", "a line begins with the kind of part or statement", "a word such as fuse or net", "")
		return
	}
	switch word {
	case "board", "state", "net", "lane", "symptom", "stage", "weight":
	default:
		k := KindByName(word)
		if k == nil {
			b.unknownKind(head.Span, word)
			return
		}
		b.part(k, st)
		return
	}
	if len(st.Args) < 2 {
		b.fail(after(st.Args), "missing-name", fmt.Sprintf("%s needs a name", word), b.form(word), "")
		return
	}
	if word != "net" && len(st.Rules) > 0 {
		b.fail(st.Rules[0][0].Span, "rule-place", fmt.Sprintf("a rule cannot stand under %s", word), "rules under a part or a net", "")
	}
	switch word {
	case "board":
		b.boardLine(st)
	case "state":
		b.stateLine(st)
	case "net":
		b.netLine(st)
	case "lane":
		b.laneLine(st)
	default:
		b.late = append(b.late, Stmt{Args: st.Args})
	}
}

func (b *builder) form(word string) string {
	for _, w := range StatementWords {
		if w.Name == word {
			return w.Form
		}
	}
	return ""
}

func (b *builder) unknownKind(s Span, word string) {
	words := KindNames()
	for _, w := range StatementWords {
		words = append(words, w.Name)
	}
	near := mistake.Nearest(word, words)
	if alias, ok := kindAliases[strings.ToLower(word)]; ok {
		near = alias
	}
	b.fail(s, "unknown-kind", fmt.Sprintf("unknown word %q", word), "a kind of part or a statement word (walkback kinds lists them)", near)
}

// kindAliases are words that people use for a kind that has another name here.
var kindAliases = map[string]string{
	"inductor": "coil", "bead": "ferrite", "cap": "capacitor", "res": "resistor", "ldo": "regulator", "buck": "regulator",
	"led": "leds", "switch": "loadswitch", "mosfet": "pfet", "fet": "nfet", "transistor": "nfet", "bjt": "npn", "levelshifter": "shifter",
	"eeprom": "rom", "edid": "rom",
	"testpoint": "point", "tp": "point", "tvs": "clamp", "esd": "clamp", "gpu": "source", "hall": "sensor", "not": "inverter",
	"wire": "cable", "plug": "connector", "socket": "connector", "battery": "supply", "adapter": "supply", "rail": "net", "ec": "controller",
}

func (b *builder) boardLine(st Stmt) {
	name, ok := b.plain(st.Args[1])
	switch {
	case b.board.Name != "":
		b.fail(st.Args[0].Span, "duplicate", "a file describes one board", "one board line", "")
	case !ok:
		b.fail(st.Args[1].Span, "name", "a board's name is one word", b.form("board"), "")
	default:
		b.board.Name = name
		for _, a := range st.Args[2:] {
			if a.Kind != TextArg || b.board.Title != "" {
				b.fail(a.Span, "syntax", "a board has a name and a title", b.form("board"), "")
				return
			}
			b.board.Title = unquote(b.f.Text(a.Span))
		}
	}
}

func (b *builder) stateLine(st Stmt) {
	s := State{Span: st.Args[1].Span}
	for i, a := range st.Args[1:] {
		word, ok := b.plain(a)
		switch {
		case i == 0 && ok:
			s.Name = word
		case ok && slices.Contains(s.Values, word):
			b.fail(a.Span, "duplicate", fmt.Sprintf("the value %s stands twice", word), "different values", "")
		case ok:
			s.Values = append(s.Values, word)
		case a.Kind == TextArg && i > 0:
			s.Note = unquote(b.f.Text(a.Span))
		default:
			b.fail(a.Span, "syntax", "a state has a name and values, each one word", b.form("state"), "")
			return
		}
	}
	if len(s.Values) < 2 {
		b.fail(after(st.Args), "state-values", fmt.Sprintf("the state %s has fewer than two values", s.Name), b.form("state"), "")
		return
	}
	if slices.ContainsFunc(b.board.States, func(x State) bool { return x.Name == s.Name }) {
		b.fail(s.Span, "duplicate", fmt.Sprintf("the state %s is declared twice", s.Name), "", "")
		return
	}
	b.board.States = append(b.board.States, s)
}

// netID returns the net of that name, and makes it when it is new.
func (b *builder) netID(s Span, name string) NetID {
	if id, ok := b.board.netIndex[name]; ok {
		return id
	}
	id := NetID(len(b.board.Nets))
	b.board.Nets = append(b.board.Nets, Net{Name: name, Like: None, Across: None, Span: s})
	b.board.netIndex[name] = id
	return id
}

func (b *builder) netLine(st Stmt) {
	head := st.Args[1]
	if head.Kind != WordArg {
		b.fail(head.Span, "name", "a net's name is one word", b.form("net"), "")
		return
	}
	var n Net
	e, valued := b.expect(st.Args[2:], &n)
	for _, r := range st.Rules {
		b.expectRule(&n, r)
	}
	if valued {
		n.Expect = append(n.Expect, e)
	} else if !n.Ground && len(n.Expect) > 0 {
		b.fail(head.Span, "net-value", fmt.Sprintf("%s has values for some states and none for the others", b.f.Text(head.Span)),
			"a value on the net line itself", "")
	}
	for _, id := range b.netList(head) {
		old := &b.board.Nets[id]
		if old.Declared {
			line, _ := b.f.Position(old.Span.Start)
			b.fail(head.Span, "duplicate", fmt.Sprintf("the net %s is declared on line %d too", old.Name, line), "one net line", "")
			continue
		}
		name := old.Name
		*old = n
		old.Name, old.Declared, old.Like, old.Across, old.Span = name, true, None, None, head.Span
	}
}

// netNameOK refuses names that could not be told from values or signs.
func (b *builder) netNameOK(s Span, name string) bool {
	if isRuleWord(name) || name == "when" {
		b.fail(s, "name", fmt.Sprintf("%s is a word of the format and cannot name a net", name), "another name", "")
		return false
	}
	return true
}

// expect reads the values on a net line.
func (b *builder) expect(args []Arg, n *Net) (e Expect, valued bool) {
	for _, a := range args {
		word, ok := b.plain(a)
		switch {
		case a.Kind == TextArg:
			n.Note = unquote(b.f.Text(a.Span))
		case ok && word == "ground":
			n.Ground = true
		case ok && strings.HasSuffix(word, "%"):
			if e.Tol, _ = b.number(a.Span, Percent); e.Tol < 0 || e.Tol >= 1 {
				b.fail(a.Span, "tolerance", "a tolerance is how far a net may be off, a share of its voltage", "a percentage from 0% to below 100%", "")
				e.Tol = 0
			}
		case ok && !valued:
			if v, good := b.number(a.Span, Volt); good {
				e.Value, valued = v, true
			}
		case a.Kind == PairArg:
			b.netAttr(a, n, &e)
		default:
			b.fail(a.Span, "syntax", fmt.Sprintf("%s is not expected on a net line", b.f.Text(a.Span)), b.form("net"), "")
		}
	}
	if n.Ground && valued {
		b.fail(args[0].Span, "net-value", "ground is the point that voltages are taken against and has none", "ground or a voltage", "")
	}
	return e, valued && !n.Ground
}

func (b *builder) netAttr(a Arg, n *Net, e *Expect) {
	key := b.f.Text(a.Key)
	value := func(u Unit) float64 {
		if a.list != 0 || a.Val.To != (Span{}) || a.Pin != (Span{}) {
			b.fail(a.Span, "syntax", fmt.Sprintf("%s takes one value", key), unitPhrase(u), "")
			return 0
		}
		v, _ := b.number(a.Val.From, u)
		return v
	}
	switch key {
	case "swing":
		e.Swing = value(Volt)
	case "rate":
		e.Rate = value(Hertz)
	case "cold":
		n.Cold = Band{value(Ohm), 0.3}
	case "diode":
		n.Diode = Band{value(Volt), 0.1}
	default:
		words := []string{"swing", "rate", "cold", "diode"}
		b.fail(a.Key, "unknown-attribute", fmt.Sprintf("a net has no attribute %q", key), "one of "+strings.Join(words, ", "),
			mistake.Nearest(key, words))
	}
}

// number reads a value and reports what is wrong with it.
func (b *builder) number(s Span, u Unit) (float64, bool) {
	text := b.f.Text(s)
	if strings.HasPrefix(text, `"`) {
		text = unquote(text)
	}
	v, err := ParseValue(text, u)
	if err != nil {
		b.fail(s, "value", err.Error(), unitPhrase(u), "")
	}
	return v, err == nil
}

// expectRule reads: expect 12.1V 5% when lid=shut.
func (b *builder) expectRule(n *Net, args []Arg) {
	if b.f.Text(args[0].Span) != "expect" {
		b.fail(args[0].Span, "rule-place", fmt.Sprintf("%s cannot stand under a net", b.f.Text(args[0].Span)),
			"expect under a net; the other rules under a part", "")
		return
	}
	when := slices.IndexFunc(args, func(a Arg) bool { w, ok := b.plain(a); return ok && w == "when" })
	if when < 0 || when == len(args)-1 {
		b.fail(after(args), "syntax", "the state in which the value holds is missing", "when STATE=VALUE", "")
		return
	}
	e, valued := b.expect(args[1:when], n)
	if !valued {
		b.fail(args[0].Span, "value", "the value to expect is missing", "a voltage such as 12.1V", "")
		return
	}
	term := true // a term comes next, not a sign
	for _, a := range args[when+1:] {
		sign := byte(0)
		if a.Kind == OpArg {
			sign = b.f.Src[a.Span.Start]
		}
		switch {
		case term && (sign == '&' || sign == '|') || !term && a.Kind == PairArg:
			b.fail(a.Span, "condition", fmt.Sprintf("%s is not expected here", b.f.Text(a.Span)), "STATE=VALUE, joined by & or |", "")
			return
		case sign == '&':
			term = true
		case sign == '|':
			n.Expect, term = append(n.Expect, e), true
			e.When = nil
		case a.Kind == PairArg:
			term = false
			x, ok := b.stateTerm(a)
			if !ok {
				return
			}
			e.When = append(e.When, x.State)
		default:
			b.fail(a.Span, "condition", "what a net reads can depend on states alone", "STATE=VALUE, joined by & or |", "")
			return
		}
	}
	if term {
		b.fail(after(args), "condition", "the condition stops too early", "STATE=VALUE", "")
		return
	}
	n.Expect = append(n.Expect, e)
}

func (b *builder) laneLine(st Stmt) {
	name, ok := b.plain(st.Args[1])
	if !ok {
		b.fail(st.Args[1].Span, "name", "a lane's name is one word", b.form("lane"), "")
		return
	}
	l := Lane{Name: name, Span: st.Args[1].Span}
	for _, a := range st.Args[2:] {
		word, plain := b.plain(a)
		switch {
		case a.Kind == TextArg:
			l.Note = unquote(b.f.Text(a.Span))
		case plain && word == "clock":
			l.Clock = true
		case plain && word == "data":
		case a.Kind == WordArg:
			l.Nets = append(l.Nets, b.netList(a)...)
		default:
			b.fail(a.Span, "syntax", fmt.Sprintf("%s is not expected on a lane line", b.f.Text(a.Span)), b.form("lane"), "")
			return
		}
	}
	if n := len(l.Nets); n != 1 && n != 2 {
		b.fail(after(st.Args), "lane-nets", fmt.Sprintf("the lane %s has %d nets", name, n), "one conductor or two", "")
		return
	}
	if b.nameFree(l.Span, name) {
		b.board.laneIndex[name] = len(b.board.Lanes)
		b.board.Lanes = append(b.board.Lanes, l)
	}
}

// nameFree reports whether a name of a lane or a fact is taken by neither a net
// nor another lane or fact.
func (b *builder) nameFree(s Span, name string) bool {
	if _, taken := b.board.Lookup(name); taken {
		b.fail(s, "duplicate", fmt.Sprintf("the name %s is taken", name), "a name of its own for each net, lane and fact", "")
		return false
	}
	return true
}
