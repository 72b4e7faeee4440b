package netlist

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"example.org/walkback/netlist/mistake"
)

// part reads one component with its rules.
func (b *builder) part(k *Kind, st Stmt) {
	if len(st.Args) < 2 {
		b.fail(after(st.Args), "missing-name", fmt.Sprintf("the %s has no designator", k.Name), "as in "+k.Example, "")
		return
	}
	name, ok := b.plain(st.Args[1])
	if !ok {
		b.fail(st.Args[1].Span, "missing-name", fmt.Sprintf("the %s has no designator", k.Name), "as in "+k.Example, "")
		return
	}
	if old, taken := b.board.partIndex[name]; taken {
		line, _ := b.f.Position(b.board.Parts[old].Span.Start)
		b.fail(st.Args[1].Span, "duplicate", fmt.Sprintf("the designator %s stands on line %d too", name, line),
			"a designator of its own for each part", "")
		return
	}
	id := PartID(len(b.board.Parts))
	b.board.partIndex[name] = id
	b.board.Parts = append(b.board.Parts, Part{Kind: k, Name: name, Span: st.Args[1].Span, Conns: b.conns[:0], Attrs: b.attrs[:0]})
	pr := partReader{b: b, k: k, p: &b.board.Parts[id]}
	before := len(b.problems)
	pr.args(st.Args[2:])
	for _, r := range st.Rules {
		word := b.f.Text(r[0].Span)
		switch {
		case !k.AllowsRule(word):
			want := "no rule under this kind"
			if len(k.Rules) > 0 {
				want = "one of " + strings.Join(k.Rules, ", ")
			}
			b.fail(r[0].Span, "rule-place", fmt.Sprintf("%s cannot stand under a %s", word, k.Name), want, "")
		case word == "pin":
			pr.row(r)
		default:
			b.rule(id, word, r)
		}
	}
	// The rules may have moved the slice of parts.
	pr.p = &b.board.Parts[id]
	if len(b.problems) == before {
		pr.finish()
	}
	b.settle(pr.p)
}

// settle moves what a part has from the buffers that all parts share into a slab.
func (b *builder) settle(p *Part) {
	b.conns, b.attrs = p.Conns[:0], p.Attrs[:0]
	p.Conns, p.Attrs = keep(&b.connSlab, p.Conns), keep(&b.attrSlab, p.Attrs)
}

// slabSize is how many items one slab holds: a board of a million parts then
// costs a few hundred allocations here, and not millions.
const slabSize = 4096

// keep copies a list to the end of a slab and returns it there, with no room
// behind it, so that a later append moves it away.
func keep[T any](slab *[]T, list []T) []T {
	if len(list) == 0 {
		return nil
	}
	if cap(*slab)-len(*slab) < len(list) {
		*slab = make([]T, 0, max(slabSize, len(list)))
	}
	n := len(*slab)
	*slab = append(*slab, list...)
	return (*slab)[n:len(*slab):len(*slab)]
}

// partReader collects what is written of one part.
type partReader struct {
	b        *builder
	k        *Kind
	p        *Part
	left     []Arg // positional arguments before the arrow
	right    []Arg
	arrow    bool
	channels int
}

func (pr *partReader) args(args []Arg) {
	for _, a := range args {
		switch a.Kind {
		case ArrowArg:
			if pr.arrow {
				pr.b.fail(a.Span, "syntax", "a second arrow", "one arrow, as in "+pr.k.Example, "")
				return
			}
			pr.arrow = true
		case TextArg:
			pr.p.Note = unquote(pr.b.f.Text(a.Span))
		case PairArg:
			pr.pair(a)
		case WordArg:
			pr.positional(a)
		default:
			pr.b.fail(a.Span, "syntax", fmt.Sprintf("%s is not expected here", pr.b.f.Text(a.Span)), "as in "+pr.k.Example, "")
		}
	}
	pr.ends()
}

func (pr *partReader) positional(a Arg) {
	full := len(pr.right) > 0 || pr.k.Form == SingleForm && len(pr.left) > 0 && !pr.arrow || pr.k.Form == NamedForm
	if full {
		if word, ok := pr.b.plain(a); ok && pr.k.Main != "" {
			pr.attr(pr.k.Main, a.Span, word, a.Span)
			return
		}
		pr.b.fail(a.Span, "syntax", fmt.Sprintf("%s is not expected here", pr.b.f.Text(a.Span)), "KEY=VALUE, as in "+pr.k.Example, "")
		return
	}
	if pr.arrow {
		pr.right = append(pr.right, a)
	} else {
		pr.left = append(pr.left, a)
	}
}

