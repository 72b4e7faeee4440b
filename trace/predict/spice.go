package predict

import (
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"example.org/walkback/netlist"
	"example.org/walkback/trace/predict/circuit"
)

// ErrUnsteady is returned for a run without an operating point.
var ErrUnsteady = errors.New("the board does not come to rest, so there is no operating point to solve for")

// idleOhms is the slope of a source that gives nothing, in decks.
const idleOhms = "1e14"

// deck is a circuit on its way to SPICE. Supplies, regulators, switches and gates
// of a run decide for themselves in it, by the voltages that the simulator finds.
type deck struct {
	r     *Run
	s     *sim
	out   strings.Builder
	node  []string // name of each node
	alive []bool   // of each branch: written together with its device
	lines int
}

// WriteSPICE writes the board in this state and with these faults as a deck that a
// SPICE simulator solves for its operating point: ngspice -b DECK.
func (r *Run) WriteSPICE(out io.Writer) error {
	if r.s.failed || len(r.s.unsteady) > 0 {
		return ErrUnsteady
	}
	d := &deck{r: r, s: r.s}
	d.names()
	d.header()
	d.alive = make([]bool, len(r.s.Branches))
	d.say("\n* Insulation of each net")
	for _, n := range d.nets() {
		d.element("R", "ins", d.node[n], "0", spell(1/circuit.Insulation))
	}
	d.say("\n* What chips take from nets that nothing else holds, as computed")
	for _, n := range d.nets() {
		if g := r.s.Shunt[n]; g != 0 && !r.s.Held[n] {
			d.element("R", "chips", d.node[n], "0", spell(1/g))
		}
	}
	d.say("\n* Sources, switches and gates, which decide for themselves")
	for i, x := range r.s.m.devices {
		x.card(d, &r.s.dev[i])
	}
	d.say("\n* Everything else")
	for b := range r.s.Branches {
		if !d.alive[b] {
			d.branch(int32(b))
		}
	}
	d.footer()
	_, err := io.WriteString(out, d.out.String())
	return err
}

// spell writes a number exactly.
func spell(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }

func (d *deck) say(format string, args ...any) { fmt.Fprintf(&d.out, format+"\n", args...) }

// element writes a two-terminal element.
func (d *deck) element(letter, label, a, b, value string) {
	d.lines++
	d.say("%s%s_%d %s %s %s", letter, label, d.lines, a, b, value)
}

// names makes node names that SPICE takes: no signs, no capitals, none that means
// ground to it.
func (d *deck) names() {
	taken := map[string]bool{}
	d.node = []string{"0"}
	for i := range d.s.m.Board.Nets {
		name := "n_" + plain(d.s.m.Board.Nets[i].Name)
		for k := 2; taken[name]; k++ {
			name = fmt.Sprintf("n_%s_%d", plain(d.s.m.Board.Nets[i].Name), k)
		}
		taken[name] = true
		d.node = append(d.node, name)
	}
}

// nets lists the nodes but ground.
func (d *deck) nets() []int32 {
	return slices.DeleteFunc(slices.Clone(d.s.m.all), func(n int32) bool { return d.s.m.Board.Nets[n-1].Ground })
}

// plain leaves letters, digits and underscores of a name.
func plain(name string) string {
	return strings.Map(func(c rune) rune {
		if c >= 'a' && c <= 'z' || c >= '0' && c <= '9' {
			return c
		}
		return '_'
	}, strings.ToLower(name))
}

// label names the part of a branch.
func (d *deck) label(b int32) string {
	if id := d.s.m.owner[b]; id != netlist.None {
		return plain(d.s.m.Board.Parts[id].Name)
	}
	return "net"
}

