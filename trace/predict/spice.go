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
	label []string // of each branch: the part that it belongs to
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
	d.labels()
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
	for i := range r.s.m.devices {
		d.device(int32(i))
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

// labels finds the part of each branch.
func (d *deck) labels() {
	m := d.s.m
	d.label = slices.Repeat([]string{"net"}, len(m.branches))
	mark := func(id netlist.PartID, list ...int32) {
		for _, b := range list {
			if b >= 0 {
				d.label[b] = plain(m.Board.Parts[id].Name)
			}
		}
	}
	for id := range m.Board.Parts {
		for _, u := range m.units[m.unitOf[id]:m.unitOf[id+1]] {
			mark(netlist.PartID(id), u.main, u.body)
		}
	}
	for _, j := range m.joints {
		mark(j.part, j.branch)
	}
	for key, o := range m.drive {
		mark(key.part, o.high, o.low)
	}
	for i := range m.devices {
		x := &m.devices[i]
		switch x.kind {
		case supplyDevice, regulatorDevice:
			mark(x.part, x.branch)
		case readDevice, biasDevice:
			mark(x.part, x.branches...)
		}
	}
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
	d.say("*\n* Frozen as computed, not found by the simulator: which lanes live and which\n* facts hold, so the conditions of all rules (drives, pulls, sends, reads) and the\n* outputs that hang on them; the regime of boost\n* converters with their output and coil current; what chips take from idle nets.\n* No meter is joined: where it loads a net, predict prints less than stands here.")
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
	d.say("\n* Where the search begins. The solution does not depend on it; without these lines\n* the simulator searches from 0 V, and Newton's method without a line search, which\n* is what SPICE has, does not always arrive.")
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
	a, c, label := d.node[x.A], d.node[x.B], d.label[b]
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

// device writes what decides for itself.
func (d *deck) device(i int32) {
	x, st := &d.s.m.devices[i], &d.s.dev[i]
	switch x.kind {
	case supplyDevice, regulatorDevice:
		d.source(x)
	case switchDevice:
		d.switched(x)
	case gateDevice:
		d.gated(x)
	case boostDevice:
		d.boosted(x, st)
	case driveDevice, pullDevice, sendDevice, readDevice, makeDevice, shineDevice, biasDevice:
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

// gives names the element that measures what a source gives, and the node behind it.
func (d *deck) gives(label string) (meter, emf string) {
	d.lines++
	return fmt.Sprintf("Vout_%s_%d", label, d.lines), fmt.Sprintf("emf_%s_%d", label, d.lines)
}

// source writes a supply or a regulator: a voltage that gives way once the current
// is at its limit. The slopes are those of giving.
func (d *deck) source(x *device) {
	s, label := d.s, plain(d.s.m.Board.Parts[x.part].Name)
	d.alive[x.branch] = true
	if x.kind == regulatorDevice {
		d.alive[x.feed] = true
	}
	level, limit := spell(x.level*s.factor(x.part, netlist.Levels)), spell(x.limit*s.factor(x.part, netlist.Limits))
	if x.level <= 0 || s.fault(x.part, netlist.StaysOff, 0) != nil || x.out == 0 {
		d.say("* %s gives nothing", label)
		return
	}
	meter, emf := d.gives(label)
	i := "i(" + meter + ")"
	limits := func(level string) string {
		return fmt.Sprintf("(%s < %s ? %s : %s-%s*(%s-%s))", i, limit, level, level, spell(1/circuit.FlatLeak), i, limit)
	}
	formula := limits(level)
	if x.kind == regulatorDevice {
		in := d.level(x.part, x.inp)
		room := fmt.Sprintf("(%s-%s)", in, spell(dropOut))
		on := d.decision(label, all(d.enabled(x.part, x.en, x.enHigh), room+" > "+spell(dropOut)))
		target := fmt.Sprintf("(%s < %s ? %s : %s)", room, level, room, level)
		formula = fmt.Sprintf("%s < 0.5 ? -%s*%s : (%s < 0 ? %s-%s*%s : %s)", on, idleOhms, i, i, target, idleOhms, i, limits(target))
		d.say("* %s takes the power that it gives, over %s", label, spell(converts))
		d.element("B", label, d.node[x.inp], "0", fmt.Sprintf("I = %s > 0 && %s > %s && %s > 0 ? %s*%s/(%s*%s) : 0",
			i, in, spell(dropOut), d.volts(x.out), i, d.volts(x.out), spell(converts), in))
	}
	d.element("B", label, emf, "0", "V = "+formula)
	d.say("%s %s %s 0", meter, emf, d.node[x.out])
}

// switched writes a controlled pass.
func (d *deck) switched(x *device) {
	s, p := d.s, &d.s.m.Board.Parts[x.part]
	if s.forced[x.branch] {
		return // by a fault, as everything else
	}
	b := &s.Branches[x.branch]
	label := d.label[x.branch]
	var on string
	switch {
	case s.fault(x.part, netlist.StaysOff, 0) != nil:
		on = never
	case s.fault(x.part, netlist.StaysOn, 0) != nil:
		on = always
	case x.ref >= 0 && x.enHigh:
		on = fmt.Sprintf("%s >= %s", d.across(x.en, x.ref), spell(gateVolts))
	case x.ref >= 0:
		on = fmt.Sprintf("%s <= -%s", d.across(x.en, x.ref), spell(gateVolts))
	case p.Kind.PinIndex("vdd") < 0:
		on = d.enabled(x.part, x.en, x.enHigh)
	default:
		chosen := d.high(x.part, x.en)
		if !x.enHigh {
			chosen = not(chosen)
		}
		on = all(d.powered(x.part), chosen, d.enabled(x.part, x.also, x.alsoHigh), constant(s.outFault(x.part, b.B) == nil))
	}
	l := circuit.Conductor(x.ohms * s.factor(x.part, netlist.Scales))
	if x.limit > 0 {
		l = circuit.Limited(x.ohms*s.factor(x.part, netlist.Scales), x.limit*s.factor(x.part, netlist.Limits))
	}
	d.alive[x.branch] = true
	d.choice(x.branch, d.decision(label, on), l, circuit.Leak())
}

// choice writes a branch that has one law or another, nil for none.
func (d *deck) choice(b int32, on string, yes, no *circuit.Law) {
	x := &d.s.Branches[b]
	v := d.across(x.A, x.B)
	text := "I = " + on + "*" + formula(yes, v)
	if no != nil {
		text += "+(1-" + on + ")*" + formula(no, v)
	}
	d.element("B", d.label[b], d.node[x.A], d.node[x.B], text)
}

// gated writes a gate.
func (d *deck) gated(x *device) {
	var inputs []string
	for _, n := range x.in {
		inputs = append(inputs, "("+d.high(x.part, n)+")")
	}
	logic := d.s.m.Board.Parts[x.part].Kind.Logic
	word := strings.Join(inputs, " && ")
	if logic == netlist.OrGate || logic == netlist.NorGate {
		word = strings.Join(inputs, " || ")
	}
	if logic == netlist.NandGate || logic == netlist.NorGate {
		word = not(word)
	}
	powered := d.powered(x.part)
	if f := d.s.outFault(x.part, x.out); f != nil {
		powered = all(powered, constant(f.Mode.Does != netlist.Frees))
		word = constant(f.Mode.Does == netlist.SticksHigh)
	}
	o := d.s.m.drive[pinKey{x.part, x.out}]
	for _, half := range []struct {
		branch int32
		on     string
	}{{o.high, all(powered, word)}, {o.low, all(powered, not(word))}} {
		if half.branch < 0 || d.s.forced[half.branch] || d.s.Branches[half.branch].A == d.s.Branches[half.branch].B {
			continue
		}
		d.alive[half.branch] = true
		d.choice(half.branch, d.decision(d.label[half.branch], half.on), driveLaw, nil)
	}
}

// boosted writes a converter by its regime: a source at the output, and at the
// switch node the mean current that carries the same power.
func (d *deck) boosted(x *device, st *devState) {
	label := plain(d.s.m.Board.Parts[x.part].Name)
	d.say("* %s: %s, as computed", label, st.mode)
	if !runs(st.mode) {
		return
	}
	ground := d.s.m.groundOf(&d.s.m.Board.Parts[x.part])
	d.element("B", label, d.node[x.out], "0", "V = "+spell(st.level)+"+"+d.volts(ground))
	d.element("I", label, d.node[x.boost.lx], "0", spell(st.draw))
}
