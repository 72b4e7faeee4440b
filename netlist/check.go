package netlist

import (
	"fmt"
	"slices"
	"strings"

	"example.org/walkback/netlist/mistake"
)

// Check looks at a board as a whole: what each line alone cannot tell. Whether
// every need can be met is for the walk to say, in package trace.
func Check(b *Board) []mistake.Mistake {
	c := checker{b: b, f: b.file}
	c.ends()
	for i := range b.Parts {
		c.part(&b.Parts[i])
	}
	for i := range b.Nets {
		c.net(NetID(i))
	}
	c.names()
	c.symptoms()
	c.alike()
	return c.problems
}

// symptoms warns of names that a person who types them in other letters cannot tell apart.
func (c *checker) symptoms() {
	first := map[string]string{}
	for _, s := range c.b.Symptoms {
		low := strings.ToLower(s.Name)
		if other, ok := first[low]; ok {
			c.add(s.Span, mistake.Warning, "duplicate", fmt.Sprintf("the symptoms %s and %s differ in capitals only", other, s.Name),
				"names that differ in a letter", "")
			continue
		}
		first[low] = s.Name
	}
}

type checker struct {
	b        *Board
	f        *File
	problems []mistake.Mistake
	count    [2]int // of each severity, so that warnings never crowd out an error
	nearby   []string
	compared int // names looked through for suggestions
}

func (c *checker) add(s Span, sev mistake.Severity, code, msg, want, near string) {
	if c.count[sev]++; c.count[sev] <= maxProblems {
		c.problems = append(c.problems, c.f.Problem(s, sev, code, msg, want, near))
	}
}

// ends checks that walks can end: a ground and a supply.
func (c *checker) ends() {
	if !slices.ContainsFunc(c.b.Nets, func(n Net) bool { return n.Ground }) {
		c.problems = append(c.problems, mistake.Mistake{File: c.f.Name, Code: "no-ground", Msg: "no net is ground",
			Want: "a line such as: net GND ground"})
	}
	if !slices.ContainsFunc(c.b.Parts, func(p Part) bool { return p.Kind.Form == OutForm }) {
		c.problems = append(c.problems, mistake.Mistake{File: c.f.Name, Code: "no-supply", Msg: "the board has no supply, so no walk can end",
			Want: "a line such as: supply PS1 -> VMAIN"})
	}
}

func (c *checker) part(p *Part) {
	c.letters(p)
	c.pins(p)
	if p.Kind.Main != "" {
		if _, ok := p.Attr(p.Kind.Main); !ok {
			c.add(p.Span, mistake.Warning, "no-value", fmt.Sprintf("%s has no value, so its path is judged by a usual one", p.Name),
				"as in "+p.Kind.Example, "")
		}
	}
	if p.Kind.Form == NamedForm && len(p.Kind.Passes) > 0 {
		c.channels(p)
	}
}

// letters compares the designator with the class letters of IEEE 315.
func (c *checker) letters(p *Part) {
	i := 0
	for i < len(p.Name) && (p.Name[i] < '0' || p.Name[i] > '9') {
		i++
	}
	if i == len(p.Name) || !slices.Contains(p.Kind.Letters, strings.TrimRight(p.Name[:i], "_-")) {
		c.add(p.Span, mistake.Warning, "designator", fmt.Sprintf("%s is an unusual designator for a %s", p.Name, p.Kind.Name),
			fmt.Sprintf("%s and a number (IEEE 315)", strings.Join(p.Kind.Letters, " or ")), "")
	}
}