// ends joins the nets written around the arrow.
func (pr *partReader) ends() {
	b, k := pr.b, pr.k
	bad := func(msg string) {
		b.fail(pr.p.Span, "pins", fmt.Sprintf("%s: %s", pr.p.Name, msg), "as in "+k.Example, "")
	}
	switch k.Form {
	case SingleForm:
		if pr.arrow || len(pr.left) != 1 {
			bad("it sits on one net")
			return
		}
		pr.join(0, 0, b.netList(pr.left[0]), pr.left[0].Span)
	case OutForm:
		if !pr.arrow || len(pr.left) > 0 || len(pr.right) != 1 {
			bad("an arrow leads to its one net")
			return
		}
		pr.join(0, 0, b.netList(pr.right[0]), pr.right[0].Span)
	case NamedForm:
		if pr.arrow {
			bad("its pins are written by name")
		}
	case ArrowForm, RowsForm:
		if k.Form == RowsForm && !pr.arrow && len(pr.left) == 0 {
			return
		}
		if !pr.arrow || len(pr.left) != 1 || len(pr.right) != 1 {
			bad("one net, or one list of nets, stands on each side of the arrow")
			return
		}
		pr.span(pr.left[0], pr.right[0], "")
	}
}

// span joins two lists of nets of the same length as channels.
func (pr *partReader) span(left, right Arg, num string) {
	b := pr.b
	before := len(b.problems)
	a, z := b.netsInto(b.left[:0], left), b.netsInto(b.right[:0], right)
	b.left, b.right = a, z
	if len(b.problems) > before {
		return
	}
	// A side whose pin takes no list is common to all channels.
	left1, right1 := !pr.k.Pins[0].Many, !pr.k.Pins[1].Many
	spread := left1 && !right1 && len(a) == 1 || right1 && !left1 && len(z) == 1
	if len(a) != len(z) && !spread {
		b.fail(right.Span, "list-length", fmt.Sprintf("%d nets on the left of the arrow and %d on the right", len(a), len(z)),
			"as many on both sides", "")
		return
	}
	if len(a) > 1 && left1 || len(z) > 1 && right1 {
		b.fail(right.Span, "list-length", fmt.Sprintf("a %s has one net on each side", pr.k.Name), "as in "+pr.k.Example, "")
		return
	}
	for i := range max(len(a), len(z)) {
		if i < len(a) && i < len(z) && a[i] == z[i] {
			b.fail(right.Span, "self-short", fmt.Sprintf("%s has the net %s on both sides", pr.p.Name, b.board.Nets[a[i]].Name),
				"two different nets", "")
			return
		}
	}
	for i, n := range a {
		pr.p.Conns = append(pr.p.Conns, Conn{Pin: 0, Channel: int16(pr.channels + i), Net: n, Num: num, Span: left.Span})
	}
	for i, n := range z {
		pr.p.Conns = append(pr.p.Conns, Conn{Pin: 1, Channel: int16(pr.channels + i), Net: n, Num: num, Span: right.Span})
	}
	pr.channels += max(len(a), len(z))
}

// maxChannels bounds the pins of one part.
const maxChannels = 4096

// join puts nets on a pin, one channel each.
func (pr *partReader) join(pin int, firstChannel int, nets []NetID, s Span) {
	for i, n := range nets {
		pr.p.Conns = append(pr.p.Conns, Conn{Pin: int16(pin), Channel: int16(firstChannel + i), Net: n, Span: s})
	}
}

