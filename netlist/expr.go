package netlist

import (
	"fmt"
	"strings"
)

// ExprOp is what an expression does.
type ExprOp uint8

// The operations of a condition.
const (
	AtomExpr  ExprOp = iota // a net, a lane or a fact holds
	StateExpr               // a state has a value
	NotExpr
	AndExpr
	OrExpr
	NeverExpr // does not hold: what a board could do and the fitted panel does not ask for
)

// Expr is a condition under a rule.
type Expr struct {
	Op     ExprOp
	Kids   []*Expr
	Target Target
	State  StateIs
	Span   Span
}

// Targets yields the atoms of the condition in order.
func (e *Expr) Targets(yield func(Target) bool) bool {
	if e == nil {
		return true
	}
	if e.Op == AtomExpr && !yield(e.Target) {
		return false
	}
	for _, k := range e.Kids {
		if !k.Targets(yield) {
			return false
		}
	}
	return true
}

// exprParser reads & | ! ( ) over names and STATE=VALUE; & binds tighter than |.
type exprParser struct {
	b     *builder
	args  []Arg
	at    int
	depth int
	end   Span // where the condition ends, for messages
}

func (x *exprParser) op(sign byte) bool {
	if x.at < len(x.args) && x.args[x.at].Kind == OpArg && x.b.f.Src[x.args[x.at].Span.Start] == sign {
		x.at++
		return true
	}
	return false
}

func (x *exprParser) parse() (*Expr, bool) {
	e, ok := x.or()
	if ok && x.at < len(x.args) {
		a := x.args[x.at]
		x.b.fail(a.Span, "condition", fmt.Sprintf("%s is not expected here", x.b.f.Text(a.Span)), "& or | between the terms of a condition", "")
		return nil, false
	}
	return e, ok
}

func (x *exprParser) or() (*Expr, bool)  { return x.chain('|', OrExpr, x.and) }
func (x *exprParser) and() (*Expr, bool) { return x.chain('&', AndExpr, x.term) }

func (x *exprParser) chain(sign byte, op ExprOp, next func() (*Expr, bool)) (*Expr, bool) {
	e, ok := next()
	if !ok {
		return nil, false
	}
	for x.op(sign) {
		k, ok := next()
		if !ok {
			return nil, false
		}
		if e.Op == op {
			e.Kids = append(e.Kids, k)
		} else {
			e = &Expr{Op: op, Kids: []*Expr{e, k}, Span: e.Span}
		}
		e.Span.End = k.Span.End
	}
	return e, true
}

func (x *exprParser) term() (*Expr, bool) {
	if x.at >= len(x.args) {
		x.b.fail(x.end, "condition", "the condition stops too early", "a net, a lane, a fact or STATE=VALUE", "")
		return nil, false
	}
	a := x.args[x.at]
	if a.Kind == OpArg {
		if x.depth++; x.depth > MaxNesting {
			x.b.fail(a.Span, "nesting", fmt.Sprintf("more than %d signs inside each other", MaxNesting), "a shorter condition", "")
			return nil, false
		}
		defer func() { x.depth-- }()
	}
	switch {
	case x.op('!'):
		k, ok := x.term()
		if !ok {
			return nil, false
		}
		return &Expr{Op: NotExpr, Kids: []*Expr{k}, Span: Span{a.Span.Start, k.Span.End}}, true
	case x.op('('):
		e, ok := x.or()
		if !ok {
			return nil, false
		}
		if !x.op(')') {
			x.b.fail(a.Span, "condition", "this parenthesis is not closed", ")", "")
			return nil, false
		}
		return e, true
	case a.Kind == PairArg:
		x.at++
		return x.b.stateTerm(a)
	case a.Kind == WordArg && a.list == 0 && a.Val.To == (Span{}):
		x.at++
		name := x.b.f.Text(a.Span)
		t, ok := x.b.board.Lookup(name)
		if !ok {
			x.b.fail(a.Span, "unknown-name", fmt.Sprintf("no net, lane or fact is called %q", name), "the name of a net, a lane or a fact",
				x.b.near(name))
			return nil, false
		}
		return &Expr{Op: AtomExpr, Target: t, Span: a.Span}, true
	}
	x.b.fail(a.Span, "condition", fmt.Sprintf("%s is not expected here", x.b.f.Text(a.Span)), "a net, a lane, a fact or STATE=VALUE", "")
	return nil, false
}

// stateTerm reads lid=open.
func (b *builder) stateTerm(a Arg) (*Expr, bool) {
	vals := b.f.Vals(a)
	setting := b.board.Usual()
	value := b.f.Text(vals[0].From)
	if len(vals) != 1 || vals[0].To != (Span{}) {
		b.fail(a.Span, "condition", "a state is compared with one value", "STATE=VALUE, such as lid=open", "")
		return nil, false
	}
	if w := b.board.setState(setting, b.f.Text(a.Key), value); w != nil {
		at := a.Key
		if w.inValue {
			at = a.Val.From
		}
		b.fail(at, "observation", w.msg, w.want, w.near)
		return nil, false
	}
	for i := range b.board.States {
		if b.board.States[i].Name == b.f.Text(a.Key) {
			return &Expr{Op: StateExpr, State: StateIs{i, setting[i]}, Target: Target{None, None, None}, Span: a.Span}, true
		}
	}
	return nil, false
}

// ExprText prints a condition.
func (b *Board) ExprText(e *Expr) string {
	switch {
	case e == nil:
		return "always"
	case e.Op == AtomExpr:
		return b.TargetName(e.Target)
	case e.Op == StateExpr:
		st := &b.States[e.State.State]
		return st.Name + "=" + st.Values[e.State.Value]
	case e.Op == NeverExpr:
		return "never with this panel"
	case e.Op == NotExpr:
		return "!" + b.group(e.Kids[0])
	}
	sign := " & "
	if e.Op == OrExpr {
		sign = " | "
	}
	kids := make([]string, len(e.Kids))
	for i, k := range e.Kids {
		kids[i] = b.group(k)
	}
	return strings.Join(kids, sign)
}

func (b *Board) group(e *Expr) string {
	if e.Op == AndExpr || e.Op == OrExpr {
		return "(" + b.ExprText(e) + ")"
	}
	return b.ExprText(e)
}