// pins checks each connection against what its pin is for.
func (c *checker) pins(p *Part) {
	for _, x := range p.Conns {
		pin, n := p.Pin(x), &c.b.Nets[x.Net]
		switch {
		case pin.Need == Supply && n.Ground:
			c.add(x.Span, mistake.Error, "supply-grounded", fmt.Sprintf("the supply pin %s of %s is on ground", pin.Name, p.Name), "a rail", "")
		case pin.Need == Return && pin.Name == "gnd" && c.isRail(x.Net):
			c.add(x.Span, mistake.Error, "ground-pin", fmt.Sprintf("the ground pin of %s is on %s, which is not ground", p.Name, n.Name),
				"ground, or a net that leads to it", "")
		}
	}
	if len(p.Kind.Gives) == 0 && p.Kind.Logic == NoLogic {
		return
	}
	for _, x := range p.Conns {
		if c.b.Nets[x.Net].Ground && c.drivesPin(p, x) {
			c.add(x.Span, mistake.Error, "output-grounded", fmt.Sprintf("the output pin %s of %s is on ground", p.Pin(x).Name, p.Name),
				"the net that it drives", "")
		}
	}
}

// isRail reports whether a net is declared to stand above ground.
func (c *checker) isRail(n NetID) bool {
	e, ok := c.b.ExpectIn(n, c.b.Usual())
	return ok && e.Value >= LowBelow
}

// drivesPin reports whether a part pushes a level of its own onto a connection.
func (c *checker) drivesPin(p *Part, x Conn) bool {
	name := p.Pin(x).Name
	if p.Kind.Logic != NoLogic {
		return name == "out"
	}
	return slices.ContainsFunc(p.Kind.Gives, func(g Give) bool { return g.Pin == name && !g.Adds && !g.Weak && g.At == High })
}

// channels checks that pins which conduct to each other have as many nets.
func (c *checker) channels(p *Part) {
	count := func(pin string) (n int) {
		k := p.Kind.PinIndex(pin)
		for _, x := range p.Conns {
			if int(x.Pin) == k {
				n++
			}
		}
		return n
	}
	for i := range p.Kind.Passes {
		ps := &p.Kind.Passes[i]
		if a, b := count(ps.A), count(ps.B); a != b {
			c.add(p.Span, mistake.Error, "list-length", fmt.Sprintf("%s has %d nets on %s and %d on %s", p.Name, a, ps.A, b, ps.B),
				"as many on each", "")
			return
		}
	}
}

func (c *checker) net(id NetID) {
	n := &c.b.Nets[id]
	joined, drivers := 0, []string(nil)
	for _, t := range c.b.Taps(id) {
		p := &c.b.Parts[t.Part]
		if p.Kind.Form != SingleForm {
			joined++
		}
		if c.drivesPin(p, p.Conns[t.Conn]) {
			drivers = append(drivers, p.Name)
		}
		for _, r := range p.Rules {
			if r.Word == "drives" && slices.Contains(r.Nets, id) {
				drivers = append(drivers, p.Name)
			}
		}
	}
	switch {
	case joined == 0:
		c.add(n.Span, mistake.Warning, "dangling", fmt.Sprintf("nothing is joined to the net %s", n.Name), "parts on it, or another spelling",
			c.near(n.Name))
	case joined == 1 && !n.Ground:
		c.add(n.Span, mistake.Warning, "dangling", fmt.Sprintf("the net %s is joined to one pin only", n.Name),
			"a second pin, or another spelling", c.near(n.Name))
	}
	if len(drivers) > 1 {
		c.add(n.Span, mistake.Error, "two-drivers", fmt.Sprintf("the net %s has more than one driver: %s", n.Name, strings.Join(drivers, ", ")),
			"one driver, or a switch, mux or diode between", "")
	}
}

// near suggests another net for a name that looks misspelt.
func (c *checker) near(name string) string {
	if c.count[mistake.Warning] >= maxProblems || c.compared > maxCompared {
		return ""
	}
	if c.nearby == nil {
		c.nearby = c.b.NetNames()
	}
	c.compared += len(c.nearby)
	return mistake.Nearest(name, slices.DeleteFunc(slices.Clone(c.nearby), func(s string) bool { return s == name }))
}

// names checks that lanes have conductors that are joined to something.
func (c *checker) names() {
	for _, l := range c.b.Lanes {
		for _, n := range l.Nets {
			if c.b.Nets[n].Ground {
				c.add(l.Span, mistake.Error, "lane-nets", fmt.Sprintf("the lane %s has ground as a conductor", l.Name), "the nets at the panel", "")
			}
		}
	}
}
