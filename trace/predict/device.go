package predict

import (
	"slices"

	"example.org/walkback/netlist"
)

// device is something on a board that decides. What it sees is the last solution;
// what it does shows in the next one. What it remembers between two looks is in the
// run (devState), so that a device itself never changes once its model is made.
type device interface {
	// look tells what the device has to do with.
	look(m *Model) sight
	// act does what follows from what the device sees, as number i of its model.
	act(s *sim, i int32)
	// fail puts a fault of its part into the circuit, and reports whether it did;
	// what no device takes is done in the way of all parts.
	fail(s *sim, f Fault) bool
	// card writes the device into a deck, where it decides for itself.
	card(d *deck, st *devState)
}

// sight is what a device has to do with. Nodes below 1 are left out.
type sight struct {
	part   netlist.PartID
	asks   netlist.PartID // another part whose faults and supplies matter to it, or None
	by     []int32        // nodes that decide what it does
	hears  []int32        // further nodes whose change wakes it; its supplies and its ground do in any case
	around []int32        // nodes whose neighbours it hears too, since the current that it gives depends on them
	on     []int32        // nodes on which it acts
	rule   *netlist.Rule  // whose condition it follows, or nil
	fact   int            // that it makes, or None
}

// own is what most devices are made of: a part, and nothing to say to faults and decks.
type own struct{ part netlist.PartID }

func (own) fail(*sim, Fault) bool  { return false }
func (own) card(*deck, *devState)  {}
func (x own) seen() sight          { return sight{part: x.part, asks: netlist.None, fact: netlist.None} }
func (x own) name(m *Model) string { return m.Board.Parts[x.part].Name }
func (x own) supplies(m *Model) (list []int32) {
	for _, x := range m.feeds[x.part] {
		list = append(list, x.node)
	}
	return list
}

// makers is what makes branches and devices of a part, by the word that its kind
// has in the table of kinds (netlist.Kind.Acts).
var makers = map[string]func(m *Model, id netlist.PartID, p *netlist.Part){}

// acts puts a maker into the table.
func acts(word string, maker func(m *Model, id netlist.PartID, p *netlist.Part)) struct{} {
	makers[word] = maker
	return struct{}{}
}

// closers is what makes the device that opens and closes a controlled pass, by the
// same word; without one the pass tells.
var closers = map[string]func(m *Model, p *netlist.Part, how *netlist.Pass, x pass){}

// closes puts a maker into the table.
func closes(word string, maker func(m *Model, p *netlist.Part, how *netlist.Pass, x pass)) struct{} {
	closers[word] = maker
	return struct{}{}
}

// device adds a device and returns its number.
func (m *Model) device(d device) int32 {
	m.devices = append(m.devices, d)
	return int32(len(m.devices) - 1)
}

// source adds a device that holds a node at a level.
func (m *Model) source(d device, out int32) {
	i := m.device(d)
	m.sources = append(m.sources, i)
	if out > 0 {
		m.holder[out] = i
	}
}

// listen notes which devices hear which nodes and parts.
func (m *Model) listen() {
	m.hear, m.makers = make([][]int32, m.nodes), make([][]int32, len(m.Board.Facts))
	m.of, m.wakes = make([][]int32, len(m.Board.Parts)), make([][]int32, len(m.Board.Parts))
	m.sights = make([]sight, len(m.devices))
	for i, d := range m.devices {
		x := d.look(m)
		m.sights[i] = x
		hear := func(nodes ...int32) {
			for _, n := range nodes {
				if n > 0 && !slices.Contains(m.hear[n], int32(i)) {
					m.hear[n] = append(m.hear[n], int32(i))
				}
			}
		}
		hear(x.by...)
		hear(x.hears...)
		m.of[x.part] = append(m.of[x.part], int32(i))
		for _, id := range []netlist.PartID{x.part, x.asks} {
			if id != netlist.None {
				m.wakes[id] = append(m.wakes[id], int32(i))
				hear(m.ground[id])
				hear(own{id}.supplies(m)...)
			}
		}
		for _, n := range x.around {
			if n > 0 {
				for _, b := range m.net.At(n) {
					hear(m.net.Other(b, n))
				}
			}
		}
		if x.fact >= 0 {
			m.makers[x.fact] = append(m.makers[x.fact], int32(i))
		}
		if x.rule != nil {
			x.rule.When.Targets(func(t netlist.Target) bool {
				if t.Net != netlist.None {
					hear(m.node(t.Net))
				}
				return true
			})
		}
	}
}