// header says what the deck is and what in it is frozen.
func (d *deck) header() {
	m, b := d.s.m, d.s.m.Board
	d.say("* Board %s, operating point", b.Name)
	where := b.SettingText(d.r.State.Setting)
	if d.r.State.Unplugged {
		where += ", panel unplugged"
	}
	d.say("* State: %s", strings.TrimPrefix(where, ", "))
	if len(d.r.Faults) == 0 {
		d.say("* Faults: none")
	}
	for _, f := range d.r.Faults {
		d.say("* Fault: %s", m.Name(f))
	}
	for _, x := range d.r.Blew() {
		d.say("* %s is open: %s A blew it, rated %s A", b.Parts[x.Part].Name, spell(x.Amps), spell(x.Over))
	}
	d.say("*\n* Frozen as computed, not found by the simulator: which lanes live and which\n* facts hold, so the conditions of all rules " +
		"(drives, pulls, sends, reads) and the\n* outputs that hang on them; the regime of boost\n* converters with their output and coil " +
		"current; what chips take from idle nets.\n* No meter is joined: where it loads a net, predict prints less than stands here.")
	for i := range b.Lanes {
		d.say("*   lane %s: %s", b.Lanes[i].Name, yes(d.r.Alive(i)))
	}
	for i, name := range b.FactNames() {
		d.say("*   fact %s: %s", name, yes(d.r.Holds(i)))
	}
	d.say("* Junctions, limits and leaks are piecewise linear; levels are means.\n*\n* Nets:")
	for _, n := range d.nets() {
		d.say("*   %s = %s", d.node[n], b.Nets[n-1].Name)
	}
}

func yes(b bool) string {
	if b {
		return "yes"
	}
	return "no"
}

// footer asks for the operating point and prints it. Newton's method lands
// exactly on the solution of a piecewise-linear circuit, so that the tolerances
// only say when it has; GMIN belongs to SPICE's own junctions, of which there are
// none.
func (d *deck) footer() {
	d.say("\n* Where the search begins. The solution does not depend on it; without these lines\n* the simulator searches from 0 V, and " +
		"Newton's method without a line search, which\n* is what SPICE has, does not always arrive.")
	for _, n := range d.nets() {
		if d.s.m.holder[n] >= 0 {
			continue // to hold the net of a voltage source leaves its current open
		}
		d.say(".nodeset v(%s)=%s", d.node[n], strconv.FormatFloat(d.s.V[n], 'g', 6, 64))
	}
	d.say("\n.options reltol=1e-8 vntol=1e-11 abstol=1e-8 gmin=1e-20 itl1=500 itl2=500\n.op\n.control\nop\nset numdgt=12")
	for _, n := range d.nets() {
		d.say("print v(%s)", d.node[n])
	}
	d.say(".endc\n.end")
}

// volts writes the voltage of a node, and across the one between two.
func (d *deck) volts(n int32) string {
	if n == 0 {
		return "0"
	}
	return "v(" + d.node[n] + ")"
}

func (d *deck) across(a, b int32) string {
	switch {
	case b == 0:
		return d.volts(a)
	case a == 0:
		return "(-" + d.volts(b) + ")"
	}
	return "(" + d.volts(a) + "-" + d.volts(b) + ")"
}

// level is the voltage of a node against the ground of a part.
func (d *deck) level(id netlist.PartID, n int32) string {
	return d.across(n, d.s.m.groundOf(&d.s.m.Board.Parts[id]))
}

// formula writes a law as a function of v, segment by segment.
func formula(l *circuit.Law, v string) string {
	text := ""
	for k := l.Segments() - 1; k >= 0; k-- {
		upTo, g, i := l.Segment(k)
		piece := spell(g) + "*" + v
		if i != 0 {
			piece = "(" + spell(i) + "+" + piece + ")"
		}
		if text == "" {
			text = piece
		} else {
			text = fmt.Sprintf("(%s < %s ? %s : %s)", v, spell(upTo), piece, text)
		}
	}
	return text
}