// row reads: pin 7 VBL -> VBL_C. A pin with one net leads nowhere: pin 3 GND.
func (pr *partReader) row(args []Arg) {
	b := pr.b
	want := "pin NUMBER NET -> NET, as in pin 7 VBL -> VBL_C"
	single := len(args) == 3
	if !single && len(args) != 5 || single && (args[1].Kind != WordArg || args[2].Kind != WordArg) || !single &&
		(args[1].Kind != WordArg || args[2].Kind != WordArg || args[3].Kind != ArrowArg || args[4].Kind != WordArg) {
		b.fail(args[0].Span, "pin-row", "this is not a pin with a net on each side", want, "")
		return
	}
	if pr.channels >= maxChannels {
		b.fail(args[0].Span, "pins", fmt.Sprintf("a part has at most %d pins", maxChannels), "", "")
		return
	}
	num, ok := b.plain(args[1])
	if !ok {
		b.fail(args[1].Span, "pin-row", "a row is one pin, with one number", want, "")
		return
	}
	if slices.ContainsFunc(pr.p.Conns, func(c Conn) bool { return c.Num == num }) {
		b.fail(args[1].Span, "duplicate", fmt.Sprintf("%s has two pins %s", pr.p.Name, num), "a number of its own for each pin", "")
		return
	}
	if single {
		nets := b.netList(args[2])
		if len(nets) > 1 {
			b.fail(args[2].Span, "pin-row", "a pin has one net on each side", want, "")
			return
		}
		for _, n := range nets {
			pr.p.Conns = append(pr.p.Conns, Conn{Channel: int16(pr.channels), Net: n, Num: num, Span: args[2].Span})
			pr.channels++
		}
		return
	}
	before := pr.channels
	pr.span(args[2], args[4], num)
	if pr.channels > before+1 {
		b.fail(args[4].Span, "pin-row", "a pin has one net on each side", want, "")
	}
}

func (pr *partReader) pair(a Arg) {
	b, key := pr.b, pr.b.f.Text(a.Key)
	if i := pr.k.PinIndex(key); i >= 0 && pr.k.Form != RowsForm && (pr.k.Form != ArrowForm || i >= 2) {
		nets := b.netList(a)
		if len(nets) > 1 && !pr.k.Pins[i].Many {
			b.fail(a.Span, "list-length", fmt.Sprintf("the pin %s of a %s takes one net", key, pr.k.Name), "one net", "")
			return
		}
		if slices.ContainsFunc(pr.p.Conns, func(c Conn) bool { return int(c.Pin) == i }) {
			b.fail(a.Key, "duplicate", fmt.Sprintf("the pin %s is written twice", key), "one list with commas", "")
			return
		}
		pr.join(i, 0, nets, a.Val.From)
		if a.Pin != (Span{}) && len(nets) > 0 {
			pr.p.Conns[len(pr.p.Conns)-1].Num = b.f.Text(a.Pin)
		}
		return
	}
	if pr.k.AttrByName(key) != nil {
		switch {
		case a.list != 0 || a.Val.To != (Span{}):
			b.fail(a.Span, "syntax", fmt.Sprintf("%s takes one value", key), "", "")
			return
		case a.Pin != (Span{}):
			b.fail(a.Pin, "syntax", fmt.Sprintf("%s is no pin and has no number", key), key+"=VALUE", "")
			return
		}
	}
	pr.attr(key, a.Key, b.f.Text(a.Val.From), a.Val.From)
}

func (pr *partReader) attr(key string, keySpan Span, text string, s Span) {
	b := pr.b
	at := pr.k.AttrByName(key)
	if at == nil {
		pr.unknownKey(key, keySpan)
		return
	}
	if slices.ContainsFunc(pr.p.Attrs, func(x AttrVal) bool { return x.Attr.Name == key }) {
		b.fail(keySpan, "duplicate", fmt.Sprintf("%s is written twice", key), "one value", "")
		return
	}
	if strings.HasPrefix(text, `"`) {
		text = unquote(text)
	}
	v := AttrVal{Attr: at, Text: text}
	switch {
	case len(at.Words) > 0:
		if !slices.Contains(at.Words, text) {
			b.fail(s, "value", fmt.Sprintf("%q is not a value of %s", text, key), "one of "+strings.Join(at.Words, ", "),
				mistake.Nearest(text, at.Words))
			return
		}
	case at.Text:
		if text == "" {
			b.fail(s, "value", key+" is empty", at.Doc, "")
			return
		}
	default:
		n, ok := b.number(s, at.Unit)
		if !ok {
			return
		}
		if n < 0 {
			b.fail(s, "value", fmt.Sprintf("%s cannot be negative", key), unitPhrase(at.Unit), "")
			return
		}
		if at.Name == "weight" && (n < leastFactor || n > mostFactor) {
			b.fail(s, "weight", fmt.Sprintf("%s is not a weight", text), factorRange, "")
			return
		}
		v.Value = n
	}
	pr.p.Attrs = append(pr.p.Attrs, v)
}

func (pr *partReader) unknownKey(key string, s Span) {
	var pins, words []string
	for i, p := range pr.k.Pins {
		if pr.k.Form == NamedForm || pr.k.Form == ArrowForm && i >= 2 {
			pins = append(pins, p.Name)
		}
	}
	words = append(words, pins...)
	for _, list := range [][]Attr{pr.k.Attrs, CommonAttrs} {
		for _, at := range list {
			words = append(words, at.Name)
		}
	}
	pr.b.fail(s, "unknown-attribute", fmt.Sprintf("a %s has no pin or attribute %q", pr.k.Name, key), "one of "+strings.Join(words, ", "),
		mistake.Nearest(key, words))
}

