package netlist

import (
	"fmt"
	"slices"

	"example.org/walkback/netlist/mistake"
)

// rule reads a rule under a part; its condition is read later, when every name
// is known. Nets that a rule names are joined to the part's io pin.
func (b *builder) rule(id PartID, word string, args []Arg) {
	r := Rule{Word: word, Fact: None, From: None, Span: args[0].Span}
	when := slices.IndexFunc(args, func(a Arg) bool { w, ok := b.plain(a); return ok && w == "when" })
	body, cond := args[1:], []Arg(nil)
	if when >= 0 {
		body, cond = args[1:when], args[when+1:]
		if len(cond) == 0 {
			b.fail(args[when].Span, "condition", "the condition after when is missing", "a net, a lane, a fact or STATE=VALUE", "")
			return
		}
	}
	ok := true
	if word == "reads" || word == "makes" {
		ok = b.factRule(id, &r, body)
	} else {
		for _, a := range body {
			if a.Kind != WordArg {
				b.fail(a.Span, "syntax", fmt.Sprintf("%s is not expected here", b.f.Text(a.Span)), b.ruleForm(word), "")
				return
			}
			// V3 and K2 read as voltages too, but are names.
			if w, plain := b.plain(a); plain && len(r.Nets) > 0 && w[0] >= '0' && w[0] <= '9' {
				_, known := b.board.netIndex[w]
				if _, err := ParseValue(w, Volt); err == nil && !known {
					b.fail(a.Span, "syntax", "the voltage of a net is declared once, on its net line",
						fmt.Sprintf("net %s %s", b.board.Nets[r.Nets[0]].Name, w), "")
					return
				}
			}
			r.Nets = append(r.Nets, b.netList(a)...)
		}
		if len(r.Nets) == 0 {
			b.fail(args[0].Span, "syntax", fmt.Sprintf("%s names no net", word), b.ruleForm(word), "")
			return
		}
	}
	if !ok {
		return
	}
	p := &b.board.Parts[id]
	b.joinIO(p, r.Nets)
	p.Rules = append(p.Rules, r)
	ref := RuleRef{id, len(p.Rules) - 1}
	if r.Fact != None {
		b.board.Facts[r.Fact].Makers = append(b.board.Facts[r.Fact].Makers, ref)
	}
	if cond != nil {
		b.rules = append(b.rules, lateRule{ref, cond, after(args)})
	}
}

func (b *builder) ruleForm(word string) string {
	for _, w := range RuleWords {
		if w.Name == word {
			return w.Form
		}
	}
	return ""
}

// joinIO joins nets to the io pin of a part, each once.
func (b *builder) joinIO(p *Part, nets []NetID) {
	io := p.Kind.PinIndex("io")
	if io < 0 {
		return
	}
	for _, n := range nets {
		if b.board.Nets[n].Ground || slices.ContainsFunc(p.Conns, func(c Conn) bool { return c.Net == n }) {
			continue
		}
		if len(p.Conns) >= 2*maxChannels {
			b.fail(p.Span, "pins", fmt.Sprintf("%s has more than %d pins", p.Name, 2*maxChannels), "", "")
			return
		}
		p.Conns = append(p.Conns, Conn{Pin: int16(io), Net: n, Span: p.Span})
	}
}

// factRule reads the body of reads and makes.
func (b *builder) factRule(id PartID, r *Rule, body []Arg) bool {
	form := b.ruleForm(r.Word)
	if len(body) == 0 {
		b.fail(r.Span, "syntax", fmt.Sprintf("%s names no fact", r.Word), form, "")
		return false
	}
	name, ok := b.plain(body[0])
	if !ok {
		b.fail(body[0].Span, "name", "a fact's name is one word", form, "")
		return false
	}
	from := ""
	var fromSpan Span
	for _, a := range body[1:] {
		key := ""
		if a.Kind == PairArg {
			key = b.f.Text(a.Key)
		}
		switch {
		case key == "from" && r.Word == "reads" && a.list == 0 && a.Val.To == (Span{}):
			from, fromSpan = b.f.Text(a.Val.From), a.Val.From
		case key == "over" && r.Word == "reads":
			r.Nets = b.netList(a)
		case key == "at" && r.Word == "reads":
			r.At = b.netList(a)
		default:
			b.fail(a.Span, "syntax", fmt.Sprintf("%s is not expected here", b.f.Text(a.Span)), form,
				mistake.Nearest(key, []string{"from", "over", "at"}))
			return false
		}
	}
	if r.Word == "reads" && (from == "" || len(r.Nets) == 0) {
		b.fail(r.Span, "syntax", "a read needs the part that is read and the lines it is read over", form, "")
		return false
	}
	if i, known := b.board.factIndex[name]; known {
		r.Fact = i
	} else {
		if !b.nameFree(body[0].Span, name) {
			return false
		}
		r.Fact = len(b.board.Facts)
		b.board.factIndex[name] = r.Fact
		b.board.Facts = append(b.board.Facts, Fact{Name: name, Span: body[0].Span})
	}
	if from != "" {
		// The part read may stand further down; remember the name until then.
		b.reads = append(b.reads, lateRead{RuleRef{id, len(b.board.Parts[id].Rules)}, from, fromSpan})
	}
	return true
}

// lateRead is a read whose other end waits until all parts are known.
type lateRead struct {
	ref  RuleRef
	from string
	span Span
}

// finishReads finds the parts that reads name.
func (b *builder) finishReads() {
	for _, lr := range b.reads {
		p := &b.board.Parts[lr.ref.Part]
		id, ok := b.board.partIndex[lr.from]
		if !ok {
			b.fail(lr.span, "unknown-part", fmt.Sprintf("no part is called %q", lr.from), "the designator of the part that is read",
				b.nearPart(lr.from))
			continue
		}
		r := &p.Rules[lr.ref.Rule]
		r.From = id
		from := &b.board.Parts[id]
		if len(r.At) == 0 {
			r.At = from.lineNets()
		}
		if len(r.At) != len(r.Nets) {
			b.fail(lr.span, "unreadable", fmt.Sprintf("%s is read over %d nets, and %d of its own lines are known", lr.from, len(r.Nets), len(r.At)),
				"at= with its own nets, as many as over= has", "")
			continue
		}
		b.joinIO(from, r.At)
	}
}

// lineNets returns the nets that a part is read over: clock, then data.
func (p *Part) lineNets() []NetID {
	var nets []NetID
	for _, pin := range []string{"scl", "sda"} {
		if n := p.Net(pin); n != None {
			nets = append(nets, n)
		}
	}
	return nets
}

// condition reads the condition of a rule.
func (b *builder) condition(lr lateRule) {
	x := exprParser{b: b, args: lr.args, end: lr.end}
	e, ok := x.parse()
	if !ok {
		return
	}
	b.board.Parts[lr.ref.Part].Rules[lr.ref.Rule].When = e
}

// inputs joins the nets and the conductors of lanes that conditions name to the
// parts that listen to them.
func (b *builder) inputs() {
	for _, lr := range b.rules {
		p := &b.board.Parts[lr.ref.Part]
		for _, a := range lr.args {
			if a.Kind != WordArg {
				continue
			}
			t, _ := b.board.Lookup(b.f.Text(a.Span))
			switch {
			case t.Net != None:
				b.joinIO(p, []NetID{t.Net})
			case t.Lane != None:
				b.joinIO(p, b.board.Lanes[t.Lane].Nets)
			}
		}
	}
}