// branch writes a branch by the law that it has.
func (d *deck) branch(b int32) {
	x, l := &d.s.Branches[b], d.s.Law[b]
	if x.A == x.B {
		return
	}
	a, c, label := d.node[x.A], d.node[x.B], d.label(b)
	if l == nil {
		if slices.Contains(d.s.broken, b) {
			d.say("* %s is open between %s and %s", label, a, c)
		}
		return
	}
	if l.Segments() > 1 {
		d.element("B", label, a, c, "I = "+formula(l, d.across(x.A, x.B)))
		return
	}
	_, g, i := l.Segment(0)
	d.element("R", label, a, c, spell(1/g))
	if i != 0 {
		d.element("I", label, a, c, spell(i))
	}
}

// decision writes a node that is 1 V while a condition holds, behind 1 kΩ, and
// returns its voltage.
func (d *deck) decision(label, condition string) string {
	d.lines++
	n := fmt.Sprintf("on_%s_%d", label, d.lines)
	d.say("B%s w%s 0 V = (%s) ? 1 : 0\nR%s w%s %s 1k", n, n, condition, n, n, n)
	return "v(" + n + ")"
}

// Conditions that a fault decides.
const always, never = "1 > 0", "0 > 1"

func constant(on bool) string {
	if on {
		return always
	}
	return never
}

func not(condition string) string { return "!(" + condition + ")" }

func all(conditions ...string) string { return "(" + strings.Join(conditions, ") && (") + ")" }

// enabled is sim.enabled as a condition.
func (d *deck) enabled(id netlist.PartID, n int32, high bool) string {
	switch {
	case n < 0 || d.s.fault(id, netlist.StaysOn, 0) != nil:
		return always
	case d.s.fault(id, netlist.Deafens, n) != nil:
		return constant(!high)
	case high:
		return fmt.Sprintf("%s >= %s", d.level(id, n), spell(enableVolts))
	}
	return fmt.Sprintf("%s < %s", d.level(id, n), spell(enableVolts))
}

// supplies lists the nodes on the supply pins of a part.
func (d *deck) supplies(id netlist.PartID) (list []int32, nets []netlist.NetID) {
	p := &d.s.m.Board.Parts[id]
	for _, c := range p.Conns {
		if p.Pin(c).Need == netlist.Supply {
			list, nets = append(list, d.s.m.node(c.Net)), append(nets, c.Net)
		}
	}
	return list, nets
}

// powered is sim.powered as a condition.
func (d *deck) powered(id netlist.PartID) string {
	if d.s.fault(id, netlist.Dies, 0) != nil {
		return never
	}
	conditions := []string{always}
	nodes, nets := d.supplies(id)
	for k, n := range nodes {
		if f := d.s.fault(id, netlist.Opens, n); f != nil && f.Mode.Per == netlist.PerPin {
			return never
		}
		conditions = append(conditions, fmt.Sprintf("%s >= %s", d.level(id, n), spell(suppliedBy*max(d.s.m.nominal(nets[k]), 1))))
	}
	return all(conditions...)
}

// high is sim.high as a condition.
func (d *deck) high(id netlist.PartID, n int32) string {
	if d.s.fault(id, netlist.Deafens, n) != nil {
		return never
	}
	full := 0.0
	if n > 0 {
		full = d.s.m.nominal(netlist.NetID(n - 1))
	}
	if full >= 2*netlist.LowBelow {
		return fmt.Sprintf("%s >= %s", d.level(id, n), spell(logicShare*full))
	}
	// Too low to be told from low: the share is that of the highest supply.
	nodes, _ := d.supplies(id)
	conditions := []string{fmt.Sprintf("%s >= %s", d.level(id, n), spell(logicShare*max(full, 1)))}
	for _, k := range nodes {
		conditions = append(conditions, fmt.Sprintf("%s >= %s*%s", d.level(id, n), spell(logicShare), d.level(id, k)))
	}
	return all(conditions...)
}

// choice writes a branch that has one law or another, nil for none.
func (d *deck) choice(b int32, on string, yes, no *circuit.Law) {
	x := &d.s.Branches[b]
	v := d.across(x.A, x.B)
	text := "I = " + on + "*" + formula(yes, v)
	if no != nil {
		text += "+(1-" + on + ")*" + formula(no, v)
	}
	d.element("B", d.label(b), d.node[x.A], d.node[x.B], text)
}