// finish checks that every pin that must be there is.
func (pr *partReader) finish() {
	b := pr.b
	for i, pin := range pr.k.Pins {
		if pin.Optional || slices.ContainsFunc(pr.p.Conns, func(c Conn) bool { return int(c.Pin) == i }) {
			continue
		}
		if pr.k.Form == ArrowForm && i < 2 {
			continue // said already
		}
		b.fail(pr.p.Span, "missing-pin", fmt.Sprintf("%s has nothing on its %s pin (%s)", pr.p.Name, pin.Name, pin.Doc), "as in "+pr.k.Example,
			"")
	}
	if pr.k.Form == NamedForm && len(pr.k.Passes) == 0 && pr.k.Logic == NoLogic {
		for _, g := range pr.k.Gives {
			out := pr.p.Net(g.Pin)
			if slices.ContainsFunc(pr.p.Conns, func(c Conn) bool { return c.Net == out && pr.k.Pins[c.Pin].Name != g.Pin }) && out != None {
				b.fail(pr.p.Span, "self-short", fmt.Sprintf("%s has the net %s on two of its pins", pr.p.Name, b.board.Nets[out].Name),
					"two different nets", "")
			}
		}
	}
}

// maxRanged bounds what the ranges of a file write out, since a few bytes of it
// can stand for thousands of names.
const maxRanged = 1 << 18

// netList returns the nets that an argument names, with ranges written out.
func (b *builder) netList(a Arg) []NetID { return b.netsInto(nil, a) }

// netsInto is netList into a buffer.
func (b *builder) netsInto(ids []NetID, a Arg) []NetID {
	if s := a.Val.From; a.list == 0 && a.Val.To == (Span{}) && b.f.Src[s.Start] != '"' {
		// Nearly every argument is one name, and needs no list made of it.
		if name := b.f.Text(s); b.netNameOK(s, name) {
			ids = append(ids, b.netID(s, name))
		}
		return ids
	}
	for _, v := range b.f.Vals(a) {
		if b.f.Src[v.From.Start] == '"' {
			b.fail(v.From, "name", "a net's name is not written in quotes", "a word", "")
			continue
		}
		if v.To == (Span{}) {
			if name := b.f.Text(v.From); b.netNameOK(v.From, name) {
				ids = append(ids, b.netID(v.From, name))
			}
			continue
		}
		if len(ids) >= MaxRange || b.ranged >= maxRanged {
			b.fail(Span{v.From.Start, v.To.End}, "range", fmt.Sprintf("more than %d names in one list or %d in the ranges of one file", MaxRange,
				maxRanged), "shorter ranges", "")
			break
		}
		list, err := expandRange(b.f.Text(v.From), b.f.Text(v.To))
		b.ranged += len(list)
		if err != nil {
			b.fail(Span{v.From.Start, v.To.End}, "range", err.Error(), "a range such as K1..K4", "")
			continue
		}
		for _, name := range list {
			ids = append(ids, b.netID(v.From, name))
		}
	}
	return ids
}

// expandRange writes out K1..K4, or K1..4, as K1 K2 K3 K4.
func expandRange(from, to string) ([]string, error) {
	fail := fmt.Errorf("the range %s..%s does not count upwards in its last number", from, to)
	cut := func(s string) (string, string) {
		i := len(s)
		for i > 0 && s[i-1] >= '0' && s[i-1] <= '9' {
			i--
		}
		return s[:i], s[i:]
	}
	stem, first := cut(from)
	stem2, last := cut(to)
	if stem2 == "" {
		stem2 = stem
	}
	if first == "" || last == "" || stem != stem2 || len(first) > 7 || len(last) > 7 {
		return nil, fail
	}
	lo, _ := strconv.Atoi(first) // seven digits at most, so always right
	hi, _ := strconv.Atoi(last)
	if lo > hi {
		return nil, fail
	}
	if hi-lo >= MaxRange {
		return nil, fmt.Errorf("the range %s..%s has more than %d names", from, to, MaxRange)
	}
	var list []string
	for i := lo; i <= hi; i++ {
		list = append(list, fmt.Sprintf("%s%0*d", stem, len(first), i))
	}
	return list, nil
}
